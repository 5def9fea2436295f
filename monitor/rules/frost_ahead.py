"""The coldest that a space comes to: its own lag, driven by the air that is foretold, with a low and a high estimate.

The space is one lag behind outside air plus a steady gain, fitted to this boat's own readings. What is only
approximated: a hull afloat is held warm by water of its own temperature, which a steady gain over air stands in for, so
that after a sharp fall the fit reads too cold, and after a slow one too warm by up to some kelvin; two coupled spaces
are taken for one; sun, and a heater that stops, are not known.
"""

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from math import exp
from typing import NamedTuple

from monitor.rules.frost_limits import LIMITS
from monitor.rules.frost_outside import SLOPE, Ahead
from monitor.science.cooling import LagFit, lag_of


class Path:
    """A temperature from now on, straight between its points."""

    __slots__ = ("degc", "hours")

    def __init__(self, hours: Sequence[float], degc: Sequence[float]) -> None:
        self.hours, self.degc = hours, degc

    def low(self, hours: float) -> tuple[float, float]:
        """Give the lowest up to a time, or as far as it goes, and when it is first there (h)."""
        lowest = self.lowest_to(hours)
        n = bisect_right(self.hours, hours)
        return lowest, self.hours[self.degc.index(lowest)] if lowest in self.degc[:n] else hours

    def lowest_to(self, hours: float) -> float:
        """Give the lowest up to a time, or as far as it goes."""
        n = bisect_right(self.hours, hours)
        lowest = min(self.degc[:n])
        if n == len(self.hours):
            return lowest
        before_h, before_degc = self.hours[n - 1], self.degc[n - 1]
        slope = (self.degc[n] - before_degc) / (self.hours[n] - before_h)
        return min(lowest, before_degc + slope * (hours - before_h))

    def first_below(self, degc: float) -> float | None:
        """Give the hours until it is first at or below a temperature; None if never."""
        if min(self.degc) > degc:
            return None
        n = next(n for n, here in enumerate(self.degc) if here <= degc)
        if n == 0:
            return 0.0
        before_h, before_degc = self.hours[n - 1], self.degc[n - 1]
        return before_h + (self.hours[n] - before_h) * (before_degc - degc) / (before_degc - self.degc[n])


@dataclass(frozen=True, slots=True)
class Follows:
    """How a space follows outside air: time constants (h), the fastest, best and slowest; gain and error (K)."""

    fast_h: float
    best_h: float
    slow_h: float
    gain_k: float
    error_k: float
    fitted: bool


class Low(NamedTuple):
    """The coldest within a horizon: low, best and high estimate, and the hours to the best one."""

    low_degc: float
    degc: float
    high_degc: float
    hours: float


@dataclass(frozen=True, slots=True)
class Outlook:
    """One thermometer's temperatures from now on.

    Attributes:
        by: what it was foretold by: ``forecast``, ``daily cycle`` or ``slope``.
        low: low estimate; it begins at what is measured now.
        best: best estimate.
        high: high estimate.
        lag_h: the fitted time constant, None where none was used.
    """

    by: str
    low: Path
    best: Path
    high: Path
    lag_h: float | None

    @property
    def reach_h(self) -> float:
        """How far it looks, h."""
        return self.best.hours[-1]

    def within(self, hours: float) -> Low:
        """Give the coldest up to a horizon, or as far as it looks."""
        best_degc, at_h = self.best.low(hours)
        low_degc, high_degc = self.low.lowest_to(hours), self.high.lowest_to(hours)
        return Low(min(low_degc, best_degc), best_degc, max(high_degc, best_degc), at_h)


def follows(fit: LagFit | None, *, afloat: bool) -> Follows:
    """Say how a space follows outside air: as fitted, within what is believable, else as such spaces usually do."""
    error_k = LIMITS["lag_error_afloat"] if afloat else LIMITS["lag_error_ashore"]
    lag = None if fit is None else lag_of(fit)
    longest = LIMITS["lag_longest"]
    if lag is None or lag.time_constant_h.low > longest:
        return Follows(LIMITS["lag_shortest"], LIMITS["lag_usual"], longest, 0.0, error_k, fitted=False)
    fast, best, slow = (min(max(hours, 0.01), longest) for hours in lag.time_constant_h)
    gain_k = min(max(lag.gain_k, LIMITS["gain_least"]), LIMITS["gain_most"])
    return Follows(fast, best, slow, gain_k, error_k, fitted=True)


def space_ahead(now_degc: float, air: Ahead, space: Follows) -> Outlook:
    """Foretell a space that lags behind outside air."""
    hours, degc, gain_k, error_k = air.hours, air.degc, space.gain_k, space.error_k
    spread = [_RANGE * e for e in air.error_k]
    low = walk(now_degc, hours, [t - e for t, e in zip(degc, spread, strict=True)], space.fast_h, gain_k)
    best = walk(now_degc, hours, degc, space.best_h, gain_k)
    high = walk(now_degc, hours, [t + e for t, e in zip(degc, spread, strict=True)], space.slow_h, gain_k)
    low, high = [t - error_k for t in low], [t + error_k for t in high]
    low[0] = high[0] = now_degc
    return Outlook(
        air.by, Path(hours, low), Path(hours, best), Path(hours, high), space.best_h if space.fitted else None
    )


def outside_ahead(now_degc: float, air: Ahead) -> Outlook:
    """Foretell what is judged by the outside air itself, with no space round it to hold it warm."""
    low, best, high = (
        [t + share * LIMITS["range"] * e for t, e in zip(air.degc, air.error_k, strict=True)] for share in (-1, 0, 1)
    )
    low[0] = best[0] = high[0] = now_degc
    return Outlook(air.by, Path(air.hours, low), Path(air.hours, best), Path(air.hours, high), None)


def slope_ahead(now_degc: float, fall_k_per_h: float) -> Outlook:
    """Carry the fall of the last hours on for some more; ``fall_k_per_h`` is 0 or negative."""
    carried, error = LIMITS["carried"], LIMITS["slope_error"]
    hours = (0.0, carried)
    low, best, high = (
        Path(hours, (now_degc, now_degc + share * fall_k_per_h * carried)) for share in (1 + error, 1.0, 1 - error)
    )
    return Outlook(SLOPE, low, best, high, None)


def walk(
    inside_degc: float, hours: Sequence[float], outside_degc: Sequence[float], time_constant_h: float, gain_k: float
) -> list[float]:
    """Follow one lag along outside air that goes in straight lines, exact at each of its points.

    It is `monitor.science.cooling.lag_step_degc` from point to point, without its checks: it runs some hundred times a
    judgement. A minimum between two points an hour apart is missed by less than 0.1 K.
    """
    followed = []
    before_h, before_degc = hours[0], outside_degc[0]
    above_k = inside_degc - gain_k
    lag_steps = kept = known_h = 0.0
    for ahead_h, degc in zip(hours, outside_degc, strict=True):
        step_h = ahead_h - before_h
        if step_h > 0.0:
            if abs(step_h - known_h) > _SAME_H:  # most steps are an hour, or two
                lag_steps, kept, known_h = time_constant_h / step_h, exp(-step_h / time_constant_h), step_h
            behind_k = (degc - before_degc) * lag_steps
            above_k = degc - behind_k + (above_k - before_degc + behind_k) * kept
        followed.append(above_k + gain_k)
        before_h, before_degc = ahead_h, degc
    return followed


_RANGE = LIMITS["range"]
_SAME_H = 1e-9
