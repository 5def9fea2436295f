"""Outdoor weather, hour by hour: read from a file, its gaps filled, and asked for at any time."""

import csv
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from itertools import pairwise
from pathlib import Path

HOUR_MS = 3_600_000
JFK_2013 = Path(__file__).parent / "data" / "jfk-2013-winter.csv"

# Sea-level pressure where the record has none: the mean of the rows that have one in the shipped winter.
_USUAL_PRESSURE_HPA = 1018.4


@dataclass(frozen=True, slots=True)
class Hour:
    """The weather at one time.

    Attributes:
        at_ms: time, ms UTC.
        outside_degc: air temperature.
        dew_point_degc: dew point over water, also below zero.
        wind_m_s: mean wind.
        rain_mm: what fell in the hour before ``at_ms``, as water.
        pressure_hpa: air pressure at sea level.
    """

    at_ms: int
    outside_degc: float
    dew_point_degc: float
    wind_m_s: float
    rain_mm: float
    pressure_hpa: float


class Weather:
    """A run of whole hours without gaps, which can be asked for any time within it."""

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
    share = (at_ms - a.at_ms) / (b.at_ms - a.at_ms)
    return Hour(
        at_ms,
        a.outside_degc + share * (b.outside_degc - a.outside_degc),
        a.dew_point_degc + share * (b.dew_point_degc - a.dew_point_degc),
        a.wind_m_s + share * (b.wind_m_s - a.wind_m_s),
        rain_mm,
        a.pressure_hpa + share * (b.pressure_hpa - a.pressure_hpa),
    )


def fill(hours: Iterable[Hour]) -> list[Hour]:
    """Fill missing hours in a straight line between their neighbours, dry."""
    filled: list[Hour] = []
    for hour in hours:
        while filled and hour.at_ms - filled[-1].at_ms > HOUR_MS:
            filled.append(between(filled[-1], hour, filled[-1].at_ms + HOUR_MS, 0.0))
        filled.append(hour)
    return filled


def load(path: Path = JFK_2013) -> Weather:
    """Load weather from a CSV of `simulator.make_jfk`'s columns, and fill its gaps.

    Lines that begin with ``#`` are comments. A pressure that is missing becomes the winter's usual one: nothing here
    depends on it strongly.
    """
    with path.open(encoding="utf-8") as lines:
        rows = csv.DictReader(line for line in lines if not line.startswith("#"))
        return Weather(fill(_hour(row) for row in rows))


def _hour(row: dict[str, str]) -> Hour:
    at = datetime.fromisoformat(row["time"]).astimezone(UTC)
    return Hour(
        at_ms=round(at.timestamp()) * 1000,
        outside_degc=float(row["outside_degc"]),
        dew_point_degc=float(row["dew_point_degc"]),
        wind_m_s=float(row["wind_m_s"]),
        rain_mm=float(row["rain_mm"]),
        pressure_hpa=float(row["pressure_hpa"] or _USUAL_PRESSURE_HPA),
    )
