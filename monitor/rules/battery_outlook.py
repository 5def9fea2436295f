"""Where a resting battery is going: its charge, its loss a day, the load behind that, and when it wants a charge."""

from dataclasses import dataclass
from math import isinf
from statistics import fmean

from monitor.rules.battery_limits import LIMITS
from monitor.rules.battery_rest import RestPoint
from monitor.rules.rule import DAY_MS
from monitor.science.battery import REFERENCE_DEGC, Chemistry, charge_from_rested_v, decline_pct_per_day
from monitor.science.discharge import (
    days_to_charge,
    excess_load_ma,
    load_pct_per_day,
    self_discharge_pct_per_day,
)
from monitor.science.span import Span
from monitor.science.trend import robust_slope

_SURFACE_MS = LIMITS.ms("surface_gone")
_SHORT_MS, _SHORT_LEAST_MS = LIMITS.ms("short_window"), LIMITS.ms("short_least")
_STEEP_LEAST_MS = LIMITS.ms("steep_least")
_LONG_LEAST_MS = LIMITS.ms("long_least")
_POINTS_LEAST = 4


@dataclass(slots=True)
class Outlook:
    """What rested volts say of a lead-acid battery.

    Attributes:
        at_ms: time of the newest rested figure.
        rest_v: rested volts at 26.7 degC, 12 V basis.
        low_pct, best_pct, high_pct: charge.
        loss_pct_day, loss_most_pct_day: charge lost a day, best and most; None where it is not known yet.
        excess_least_ma, excess_ma: load that neither self-discharge nor the record's budget explains: least and best.
        days_low, days, days_high: days to the recharge threshold; None is open-ended, or not known yet.
    """

    at_ms: int
    rest_v: float
    low_pct: float
    best_pct: float
    high_pct: float
    loss_pct_day: float | None = None
    loss_most_pct_day: float | None = None
    excess_least_ma: float = 0.0
    excess_ma: float = 0.0
    days_low: float | None = None
    days: float | None = None
    days_high: float | None = None


def look_ahead(
    chemistry: Chemistry,
    capacity_ah: float,
    budget_ma: float,
    error_v: float,
    since_ms: int,
    points: list[RestPoint],
    floor_pct: float = LIMITS["recharge"],
) -> Outlook | None:
    """Work out the outlook from the rested points since charge stopped, None where there are none.

    The days are those until it has come down to ``floor_pct``. A load is looked for in the last week, which finds a new
    one soon; the slow fade in the last three, by days.
    """
    if not points:
        return None
    at_ms, rest_v, _ = points[-1]
    charge = charge_from_rested_v(chemistry, rest_v, REFERENCE_DEGC, error_v=error_v)
    best_pct = charge.best_pct if charge.best_pct is not None else charge.low_pct
    outlook = Outlook(at_ms, rest_v, charge.low_pct, best_pct, charge.high_pct)
    settled = [p for p in points if p[0] >= since_ms + _SURFACE_MS]
    week = [p for p in settled if p[0] >= at_ms - _SHORT_MS]
    decline = None
    short = _decline(chemistry, week, _STEEP_LEAST_MS)
    if short is not None and (week[-1][0] - week[0][0] >= _SHORT_LEAST_MS or short.low >= LIMITS["steep"]):
        decline = short
        fade = self_discharge_pct_per_day(chemistry, fmean(t for _, _, t in week))
        excess = excess_load_ma(short, fade, capacity_ah)
        outlook.excess_ma = max(excess.best - budget_ma, 0.0)
        outlook.excess_least_ma = max(excess.low - budget_ma, 0.0)
    if decline is None or load_pct_per_day(outlook.excess_least_ma, capacity_ah) < LIMITS["hidden"]:
        decline = _decline(chemistry, settled[::-2][::-1], _LONG_LEAST_MS)
    if decline is not None:
        outlook.loss_pct_day, outlook.loss_most_pct_day = decline.best, decline.high
        outlook.days_low = _known(days_to_charge(charge.low_pct, floor_pct, decline.high))
        outlook.days = _known(days_to_charge(best_pct, floor_pct, decline.best)) if decline.low > 0.0 else None
        outlook.days_high = _known(days_to_charge(charge.high_pct, floor_pct, decline.low))
    return outlook


def _decline(chemistry: Chemistry, points: list[RestPoint], least_ms: int) -> Span | None:
    if len(points) < _POINTS_LEAST or points[-1][0] - points[0][0] < least_ms:
        return None
    start = points[0][0]
    slope = robust_slope([((at - start) / DAY_MS, v) for at, v, _ in points])
    if slope is None:
        return None
    # The interval is a 95 % one, about two standard errors to either side.
    error = (slope.high - slope.low) / 4.0
    return decline_pct_per_day(chemistry, fmean(v for _, v, _ in points), slope.slope, error)


def _known(days: float) -> float | None:
    return None if isinf(days) else days
