"""How high the water stands, how fast it rises and what it reaches when: what every word of a bilge carries.

Whoever is called to a float switch has to know first how much water there is and how long there is.
"""

from monitor.model.finding import TimeToHarm
from monitor.model.reading import Seen
from monitor.rules.bilge_limits import LIMITS
from monitor.rules.bilge_memory import BilgeMemory
from monitor.rules.bilge_patience import level_unbelieved_at
from monitor.rules.compartment import Compartment
from monitor.rules.inflow import Inflow, inflow_of
from monitor.rules.rising import Rise
from monitor.rules.rule import MINUTE_MS, SECOND_MS

Facts = dict[str, float | str | bool | None]

_MM = 1000.0
_DAY_H = 24.0


def newest_level(memory: BilgeMemory) -> Seen | None:
    """Give the newest level believed: one that came to the high mark without a jump is, before it has settled."""
    high, level = memory.high, memory.level
    return high if high is not None and (level is None or high.at_ms > level.at_ms) else level


def time_to_harm(memory: BilgeMemory, place: Compartment, level: Seen | None, now_ms: int) -> TimeToHarm | None:
    """Give the time from now until water at this level, and rising as it did, reaches what it harms."""
    heights = place.bilge.harm_heights
    if level is None:
        return None
    if level.value >= (heights[0][1] if heights else place.bilge.high_m):
        return TimeToHarm(0.0, None) if heights else None  # high water alone is no harm yet
    rise = memory.fast or memory.slow
    harm = None if rise is None else inflow_of(place.bilge, place.table, level.value, rise).harm
    if harm is None:
        return None
    gone_s = (now_ms - level.at_ms) / SECOND_MS
    latest = None if harm.high_s is None else max(harm.high_s - gone_s, 0.0)
    return TimeToHarm(max(harm.low_s - gone_s, 0.0), latest)


def how_it_stands(memory: BilgeMemory, place: Compartment, now_ms: int, deaf_to_ms: int) -> Facts:
    """Say what the level tells beside whatever else is told: how far to go by it, how fast it rises, what it reaches.

    Times to come have names without ``_ms``: a message is as of the newest of those.
    """
    level, rise = newest_level(memory), memory.fast or memory.slow
    stands = level_stands(memory, place, now_ms, deaf_to_ms)
    if level is None or rise is None:
        return stands
    inflow = inflow_of(place.bilge, place.table, level.value, rise)
    return stands | rates(rise, inflow) | _reaches(memory, place, level, inflow, now_ms)


def level_stands(memory: BilgeMemory, place: Compartment, now_ms: int, deaf_to_ms: int) -> Facts:
    """Say how high the water stands, and how far to go by that."""
    level = newest_level(memory)
    return {
        "level_is": _level_is(memory, place, level, now_ms, deaf_to_ms),
        "level_mm": None if level is None else round(level.value * _MM),
        "level_ms": None if level is None else level.at_ms,
    }


def rates(rise: Rise, inflow: Inflow) -> Facts:
    """Say how fast it rises: in an hour where hours show it, else in a day."""
    per_h = 1.0 if rise.fast else _DAY_H
    return {
        "fast": rise.fast,
        "per": "hour" if rise.fast else "day",
        "rate_mm": rate_mm(rise, rise.m_per_h),
        "rate_low_mm": rate_mm(rise, rise.low_m_per_h),
        "rate_high_mm": rate_mm(rise, rise.high_m_per_h),
        "litres": _litres(inflow.l_per_h, per_h),
        "litres_low": _litres(inflow.low_l_per_h, per_h),
        "litres_high": _litres(inflow.high_l_per_h, per_h),
    }


def rate_mm(rise: Rise, m_per_h: float) -> float:
    """Give a rate in the time that a rise is told in: millimetres an hour, or a day."""
    return round(m_per_h * (1.0 if rise.fast else _DAY_H) * _MM, 1)


def _reaches(memory: BilgeMemory, place: Compartment, level: Seen, inflow: Inflow, now_ms: int) -> Facts:
    harm = time_to_harm(memory, place, level, now_ms)
    latest_s = None if harm is None else harm.high_s
    return {
        "reaches": inflow.reaches,
        "reaches_mm": round(inflow.height_m * _MM),
        "reached": level.value >= inflow.height_m,
        "reaches_from": None if harm is None or harm.low_s <= 0.0 else _minute(now_ms, harm.low_s),
        "reaches_to": None if not latest_s else _minute(now_ms, latest_s),
    }


def _level_is(memory: BilgeMemory, place: Compartment, level: Seen | None, now_ms: int, deaf_to_ms: int) -> str:
    up_ms = memory.float_up_ms
    if place.bilge.level_sensor is None:
        return "not fitted"
    if level is None:
        return "never heard"
    if now_ms >= level_unbelieved_at(memory, place, deaf_to_ms):
        return "old"
    if up_ms is not None and level.at_ms < up_ms:
        return "before"
    if up_ms is not None and level.value < LIMITS["contradicts_below"] * place.bilge.high_m:
        return "low"
    return "fresh"


def _litres(l_per_h: float | None, hours: float) -> float | None:
    return None if l_per_h is None else round(l_per_h * hours, 1)


def _minute(now_ms: int, seconds: float) -> int:
    return round((now_ms + seconds * SECOND_MS) / MINUTE_MS) * MINUTE_MS
