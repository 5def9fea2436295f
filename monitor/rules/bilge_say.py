"""How the bilge rule makes a finding: whom it speaks of, and what all its kinds have in common."""

from dataclasses import dataclass

from monitor.model.finding import Figure, Finding, TimeToHarm
from monitor.model.reading import Seen
from monitor.model.scale import Priority, Sure
from monitor.model.vessel import Mode, Vessel
from monitor.rules.bilge_memory import BilgeMemory
from monitor.rules.bilge_outlook import Facts, how_it_stands, level_stands
from monitor.rules.compartment import Compartment

_MM = 1000.0

LATCHES = frozenset({"float", "high", "water or sensor", "silent after rise", "was high unheard"})
"""Kinds after which somebody has to look into the bilge, though the level is down again."""

ALWAYS_TOLD = frozenset({"float", "high", "water or sensor"})
"""Kinds that are told whoever is aboard and whatever is done there."""


@dataclass(frozen=True, slots=True)
class Case:
    """The bilge that is spoken of.

    Attributes:
        record, place, memory: her record, the bilge, and what is kept of it.
        now_ms: when it is spoken of.
        deaf_to_ms: until when the agent itself was deaf.
        thawed_ms: when something left wet aboard thawed, where that is so short ago that she is watched closely.
    """

    record: Vessel
    place: Compartment
    memory: BilgeMemory
    now_ms: int
    deaf_to_ms: int = 0
    thawed_ms: int | None = None


@dataclass(frozen=True, slots=True)
class Steps:
    """Likely causes, what to do first and what not to do, as codes."""

    causes: tuple[str, ...]
    first: tuple[str, ...]
    never: tuple[str, ...]


def say(
    case: Case,
    *,
    kind: str,
    priority: Priority,
    figure: Figure,
    sure: Sure,
    steps: Steps,
    harm: TimeToHarm | None = None,
    rests_on: tuple[Seen, ...] = (),
    facts: Facts | None = None,
    off_ms: int = 0,
    over: bool = False,
) -> Finding:
    """Make a finding of one bilge. One that is over tells of no rise."""
    record, place, memory = case.record, case.place, case.memory
    stands = level_stands if over else how_it_stands
    common: Facts = {
        "name": place.bilge.name,
        "high_mm": high_mm(place),
        "afloat": record.berth is not None,
        "bung_out": record.mode is Mode.ASHORE_BUNG_OUT,
        "all_shut": bool(record.seacocks) and not record.open_seacocks,
        "open_names": ", ".join(s.name for s in record.open_seacocks),
        "thawed_ms": case.thawed_ms,
        **stands(memory, place, case.now_ms, case.deaf_to_ms),
    }
    if harm is not None:
        common["counted_ms"] = case.now_ms  # time to harm runs from here, however old the level is
    return Finding(
        rule="bilge",
        subject=place.bilge.id,
        kind=kind,
        priority=priority,
        figure=figure,
        harm=harm,
        sure=sure,
        causes=steps.causes,
        first=steps.first,
        never=steps.never,
        rests_on=rests_on,
        facts=common if facts is None else common | facts,
        off_delay_ms=off_ms,
        latches=kind in LATCHES,
        always_told=kind in ALWAYS_TOLD,
        over=over,
    )


def rests_on_level(level: Seen | None) -> tuple[Seen, ...]:
    """Give the level that a finding rests on."""
    return () if level is None else (level,)


def level_mm(level: Seen | None) -> float | None:
    """Give a level in millimetres, None where there is none."""
    return None if level is None else round(level.value * _MM)


def high_mm(place: Compartment) -> float:
    """Give the high mark in millimetres."""
    return round(place.bilge.high_m * _MM)
