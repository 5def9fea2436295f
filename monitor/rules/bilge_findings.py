"""What the bilge rule says: its kinds of finding, each with its figure, causes and steps."""

from dataclasses import dataclass

from monitor.model.finding import Figure, Finding, TimeToHarm
from monitor.model.reading import Seen
from monitor.model.scale import Priority, Sure
from monitor.model.vessel import Mode, Vessel
from monitor.rules import bilge_advice as advice
from monitor.rules.bilge_limits import LIMITS
from monitor.rules.bilge_memory import BilgeMemory, Missed
from monitor.rules.compartment import Compartment
from monitor.rules.inflow import Inflow
from monitor.rules.rising import Rise

Facts = dict[str, float | str | bool | None]
_MM = 1000.0
_DAY_H = 24.0


@dataclass(frozen=True, slots=True)
class _Steps:
    causes: tuple[str, ...]
    first: tuple[str, ...]
    never: tuple[str, ...]


def float_up(record: Vessel, place: Compartment, memory: BilgeMemory, up_ms: int, harm: TimeToHarm | None) -> Finding:
    """Say that the float switch is up and nothing believable speaks against it."""
    return _say(
        record,
        place,
        memory,
        "float",
        Priority.ALARM,
        Figure(1.0, None, "/"),
        Sure.CERTAIN if memory.high is not None else Sure.LIKELY,
        _flooded(record, place),
        harm=harm,
        rests_on=(Seen(place.bilge.float_sensor or "", up_ms, 1.0),),
        facts={"up_ms": up_ms},
        off_ms=LIMITS.ms("high_off"),
    )


def high(record: Vessel, place: Compartment, memory: BilgeMemory, level: Seen, harm: TimeToHarm | None) -> Finding:
    """Say that a believable level stands at the high mark."""
    return _say(
        record,
        place,
        memory,
        "high",
        Priority.ALARM,
        Figure(_mm(level), _high_mm(place), "mm"),
        Sure.CERTAIN,
        _flooded(record, place),
        harm=harm,
        rests_on=_rests_on(level),
        facts={"level_mm": _mm(level), "level_ms": level.at_ms},
        off_ms=LIMITS.ms("high_off"),
    )


def rising(
    record: Vessel, place: Compartment, memory: BilgeMemory, rise: Rise, inflow: Inflow, harm: TimeToHarm | None
) -> Finding:
    """Say that the water rises, how fast, and what it reaches when."""
    per_h = 1.0 if rise.fast else _DAY_H
    rate, low, high = (round(r * per_h * _MM, 1) for r in (rise.m_per_h, rise.low_m_per_h, rise.high_m_per_h))
    return _say(
        record,
        place,
        memory,
        "rise",
        Priority.ALARM if memory.urgent else Priority.WARNING,
        Figure(rate, None, "mm/h" if rise.fast else "mm/d"),
        Sure.LIKELY if rise.fast else Sure.CERTAIN,
        _Steps(
            advice.causes(record, place.bilge, slow=not rise.fast),
            advice.first(record, flooded=memory.urgent),
            advice.never(flooded=memory.urgent),
        ),
        harm=harm,
        rests_on=_rests_on(memory.level),
        facts={
            "fast": rise.fast,
            "per": "hour" if rise.fast else "day",
            "rate_mm": rate,
            "rate_low_mm": low,
            "rate_high_mm": high,
            "risen_mm": round(rise.risen_m * _MM),
            "over_h": round(rise.over_h, 1),
            "litres": None if inflow.l_per_h is None else round(inflow.l_per_h * per_h, 1),
            "reaches": inflow.reaches,
            "reaches_mm": round(inflow.height_m * _MM),
        },
        off_ms=LIMITS.ms("fast_off" if rise.fast else "slow_off"),
    )


def silent_after(
    record: Vessel, place: Compartment, memory: BilgeMemory, after: str, last: Seen | None, harm: TimeToHarm | None
) -> Finding:
    """Say that the water rose or was high, and that nothing believable has been heard of it since."""
    heard_ms = memory.heard.last_ms
    return _say(
        record,
        place,
        memory,
        "silent after rise",
        Priority.ALARM,
        Figure(_mm(last), _high_mm(place), "mm"),
        Sure.POSSIBLE,
        _flooded(record, place, slow=after == "rise" and memory.fast is None),
        harm=harm,
        rests_on=_rests_on(last),
        facts={
            "after": after,
            "last_mm": _mm(last),
            "last_ms": None if last is None else last.at_ms,
            "heard_ms": heard_ms,
        },
        off_ms=LIMITS.ms("high_off"),
    )


def level_in_doubt(record: Vessel, place: Compartment, memory: BilgeMemory, doubt: Seen) -> Finding:
    """Say that a level stands at the high mark which cannot be believed yet: water, or a bad sensor."""
    return _say(
        record,
        place,
        memory,
        "water or sensor",
        Priority.WARNING,
        Figure(_mm(doubt), _high_mm(place), "mm"),
        Sure.POSSIBLE,
        _DOUBT,
        rests_on=(doubt,),
        facts={"why": "level jumped", "said_ms": doubt.at_ms, "said_mm": _mm(doubt)},
        off_ms=LIMITS.ms("high_off"),
    )


def float_in_doubt(record: Vessel, place: Compartment, memory: BilgeMemory, why: str, said_ms: int) -> Finding:
    """Say that the float switch calls water that a believable level does not see: water, or a bad sensor."""
    return _say(
        record,
        place,
        memory,
        "water or sensor",
        Priority.WARNING,
        Figure(1.0, None, "/"),
        Sure.POSSIBLE,
        _DOUBT,
        rests_on=(Seen(place.bilge.float_sensor or "", said_ms, 1.0), *_rests_on(memory.level)),
        facts={"why": why, "said_ms": said_ms, "said_mm": None},
        off_ms=LIMITS.ms("high_off"),
    )


def was_high_unheard(record: Vessel, place: Compartment, memory: BilgeMemory, missed: Missed) -> Finding:
    """Say that late readings show high water of which nobody was told at its time."""
    highest = None if missed.highest_m is None else round(missed.highest_m * _MM)
    return _say(
        record,
        place,
        memory,
        "was high unheard",
        Priority.WARNING,
        Figure(highest, _high_mm(place), "mm"),
        Sure.LIKELY,
        _Steps(
            advice.causes(record, place.bilge, slow=False),
            ("look_in_bilge", "find_water_mark"),
            advice.never(flooded=False),
        ),
        facts={
            "from_ms": missed.from_ms,
            "to_ms": missed.to_ms,
            "highest_mm": highest,
            "by_float": missed.by_float,
        },
    )


def not_known(record: Vessel, place: Compartment, memory: BilgeMemory) -> Finding:
    """Say that neither a believable level nor a float switch is heard."""
    return _say(
        record,
        place,
        memory,
        "not known",
        Priority.WARNING if record.berth else Priority.CAUTION,
        Figure(None, _high_mm(place), "mm"),
        Sure.NOT_KNOWN,
        _Steps(("no_believable_level",), ("look_in_bilge", "dip_and_compare"), ()),
        rests_on=_rests_on(memory.level),
    )


_DOUBT = _Steps(advice.DOUBT_CAUSES, advice.DOUBT_FIRST, advice.DOUBT_NEVER)


def _flooded(record: Vessel, place: Compartment, *, slow: bool = False) -> _Steps:
    return _Steps(
        advice.causes(record, place.bilge, slow=slow),
        advice.first(record, flooded=True),
        advice.never(flooded=True),
    )


def _say(
    record: Vessel,
    place: Compartment,
    memory: BilgeMemory,
    kind: str,
    priority: Priority,
    figure: Figure,
    sure: Sure,
    steps: _Steps,
    *,
    harm: TimeToHarm | None = None,
    rests_on: tuple[Seen, ...] = (),
    facts: Facts | None = None,
    off_ms: int = 0,
) -> Finding:
    common: Facts = {
        "name": place.bilge.name,
        "high_mm": _high_mm(place),
        "level_mm": _mm(memory.level),
        "level_ms": None if memory.level is None else memory.level.at_ms,
        "afloat": record.berth is not None,
        "bung_out": record.mode is Mode.ASHORE_BUNG_OUT,
        "all_shut": bool(record.seacocks) and not record.open_seacocks,
        "open_names": ", ".join(s.name for s in record.open_seacocks),
    }
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
    )


def _rests_on(level: Seen | None) -> tuple[Seen, ...]:
    return () if level is None else (level,)


def _mm(level: Seen | None) -> float | None:
    return None if level is None else round(level.value * _MM)


def _high_mm(place: Compartment) -> float:
    return round(place.bilge.high_m * _MM)
