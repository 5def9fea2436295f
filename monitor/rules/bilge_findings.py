"""What the bilge rule says of water: its kinds of finding, each with its figure, causes and steps."""

from monitor.model.finding import Figure, Finding, TimeToHarm
from monitor.model.reading import Seen
from monitor.model.scale import Priority, Sure
from monitor.rules import bilge_advice as advice
from monitor.rules.bilge_advice import Pattern
from monitor.rules.bilge_limits import LIMITS
from monitor.rules.bilge_memory import Missed
from monitor.rules.bilge_outlook import newest_level, rate_mm
from monitor.rules.bilge_relief import Relief
from monitor.rules.bilge_say import Case, Steps, high_mm, level_mm, rests_on_level, say
from monitor.rules.inflow import Inflow
from monitor.rules.rising import Rise

_MM = 1000.0
_DAY_H = 24.0


def float_up(case: Case, up_ms: int, harm: TimeToHarm | None) -> Finding:
    """Say that the float switch is up and nothing believable speaks against it."""
    return say(
        case,
        kind="float",
        priority=Priority.ALARM,
        figure=Figure(1.0, None, "/"),
        sure=Sure.CERTAIN if case.memory.high is not None else Sure.LIKELY,
        steps=_flooded(case),
        harm=harm,
        rests_on=(Seen(case.place.bilge.float_sensor or "", up_ms, 1.0), *rests_on_level(newest_level(case.memory))),
        facts={"up_ms": up_ms},
        off_ms=LIMITS.ms("high_off"),
    )


def high(case: Case, level: Seen, harm: TimeToHarm | None) -> Finding:
    """Say that a believable level stands at the high mark."""
    return say(
        case,
        kind="high",
        priority=Priority.ALARM,
        figure=Figure(level_mm(level), high_mm(case.place), "mm"),
        sure=Sure.CERTAIN,
        steps=_flooded(case),
        harm=harm,
        rests_on=rests_on_level(level),
        off_ms=LIMITS.ms("high_off"),
    )


def rising(case: Case, rise: Rise, inflow: Inflow, held: Relief) -> Finding:
    """Say that the water rises, how fast, what it reaches when, and what the pump makes of that."""
    memory = case.memory
    pattern = _pattern(case, rise, inflow)
    return say(
        case,
        kind="rise",
        priority=Priority.ALARM if memory.urgent else Priority.WARNING,
        figure=Figure(rate_mm(rise, rise.m_per_h), None, "mm/h" if rise.fast else "mm/d"),
        sure=Sure.LIKELY if rise.fast else Sure.CERTAIN,
        steps=Steps(
            advice.causes(case.record, case.place.bilge, pattern),
            advice.first(case.record, flooded=memory.urgent, thawed=case.thawed_ms is not None),
            advice.never(flooded=memory.urgent),
        ),
        harm=held.harm,
        rests_on=rests_on_level(case.memory.level),
        facts={
            "risen_mm": round(rise.risen_m * _MM),
            "over_h": round(rise.over_h, 1),
            "steady": pattern.is_steady,
            "slows": pattern.slows,
            "pump": held.does,
            "battery_h": None if held.battery_h is None else round(held.battery_h),
        },
        off_ms=LIMITS.ms("fast_off" if rise.fast else "slow_off"),
    )


def silent_after(case: Case, after: str, last: Seen | None, harm: TimeToHarm | None) -> Finding:
    """Say that the water rose or was high, and that nothing believable has been heard of it since."""
    heard_ms = case.memory.heard.last_ms
    return say(
        case,
        kind="silent after rise",
        priority=Priority.ALARM,
        figure=Figure(level_mm(last), high_mm(case.place), "mm"),
        sure=Sure.POSSIBLE,
        steps=_flooded(case, slow=after == "rise" and case.memory.fast is None),
        harm=harm,
        rests_on=rests_on_level(last),
        facts={
            "after": after,
            "last_mm": level_mm(last),
            "last_ms": None if last is None else last.at_ms,
            "heard_ms": heard_ms,
        },
        off_ms=LIMITS.ms("high_off"),
    )


def level_in_doubt(case: Case, doubt: Seen) -> Finding:
    """Say that a level stands at the high mark which cannot be believed yet: water, or a bad sensor."""
    return say(
        case,
        kind="water or sensor",
        priority=Priority.WARNING,
        figure=Figure(level_mm(doubt), high_mm(case.place), "mm"),
        sure=Sure.POSSIBLE,
        steps=_DOUBT,
        rests_on=(doubt,),
        facts={"why": "level jumped", "said_ms": doubt.at_ms, "said_mm": level_mm(doubt)},
        off_ms=LIMITS.ms("high_off"),
    )


def float_in_doubt(case: Case, why: str, said_ms: int) -> Finding:
    """Say that the float switch calls water that a believable level does not see: water, or a bad sensor."""
    return say(
        case,
        kind="water or sensor",
        priority=Priority.WARNING,
        figure=Figure(1.0, None, "/"),
        sure=Sure.POSSIBLE,
        steps=_DOUBT,
        rests_on=(Seen(case.place.bilge.float_sensor or "", said_ms, 1.0), *rests_on_level(case.memory.level)),
        facts={"why": why, "said_ms": said_ms, "said_mm": None},
        off_ms=LIMITS.ms("high_off"),
    )


def was_high_unheard(case: Case, missed: Missed) -> Finding:
    """Say that late readings show high water of which nobody was told at its time."""
    highest = None if missed.highest_m is None else round(missed.highest_m * _MM)
    return say(
        case,
        kind="was high unheard",
        priority=Priority.WARNING,
        figure=Figure(highest, high_mm(case.place), "mm"),
        sure=Sure.LIKELY,
        steps=Steps(
            advice.causes(case.record, case.place.bilge, Pattern(thawed=case.thawed_ms is not None)),
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


def not_known(case: Case) -> Finding:
    """Say that neither a believable level nor a float switch is heard."""
    return say(
        case,
        kind="not known",
        priority=Priority.WARNING if case.record.berth else Priority.CAUTION,
        figure=Figure(None, high_mm(case.place), "mm"),
        sure=Sure.NOT_KNOWN,
        steps=Steps(("no_believable_level",), ("look_in_bilge", "dip_and_compare"), ()),
        rests_on=rests_on_level(case.memory.level),
    )


def bung_out(case: Case) -> Finding:
    """Say that with the drain bung out no rise proves nothing."""
    return say(
        case,
        kind="bung out",
        priority=Priority.CAUTION,
        figure=Figure(None, high_mm(case.place), "mm"),
        sure=Sure.NOT_KNOWN,
        steps=Steps(("drains_away",), ("look_for_wet",), ()),
        rests_on=rests_on_level(case.memory.level),
    )


_DOUBT = Steps(advice.DOUBT_CAUSES, advice.DOUBT_FIRST, advice.DOUBT_NEVER)


def _pattern(case: Case, rise: Rise, inflow: Inflow) -> Pattern:
    least = inflow.low_l_per_h
    return Pattern(
        slow=not rise.fast,
        late_share=rise.late_share,
        least_l_per_day=None if least is None else least * _DAY_H,
        thawed=case.thawed_ms is not None,
    )


def _flooded(case: Case, *, slow: bool = False) -> Steps:
    thawed = case.thawed_ms is not None
    return Steps(
        advice.causes(case.record, case.place.bilge, Pattern(slow=slow, thawed=thawed)),
        advice.first(case.record, flooded=True, thawed=thawed),
        advice.never(flooded=True),
    )
