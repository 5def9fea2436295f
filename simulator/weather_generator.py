"""Weather made up from a seed: a coastal winter of the middle latitudes with cold spells, thaws, gales and rain.

Temperature is a yearly and a daily cycle, and on them two autoregressive processes: a slow one of several days, which
is the cold spells and thaws, and a quick one of some hours. Wet weather is a chain of two states that follows mild,
moist air. The figures are fitted to the statistics of the shipped winter (JFK, see `simulator.weather`), and a test
compares the two.
"""

from dataclasses import dataclass
from datetime import UTC, datetime
from math import cos, exp, pi, sqrt
from random import Random

from simulator.weather import HOUR_MS, Hour, Weather

YEAR_H = 365.25 * 24
# Yearly cycle: mean, half swing, and the hour of the year that is coldest (2 February). Fitted.
MEAN_DEGC, YEAR_K, COLDEST_H = 9.9, 8.7, 32 * 24
# Daily cycle: half swing and the hour (UTC) that is warmest. Fitted.
DAY_K, WARMEST_H = 1.8, 18.5
RAIN_MM_H = 1.2
RAIN_DEPRESSION_K = 1.7


@dataclass(slots=True)
class Wander:
    """A first-order autoregressive process, hourly: mean 0, a standard deviation, a memory in hours."""

    deviation: float
    memory_h: float
    value: float = 0.0

    def step(self, random: Random) -> float:
        """Go on by an hour."""
        keep = exp(-1 / self.memory_h)
        self.value = keep * self.value + self.deviation * sqrt(1 - keep * keep) * random.gauss(0, 1)
        return self.value


def generate(seed: int, begins: datetime, ends: datetime) -> Weather:
    """Make up the weather of the whole hours from one time to another.

    Args:
        seed: the same seed gives the same weather.
        begins: first hour.
        ends: last hour.
    """
    random = Random(f"weather/{seed}")
    spells, quick = Wander(4.2, 34.0), Wander(0.9, 10.0)
    moist, gusty, pressure = Wander(0.85, 18.0), Wander(0.48, 14.0), Wander(8.6, 40.0)
    for wander in (spells, quick, moist, gusty, pressure):
        wander.value = random.gauss(0, wander.deviation)
    hours = []
    wet = False
    begins_ms, ends_ms = (round(t.astimezone(UTC).timestamp()) * 1000 for t in (begins, ends))
    for at_ms in range(begins_ms, ends_ms + 1, HOUR_MS):
        at = datetime.fromtimestamp(at_ms / 1000, UTC)
        hour_of_year = (at - datetime(at.year, 1, 1, tzinfo=UTC)).total_seconds() / 3600
        mild = spells.step(random) + quick.step(random)
        degc = (
            MEAN_DEGC
            - YEAR_K * cos(2 * pi * (hour_of_year - COLDEST_H) / YEAR_H)
            + DAY_K * cos(2 * pi * (at.hour - WARMEST_H) / 24)
            + mild
        )
        dry = moist.step(random) - 0.08 * mild
        wet = random.random() < (0.76 if wet else min(0.0135 * exp(-1.2 * dry), 0.5))
        rain_mm = random.expovariate(1 / RAIN_MM_H) if wet else 0.0
        depression = RAIN_DEPRESSION_K * random.uniform(0.6, 1.4) if wet else 7.2 * exp(0.55 * dry)
        hours.append(
            Hour(
                at_ms,
                degc,
                degc - depression,
                5.0 * exp(gusty.step(random) - 0.02),
                rain_mm,
                1018.4 + pressure.step(random) - 0.4 * mild,
            )
        )
    return Weather(hours)
