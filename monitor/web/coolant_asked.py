"""What was asked of the coolant sums in an address, what stands in its fields, and what is wrong with it."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TypeVar

from monitor.model.equipment import LiquidSystem, SystemKind, Tester
from monitor.record.coolant import glycol_of
from monitor.record.coolant_answer import Question, Sum
from monitor.record.coolant_figures import MINUS
from monitor.record.coolant_refused import NEAT_PCT
from monitor.science.freezing import Glycol
from monitor.web.visit_form import number

MOST_TYPED = 40
BY_MASS, TESTED = "mass", "tested"
_Choice = TypeVar("_Choice", Sum, Glycol, Tester)


@dataclass(frozen=True, slots=True)
class Field:
    """A field for a figure: its label, what helps to fill it in, and its unit."""

    label: str
    hint: str
    unit: str


FIELDS = {
    "strength": Field("Strength", "from 0 to about 60", "%"),
    "tested": Field("Tested freezing point", "as read on the tester, with its minus", "°C"),
    "poured": Field("Strength of what is poured", "by volume; neat concentrate is 100", "%"),
    "poured_l": Field("How much is poured", "", "L"),
    "left_l": Field("Water that stayed in it", "what it holds, less what came out", "L"),
    "system_l": Field("What the system holds", "engine, hoses, heater and heat exchanger", "L"),
    "now": Field("Now in it", "a strength, or its tested freezing point", ""),
    "wanted": Field("Wanted down to", "the coldest night, and 5 degrees more", "°C"),
    "fill": Field("Strength of what is filled in", "by volume; neat concentrate is 100", "%"),
}
_MIXED = Field("How much you want to have", "what the system holds, and some to top up", "L")


def field_of(key: str, asked: Sum) -> Field:
    """Give the field of a figure, as the sum that takes it calls it."""
    return _MIXED if key == "system_l" and asked is Sum.MIX else FIELDS[key]


@dataclass(frozen=True, slots=True)
class Asked:
    """What an address asks.

    Attributes:
        sum: which sum.
        glycol: of which glycol.
        tester: what a freezing point was tested with.
        by: how ``strength`` is counted, *volume* or *mass*.
        now_as: what ``now`` is, a strength by *volume* or *tested*.
        typed: what stands in the fields, as it was typed, or else as the record has it.
        question: the question, None where nothing is asked yet, or where it cannot be read.
        wrong: what is wrong with it, by field.
    """

    sum: Sum
    glycol: Glycol
    tester: Tester
    by: str
    now_as: str
    typed: Mapping[str, str]
    question: Question | None = None
    wrong: Mapping[str, str] = field(default_factory=dict)


def asked_of(query: Mapping[str, str], system: LiquidSystem | None) -> Asked:
    """Read an address; what it leaves out comes from a record's system, where there is one."""
    proven = system is not None and system.tested_freeze_degc is not None
    which = _one(Sum, query.get("sum"), Sum.STRENGTH if proven else Sum.POINT)
    glycol = _one(Glycol, query.get("glycol"), _glycol(system))
    tester = _one(Tester, query.get("tester"), (system and system.tester) or Tester.REFRACTOMETER)
    now_as = query.get("now_as", TESTED if proven else "")
    typed = _recorded(system) | {k: query[k].strip()[:MOST_TYPED] for k in which.figures if k in query}
    figures, wrong = _figures(which, typed, now_tested=now_as == TESTED)
    begun = any(key in query for key in which.figures)
    question = None
    if not wrong:
        kind: SystemKind | None = None if system is None else system.kind
        by_mass = query.get("by") == BY_MASS
        question = Question(which, glycol, figures, by_mass, now_as == TESTED, tester, kind)
    by = BY_MASS if query.get("by") == BY_MASS else "volume"
    return Asked(which, glycol, tester, by, now_as, typed, question, wrong if begun else {})


def _figures(which: Sum, typed: Mapping[str, str], *, now_tested: bool) -> tuple[dict[str, float], dict[str, str]]:
    figures: dict[str, float] = {}
    wrong: dict[str, str] = {}
    for key in which.figures:
        known, text = field_of(key, which), typed.get(key, "")
        unit = ("°C" if now_tested else "%") if key == "now" else known.unit
        value = number(text, unit)
        if value is not None:
            figures[key] = value
        elif text:
            wrong[key] = f"{known.label}: {text!r} is no number. Write it in {unit}, as {_EXAMPLE[unit]}."
        else:
            wrong[key] = f"{known.label}: write it in {unit}."
    return figures, wrong


_EXAMPLE = {"%": "50", "°C": f"{MINUS}25", "L": "12.5"}


def _recorded(system: LiquidSystem | None) -> dict[str, str]:
    typed = {"fill": f"{NEAT_PCT:g}"}
    if system is not None and system.tested_freeze_degc is not None:
        point = f"{system.tested_freeze_degc:g}".replace("-", MINUS)
        typed |= {"tested": point, "now": point}
    return typed


def _glycol(system: LiquidSystem | None) -> Glycol:
    return Glycol.ETHYLENE if system is None else glycol_of(system.liquid, system.kind)


def _one(kind: type[_Choice], written: str | None, otherwise: _Choice) -> _Choice:
    return next((one for one in kind if one.value == written), otherwise)
