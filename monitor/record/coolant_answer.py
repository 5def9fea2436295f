"""Questions of coolant and their answers in words, the same on the page and in a terminal."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from math import ceil

from monitor.model.equipment import SystemKind, Tester
from monitor.record.coolant import Mixture, Poured, Tested, behind_test, mixture, thinned, to_mix, to_replace
from monitor.record.coolant_figures import at_least, at_most, degc_words, degrees, litres_words, tenth_degc
from monitor.record.coolant_refused import NEAT_PCT, CoolantRefusedError
from monitor.science.freezing import Glycol


class Sum(StrEnum):
    """What is asked."""

    POINT = "point"
    STRENGTH = "strength"
    LEFT = "left"
    REPLACE = "replace"
    MIX = "mix"

    @property
    def figures(self) -> tuple[str, ...]:
        """The figures it takes."""
        return _FIGURES[self]

    @property
    def pours(self) -> bool:
        """Whether its answer is poured into something."""
        return self in {Sum.LEFT, Sum.REPLACE, Sum.MIX}


_FIGURES = {
    Sum.POINT: ("strength",),
    Sum.STRENGTH: ("tested",),
    Sum.LEFT: ("poured", "poured_l", "left_l"),
    Sum.REPLACE: ("system_l", "now", "wanted", "fill"),
    Sum.MIX: ("system_l", "wanted", "fill"),
}


@dataclass(frozen=True, slots=True)
class Question:
    """A question of coolant.

    Attributes:
        sum: what is asked.
        glycol: of which glycol.
        figures: the figures that it takes, by name: strengths in %, temperatures in degC, amounts in L.
        by_mass: whether ``strength`` is by mass, and not by volume.
        now_tested: whether ``now`` is a tested freezing point, and no strength.
        tester: what it was tested with.
        kind: of which system, None where none is named.
    """

    sum: Sum
    glycol: Glycol
    figures: Mapping[str, float]
    by_mass: bool = False
    now_tested: bool = False
    tester: Tester = Tester.REFRACTOMETER
    kind: SystemKind | None = None


@dataclass(frozen=True, slots=True)
class Answer:
    """What comes out.

    Attributes:
        headline: the answer in a sentence.
        rows: its figures, each with what it is.
        then: what to do next.
        protected_degc: to how cold what comes out is counted on.
    """

    headline: str
    rows: tuple[tuple[str, str], ...]
    then: str
    protected_degc: int


def answer(question: Question) -> Answer:
    """Answer a question.

    Raises:
        CoolantRefusedError: where a figure cannot be used, or what is asked must not be poured.
    """
    if question.kind is SystemKind.FRESH_WATER and question.glycol is Glycol.ETHYLENE and question.sum.pours:
        raise CoolantRefusedError(
            "glycol",
            "Fresh water is drunk: only propylene glycol that is sold for drinking water goes in. "
            "Ethylene glycol is poisonous.",
        )
    return _ANSWERS[question.sum](question)


def _point(q: Question) -> Answer:
    made = mixture(q.glycol, q.figures["strength"], by_mass=q.by_mass)
    return Answer(
        f"Count on {degc_words(made.protected_degc)}.",
        (*_point_rows(made), ("Strength", f"{made.volume_pct:.1f} % by volume, {made.mass_pct:.1f} % by mass")),
        "A tested figure goes before this one: test what is in the system.",
        made.protected_degc,
    )


def _strength(q: Question) -> Answer:
    found, degc = behind_test(q.glycol, q.figures["tested"], q.tester), q.figures["tested"]
    most = found.strongest_pct
    return Answer(
        f"Count on {degc_words(found.count_on_degc)}, and on {at_least(found.weakest_pct)} by volume.",
        (
            ("Tested", f"{degc_words(degc)} by {q.tester}, which errs by up to {degrees(found.error_k)}"),
            ("Weakest that fits", f"{at_least(found.weakest_pct)} by volume"),
            ("Strongest that fits", "past the tables" if most is None else f"{at_most(most)} by volume"),
        ),
        "The tested point goes before any table. The strength is only for reckoning what to add.",
        found.count_on_degc,
    )


def _left(q: Question) -> Answer:
    poured, poured_l, left_l = (q.figures[key] for key in Sum.LEFT.figures)
    made = thinned(q.glycol, poured, poured_l, left_l)
    total = litres_words(poured_l + left_l)
    return Answer(
        f"{at_least(made.volume_pct)} by volume is left of {poured:g} %: count on {degc_words(made.protected_degc)}.",
        (
            ("In the system", f"{litres_words(poured_l)} poured and {litres_words(left_l)} of water: {total}"),
            *_point_rows(made),
            ("As it was poured", _as_poured(q.glycol, poured)),
        ),
        "Only once it is mixed: let it run through, then test what comes out at the drain farthest from there.",
        made.protected_degc,
    )


def _replace(q: Question) -> Answer:
    system_l, now, wanted, fill = (q.figures[key] for key in Sum.REPLACE.figures)
    tested: Tested | None = None
    if q.now_tested:
        tested = behind_test(q.glycol, now, q.tester, key="now")
        if tested.count_on_degc <= wanted:
            return Answer(
                "Nothing to replace: its test is cold enough.",
                (("Count on", degc_words(tested.count_on_degc)), ("Wanted", degc_words(wanted))),
                "Test it again before the winter's end.",
                tested.count_on_degc,
            )
        now = tested.weakest_pct
    found = to_replace(q.glycol, system_l, now, wanted, fill)
    in_now = f"{at_least(now)} by volume" + (" at the least, by its test" if tested else "")
    rows = (("Now", in_now), _needed(found, wanted), *_after_rows(found))
    protected = found.after.protected_degc
    if not found.litres:
        return Answer("Nothing to replace: it is strong enough.", rows, "Test it all the same.", protected)
    return Answer(
        f"Drain {litres_words(found.litres)}, and fill {litres_words(found.litres)} of {_fill_words(fill)}.",
        rows,
        "This holds for coolant that is mixed: let it run warm, drain, fill, let it run again, then test.",
        protected,
    )


def _mix(q: Question) -> Answer:
    total_l, wanted, fill = (q.figures[key] for key in Sum.MIX.figures)
    found = to_mix(q.glycol, total_l, wanted, fill)
    return Answer(
        f"{litres_words(found.litres)} of {_fill_words(fill)} and {litres_words(found.water_l)} of water.",
        (("Makes", litres_words(total_l)), _needed(found, wanted), *_after_rows(found)),
        "Mix it before you pour it. Water left in the system thins it: see what that does.",
        found.after.protected_degc,
    )


_ANSWERS: dict[Sum, Callable[[Question], Answer]] = {
    Sum.POINT: _point,
    Sum.STRENGTH: _strength,
    Sum.LEFT: _left,
    Sum.REPLACE: _replace,
    Sum.MIX: _mix,
}


def _point_rows(made: Mixture) -> tuple[tuple[str, str], ...]:
    degc, spread_k = made.point
    return (
        ("Slush begins", f"{tenth_degc(degc)}, middle of two sources"),
        ("They differ by", degrees(ceil(spread_k * 10.0 - 1e-9) / 10.0)),
    )


def _after_rows(found: Poured) -> tuple[tuple[str, str], ...]:
    after = found.after
    return (("Then", f"{at_least(after.volume_pct)} by volume: count on {degc_words(after.protected_degc)}"),)


def _needed(found: Poured, wanted: float) -> tuple[str, str]:
    return "Wanted", f"{degc_words(wanted)}, which takes {at_most(found.needed_pct)} by volume"


def _as_poured(glycol: Glycol, percent: float) -> str:
    try:
        return f"count on {degc_words(mixture(glycol, percent).protected_degc)}"
    except CoolantRefusedError:
        return "stronger than the tables go"


def _fill_words(fill: float) -> str:
    return "neat concentrate" if fill == NEAT_PCT else f"{fill:g} % mixture"
