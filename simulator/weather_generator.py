"""Weather made up from a seed and a climate: cold spells and thaws, clear and cloudy days, rain, gales.

Temperature is a yearly cycle, a winter of its own, a slow wander that is the spells, and a daily swing that clouds
hold down. Wet weather is a chain of two states that follows mild, moist air and gales; wind is Weibull with gales on
it; the sun is a clear sky's behind clouds that follow the moisture. A test compares the climates that were fitted with
the real winters they were fitted to.
"""

from datetime import UTC, datetime
from math import cos, exp, pi
from random import Random

from simulator.climates import COASTAL, Climate
from simulator.hours import HOUR_MS, Hour, Weather
from simulator.sun import Sky
from simulator.weather_chance import Gales, SmoothWander, Wander, day_shape, weibull

# The Gregorian year's mean; 1970 began at 0.
YEAR_MS = 365.2425 * 24 * HOUR_MS
# How far the dew point lies below the air in rain: the mean of the shipped winter's wet hours is 1.7 K.
RAIN_DEPRESSION_K = 1.7
# Mild air is moister and its pressure lower; fitted to the shipped winter.
MOISTER_PER_K = 0.08
LOWER_HPA_PER_K = 0.4
# A gale brings moist air and a low; invented.
GALE_MOISTER = 1.2
GALE_LOWER_HPA = 12.0
# The swing of a day follows the sky with this lag; invented.
SKY_LAG_H = 5.0


class _Climate:
    """A climate as it goes on, hour by hour."""

    __slots__ = (
        "_clear",
        "_climate",
        "_gales",
        "_gusts",
        "_moist",
        "_pressure",
        "_quick",
        "_random",
        "_sky",
        "_spells",
        "_wet",
        "_winter_k",
    )

    def __init__(self, climate: Climate, random: Random) -> None:
        self._climate, self._random = climate, random
        self._winter_k = random.gauss(0, climate.winters_k)
        self._spells = SmoothWander(climate.spells_k, climate.spells_h, climate.turn_h, random)
        self._quick = Wander(climate.quick_k, climate.quick_h, random)
        self._moist = Wander(0.85, climate.moist_h, random)
        self._gusts = Wander(1.0, climate.wind_h, random)
        self._pressure = SmoothWander(climate.pressure_spread_hpa, 24.0, 8.0, random)
        self._gales = Gales(climate.gales_a_month, climate.gale_m_s, climate.gale_h, random)
        self._sky = Sky(climate.place)
        self._clear = 1 - climate.cloud
        self._wet = False

    def step(self, at_ms: int) -> Hour:
        """Give the hour, which follows the one before."""
        climate = self._climate
        gale, gale_m_s = self._gales.step()
        mild = self._spells.step()
        # Leaves the mean as it is, and lets cold spells reach further than thaws.
        mild -= climate.cold_tail * (mild * mild / climate.spells_k - climate.spells_k)
        dry = self._moist.step() - MOISTER_PER_K * mild - GALE_MOISTER * gale
        rain_mm = self._rain_mm(dry)
        cloud = 1.0 if self._wet else _cloud(climate.cloud, dry)
        degc = self._degc(at_ms, mild, cloud)
        return Hour(
            at_ms,
            degc,
            degc - self._depression_k(dry),
            weibull(self._gusts.step(), climate.wind_m_s, climate.wind_shape) + gale_m_s,
            rain_mm,
            climate.pressure_hpa + self._pressure.step() - LOWER_HPA_PER_K * mild - GALE_LOWER_HPA * gale,
            # Kasten and Czeplak, Solar Energy 24 (1980): 1 - 0.75 cover^3.4 of what a clear sky gives.
            self._sky.clear_w_m2(at_ms) * (1 - 0.75 * cloud**3.4),
        )

    def _degc(self, at_ms: int, mild: float, cloud: float) -> float:
        climate = self._climate
        self._clear += (1 - cloud - self._clear) / SKY_LAG_H
        year = cos(2 * pi * (at_ms / YEAR_MS - climate.coldest_day / 365.2425))
        sun_h = (at_ms / HOUR_MS + climate.longitude_deg / 15) % 24
        day = climate.day_k * self._clear * day_shape(sun_h)
        return climate.mean_degc + self._winter_k - climate.year_k * year + mild + self._quick.step() + day

    def _rain_mm(self, dry: float) -> float:
        climate, random = self._climate, self._random
        chance = climate.wet_stays if self._wet else min(climate.wet_starts * exp(-1.2 * dry), 0.5)
        self._wet = random.random() < chance
        return random.expovariate(1 / climate.rain_mm_h) if self._wet else 0.0

    def _depression_k(self, dry: float) -> float:
        climate = self._climate
        if self._wet:
            return RAIN_DEPRESSION_K * self._random.uniform(0.6, 1.4)
        return climate.depression_k * exp(climate.moist_spread / 0.85 * dry)


def _cloud(usual: float, dry: float) -> float:
    """Give the sky cover: at usual moisture the usual, less in dry air, more in moist (a logistic curve; invented)."""
    odds = (usual + 0.01) / (1.01 - usual) * exp(-1.5 * dry)
    return odds / (1 + odds)


def generate(seed: int, begins: datetime, ends: datetime, climate: Climate = COASTAL) -> Weather:
    """Make up the weather of the whole hours from one time to another.

    Args:
        seed: the same seed gives the same weather.
        begins: first hour.
        ends: last hour.
        climate: what the weather is like there.
    """
    going = _Climate(climate, Random(f"weather/{climate.name}/{seed}"))
    begins_ms, ends_ms = (round(t.astimezone(UTC).timestamp()) * 1000 for t in (begins, ends))
    return Weather([going.step(at_ms) for at_ms in range(begins_ms, ends_ms + 1, HOUR_MS)])
