"""Outdoor weather, hour by hour, which can be asked for at any time."""

from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

HOUR_MS = 3_600_000


class Hour(NamedTuple):
    """The weather at one time. A tuple, because a winter makes one of it at every step.

    Attributes:
        at_ms: time, ms UTC.
        outside_degc: air temperature.
        dew_point_degc: dew point over water, also below zero.
        wind_m_s: mean wind.
        rain_mm: what fell in the hour before ``at_ms``, as water.
        pressure_hpa: air pressure at sea level.
        sun_w_m2: what sun and sky give a level square metre (global horizontal irradiance).
    """

    at_ms: int
    outside_degc: float
    dew_point_degc: float
    wind_m_s: float
    rain_mm: float
    pressure_hpa: float
    sun_w_m2: float = 0.0


class Weather:
    """A run of whole hours without gaps, which can be asked for any time within it."""

    __slots__ = ("from_ms", "hours", "to_ms")

    def __init__(self, hours: Sequence[Hour]) -> None:
        if len(hours) < 2:
            raise ValueError(f"weather: {len(hours)} hours given; at least 2 are needed")
        for a, b in pairwise(hours):
            if b.at_ms - a.at_ms != HOUR_MS:
                raise ValueError(f"weather: {b.at_ms} ms follows {a.at_ms} ms; hours must follow each other")
        self.hours = tuple(hours)
        self.from_ms = hours[0].at_ms
        self.to_ms = hours[-1].at_ms

    def at(self, at_ms: int) -> Hour:
        """Give the weather at a time, in a straight line between the hours.

        The rain is what would fall in an hour at the rate of the hour that ``at_ms`` lies in.
        """
        if not self.from_ms <= at_ms <= self.to_ms:
            raise ValueError(f"weather: {at_ms} ms lies outside {self.from_ms} to {self.to_ms} ms")
        n, rest_ms = divmod(at_ms - self.from_ms, HOUR_MS)
        if rest_ms == 0:
            return self.hours[n]
        return between(self.hours[n], self.hours[n + 1], at_ms, self.hours[n + 1].rain_mm)


def between(a: Hour, b: Hour, at_ms: int, rain_mm: float) -> Hour:
    """Give the weather between two times in a straight line; rain does not interpolate, and is given."""
    from_ms, degc, dew_degc, wind_m_s, _, hpa, w_m2 = a
    to_ms, then_degc, then_dew_degc, then_wind_m_s, _, then_hpa, then_w_m2 = b
    share = (at_ms - from_ms) / (to_ms - from_ms)
    return Hour(
        at_ms,
        degc + share * (then_degc - degc),
        dew_degc + share * (then_dew_degc - dew_degc),
        wind_m_s + share * (then_wind_m_s - wind_m_s),
        rain_mm,
        hpa + share * (then_hpa - hpa),
        w_m2 + share * (then_w_m2 - w_m2),
    )
