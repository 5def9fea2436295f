"""What stands beside each coolant sum: its question, formula, worked example and sources; and what to keep to."""

from dataclasses import dataclass, replace

from monitor.record.coolant_answer import Question, Sum
from monitor.record.coolant_figures import MINUS
from monitor.science.freezing import Glycol

_OURS = "common practice, no source"
_TABLES = (
    "Melinder, Properties of Secondary Working Fluids for Indirect Systems, IIR 2010; "
    "ASHRAE Handbook - Fundamentals (2001), aqueous glycol tables"
)
_KEPT = "conservation of glycol; that glycol and water shrink by under 1 % on mixing is neglected"


@dataclass(frozen=True, slots=True)
class Beside:
    """What stands beside a sum.

    Attributes:
        heading: what it answers.
        formula: how, in one line.
        example: a question worked by hand.
        worked: its working in words; the sum gives the same.
        source: where formula and figures come from.
    """

    heading: str
    formula: str
    example: Question
    worked: str
    source: str


def _typeset(beside: Beside) -> Beside:
    """Give it with true minus signs where a plain one stands for them: after a space."""
    signed = {key: getattr(beside, key).replace(" -", f" {MINUS}") for key in ("formula", "worked")}
    return replace(beside, **signed)


_BESIDE = {
    Sum.POINT: Beside(
        "How cold does it stand?",
        "T(w) is our curve through two published tables, w the strength by mass; s(w) is how far the two differ there. "
        "Counted on: T + s, to the warmer whole degree.",
        Question(Sum.POINT, Glycol.ETHYLENE, {"strength": 30.0}, by_mass=True),
        "30 % by mass of ethylene glycol: one table says -14.6 °C, the other -14.1. T is -14.3 and s is 0.5, "
        "so -13.8 together. Count on -13 °C.",
        _TABLES,
    ),
    Sum.STRENGTH: Beside(
        "How strong is it?",
        "The weakest w has T(w) - s(w) = tested + tester's error, the strongest T(w) + s(w) = tested - tester's error.",
        Question(Sum.STRENGTH, Glycol.ETHYLENE, {"tested": -25.0}),
        "Ethylene glycol, -25 °C by refractometer, which errs by 1 degree: between -24 and -26 °C, so 36.8 to 41.9 % "
        "by volume. Count on -24 °C and on 36.8 %.",
        f"{_TABLES}; ASTM D3321 for the refractometer's error, common practice for the others",
    ),
    Sum.LEFT: Beside(
        "What does the water left in it do?",
        "c = c₀ · V / (V + R): c₀ the strength poured, V how much, R the water that stayed behind.",
        Question(Sum.LEFT, Glycol.ETHYLENE, {"poured": 50.0, "poured_l": 8.0, "left_l": 2.0}),
        "8 L of 50 % ethylene glycol on 2 L of water: 50 · 8 / 10 = 40 %. Poured, it was counted on for -35 °C; "
        "now count on -24 °C.",
        f"{_KEPT}; {_TABLES}",
    ),
    Sum.REPLACE: Beside(
        "How much to drain and replace?",
        "x = V · (wanted - now) / (fill - now), in % by volume; V is what the system holds. To the next tenth of a "
        "litre above.",
        Question(Sum.REPLACE, Glycol.ETHYLENE, {"system_l": 12.0, "now": 25.0, "wanted": -25.0, "fill": 100.0}),
        "12 L at 25 % of ethylene glycol, wanted for -25 °C, which takes 41.0 %: 12 · (41.0 - 25) / (100 - 25) = 2.56. "
        "Drain 2.6 L, and fill 2.6 L of neat concentrate.",
        f"{_KEPT}; {_TABLES}",
    ),
    Sum.MIX: Beside(
        "How much to mix?",
        "x = N · wanted / fill, in % by volume; N is how much you want to have. To the next tenth of a litre above.",
        Question(Sum.MIX, Glycol.PROPYLENE, {"system_l": 10.0, "wanted": -20.0, "fill": 100.0}),
        "10 L of propylene glycol for -20 °C, which takes 39.3 %: 10 · 39.3 / 100 = 3.93. "
        "4 L of neat concentrate and 6 L of water.",
        f"{_KEPT}; {_TABLES}",
    ),
}

BESIDE = {key: _typeset(beside) for key, beside in _BESIDE.items()}
"""What stands beside each sum."""

CAUTIONS = (
    ("The engine maker's book goes first: which kind, how strong, which water.", _OURS),
    (
        "Ethylene glycol is poisonous and tastes sweet: catch every drop, away from children and animals.",
        "safety data sheets",
    ),
    ("Where water is drunk only propylene glycol that is sold for it goes in, never ethylene glycol.", _OURS),
    ("Never mix kinds: not two glycols, and not two kinds of inhibitor.", _OURS),
    ("A thin mixture is thin in inhibitors too, and the metal rots: the book names the least strength.", _OURS),
    (
        (
            "Test it afterwards with a refractometer made for that glycol: another's scale errs by 10 degrees or "
            "more. What was tested goes before any sum."
        ),
        "ASTM D3321",
    ),
    (
        f"All figures are where slush begins. Burst points lie far colder: sold as {MINUS}50, slush near {MINUS}10 °C.",
        _OURS,
    ),
)
"""What to keep to, each with its source."""
