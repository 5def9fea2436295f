"""The ground that boats ashore stand on: it lags behind the air, and lets short spells through only in part."""

from math import exp
from statistics import fmean

from simulator.hours import Weather

DAY_S = 86_400.0
# Soil at 0.3 m with a diffusivity of 0.5e-6 m2/s (Hillel, *Introduction to Soil Physics*, 1982: a wave of period P is
# damped by exp(-z / d) and delayed by z / d rad, d = sqrt(diffusivity P / pi)), put together from two lags: within 0.1
# of its swing and 0.2 rad of its delay for waves of a day, ten days and a year. That it freezes is left out.
QUICK_SHARE = 0.4
QUICK_S, SLOW_S = 0.8 * DAY_S, 12 * DAY_S
# What ground of the middle latitudes has at the start of November; common practice, no source.
START_DEGC = 11.0
# The lag keeps some of the autumn: in the fortnights before, the air was this much warmer (common practice, no source).
ABOVE_FIRST_AIR_K = 1.5


class Ground:
    """Temperature of the ground, stepped through the winter.

    Attributes:
        ground_degc: where it meets what stands on it.
    """

    __slots__ = ("_dt_s", "_quick_degc", "_quick_keep", "_slow_degc", "_slow_keep", "ground_degc")

    def __init__(self, start_degc: float = START_DEGC) -> None:
        self.ground_degc = self._quick_degc = self._slow_degc = start_degc
        self._dt_s = 0.0
        self._quick_keep = self._slow_keep = 1.0

    @classmethod
    def before(cls, weather: Weather) -> "Ground":
        """Give the ground as it is when a winter's weather begins."""
        return cls(first_days_degc(weather) + ABOVE_FIRST_AIR_K)

    def step(self, dt_s: float, outside_degc: float) -> None:
        """Go on by a step under air of a temperature."""
        if dt_s != self._dt_s:
            self._dt_s = dt_s
            self._quick_keep, self._slow_keep = exp(-dt_s / QUICK_S), exp(-dt_s / SLOW_S)
        self._quick_degc = outside_degc + (self._quick_degc - outside_degc) * self._quick_keep
        self._slow_degc = outside_degc + (self._slow_degc - outside_degc) * self._slow_keep
        self.ground_degc = QUICK_SHARE * self._quick_degc + (1 - QUICK_SHARE) * self._slow_degc


def first_days_degc(weather: Weather) -> float:
    """Give the mean of the first ten days of a winter's air."""
    return fmean(h.outside_degc for h in weather.hours[:240])
