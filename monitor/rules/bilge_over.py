"""What the bilge rule says while an alert waits out its off-delay: what stands now, and that what was told is over.

Through the delay the alert would go on with its last words, and call a bilge that is dry a flood.
"""

from monitor.model.equipment import Bilge
from monitor.model.finding import Figure, Finding
from monitor.model.scale import Priority, Sure
from monitor.rules import bilge_advice as advice
from monitor.rules.bilge_advice import Pattern
from monitor.rules.bilge_memory import BilgeMemory, BilgeWord
from monitor.rules.bilge_outlook import level_stands, newest_level
from monitor.rules.bilge_say import Case, Steps, high_mm, level_mm, rests_on_level, say

_MM = 1000.0
_DEADBAND_MM = 10
_FLOODED = frozenset({"float", "high", "silent after rise"})


def note_said(memory: BilgeMemory, finding: Finding) -> None:
    """Keep what is needed of what is told now, to say of it later that it is over."""
    before, level = memory.told, newest_level(memory)
    highest_m = None if before is None or before.ended_ms is not None else before.highest_m
    if level is not None and finding.kind in _FLOODED:
        highest_m = max(level.value, highest_m or 0.0)
    memory.told = BilgeWord(finding.kind, finding.priority, finding.off_delay_ms, highest_m=highest_m)


def over(case: Case) -> Finding | None:
    """Say of what was told last that it is over, for as long as its alert waits; None where nothing waits."""
    memory, told = case.memory, case.memory.told
    if told is None:
        return None
    if not told.waits(case.now_ms):
        memory.told = None
        return None
    return _over(case, told)


def over_at(memory: BilgeMemory) -> int | None:
    """Give when what is over has been told for long enough, None where nothing is."""
    told = memory.told
    return None if told is None else told.ends_ms


def _over(case: Case, told: BilgeWord) -> Finding:
    memory, bilge = case.memory, case.place.bilge
    level, stands = newest_level(memory), level_stands(memory, case.place, case.now_ms, case.deaf_to_ms)
    is_fresh = stands["level_is"] == "fresh"
    shown_mm = level_mm(level) if is_fresh else None
    most_mm = None if told.highest_m is None else round(told.highest_m * _MM)
    if most_mm is not None and most_mm <= (shown_mm or 0) + _DEADBAND_MM:
        most_mm = None
    down_ms = memory.float_down_ms
    if down_ms is not None and told.ended_ms is not None and told.ended_ms - down_ms > told.off_ms:
        down_ms = None  # that was another time
    return say(
        case,
        kind=told.kind,
        priority=told.priority,
        figure=Figure(shown_mm, high_mm(case.place), "mm") if is_fresh else Figure(0.0, None, "/"),
        sure=Sure.LIKELY,
        steps=_steps(case, told, bilge),
        rests_on=rests_on_level(level),
        facts={
            "over_ms": told.ended_ms,
            "ends_at": told.ends_ms,
            "down_ms": down_ms,
            "most_mm": most_mm,
        },
        off_ms=told.off_ms,
        over=True,
    )


def _steps(case: Case, told: BilgeWord, bilge: Bilge) -> Steps:
    if told.kind == "water or sensor":
        return Steps(advice.DOUBT_CAUSES, ("look_before_left", "dip_and_compare", "lift_float"), advice.DOUBT_NEVER)
    pattern = Pattern(slow=told.kind == "rise", thawed=case.thawed_ms is not None, pumped=told.kind == "pump runs")
    first = ["look_where_from"]
    if told.kind in _FLOODED or told.priority is Priority.ALARM:
        first.append("find_water_mark")
    if case.thawed_ms is not None:
        first.append("look_for_split")
    return Steps(
        advice.causes(case.record, bilge, pattern),
        tuple(first),
        advice.never(flooded=told.kind in _FLOODED),
    )
