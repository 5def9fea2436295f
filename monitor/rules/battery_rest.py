"""When a battery's volts may be called rested, and what they were: one figure each half-day.

Rested means not on charge (no higher than a full battery can show), long enough after charge stopped, and not rising
any more. Each half-day's median at 26.7 degC becomes one point: noise, a pump's dips and the day's warmth fall out.
"""

from dataclasses import dataclass, field
from statistics import median

from monitor.rules.battery_limits import LIMITS
from monitor.rules.recent import Recent, remember, slope_per_hour
from monitor.rules.rule import HOUR_MS
from monitor.science.battery import Chemistry, Rest, rest_of, rested_v_at_reference, rested_v_from_charge

_POINT_MS = LIMITS.ms("point_every")
_WINDOW_MS = LIMITS.ms("long_window")
_SPACING_MS = LIMITS.ms("spacing")
_SLOPE_MS = LIMITS.ms("slope_over")
_EMPTY_MS = LIMITS.ms("empty_over")
_RESTED_MS = LIMITS.ms("rested_after")
_SETTLED_MS = LIMITS.ms("settled_after")
_REFERENCE_DEGC = 26.7
# Two readings running, so that one spike does not throw the trend away.
_CHARGING_READINGS = 2
# What the correction for temperature covers.
_MOST_V = 13.5

RestPoint = tuple[int, float, float]
"""Time (ms), volts at 26.7 degC (12 V basis), battery temperature (degC)."""


@dataclass(slots=True)
class Resting:
    """What is kept of one battery's rest. Volts are on the 12 V basis.

    Attributes:
        since_ms: when charge last stopped, or when it was first heard.
        charging: readings running that stood above what rest can show.
        recent: the last hours as they came.
        half_day: number of the half-day under way.
        half: its volts at 26.7 degC, spaced.
        half_ms: time of the last of them.
        points: finished half-days, oldest first.
    """

    since_ms: int | None = None
    charging: int = 0
    recent: Recent = field(default_factory=Recent)
    half_day: int = 0
    half: list[float] = field(default_factory=list)
    half_ms: int = 0
    points: list[RestPoint] = field(default_factory=list)


def charging_from_v(chemistry: Chemistry) -> float:
    """Give the volts (12 V basis) above which a battery is on charge, or was a moment ago."""
    if chemistry is Chemistry.LIFEPO4:
        return LIMITS["float"] + LIMITS["charging_room"]
    return rested_v_from_charge(chemistry, 100.0, _REFERENCE_DEGC) + LIMITS["charging_room"]


def rest(resting: Resting, at_ms: int, v: float, t_degc: float, charging_v: float) -> bool:
    """Take volts in.

    Returns:
        True where the points have changed: a half-day was finished, or charging has put an end to them.
    """
    if resting.since_ms is None:
        resting.since_ms = at_ms
    if v >= charging_v:
        resting.charging += 1
        if resting.charging < _CHARGING_READINGS:
            return False
        changed = bool(resting.points)
        resting.since_ms = at_ms
        resting.recent.points.clear()
        resting.half.clear()
        resting.points.clear()
        return changed
    resting.charging = 0
    half_day = at_ms // _POINT_MS
    finished = half_day != resting.half_day and _finish(resting, t_degc)
    resting.half_day = half_day
    remember(resting.recent, at_ms, v, span_ms=_SLOPE_MS, spacing_ms=_SPACING_MS)
    if not resting.half or at_ms - resting.half_ms >= _SPACING_MS:
        resting.half.append(rested_v_at_reference(min(v, _MOST_V), t_degc))
        resting.half_ms = at_ms
    return finished


def median_v(resting: Resting) -> float | None:
    """Give the median of the last few hours' volts as they came, None where there are none."""
    points = resting.recent.points
    return median(v for at, v in points if at >= points[-1][0] - _EMPTY_MS) if points else None


def _finish(resting: Resting, t_degc: float) -> bool:
    half, resting.half = resting.half, []
    if not half or resting.since_ms is None:
        return False
    middle_ms = resting.half_day * _POINT_MS + _POINT_MS // 2
    rested_ms = middle_ms - resting.since_ms
    if rested_ms < _RESTED_MS:
        return False
    if rested_ms < _SETTLED_MS:
        # Volts that still settle downwards show too much charge, which hides no harm; rising ones show too little.
        slope = slope_per_hour(resting.recent, at_least_ms=_SLOPE_MS // 2)
        if rest_of(rested_ms / HOUR_MS, slope) is Rest.SETTLING and (slope is None or slope > 0.0):
            return False
    points = resting.points
    points.append((middle_ms, median(half), t_degc))
    while points[0][0] < middle_ms - _WINDOW_MS:
        del points[0]
    return True
