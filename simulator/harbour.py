"""The harbour's water: its temperature lags weeks behind the air, and it does not go below its own freezing point."""

from math import exp

from simulator.ground import first_days_degc
from simulator.hours import Weather

# A sheltered, shallow basin follows the air with a lag of about two weeks and lies about 2 K above its mean, since sun
# and sea feed it; salt water of 30 g/kg freezes near -1.6 degC. Common practice, no source.
LAG_S = 14 * 86_400.0
ABOVE_AIR_K = 2.0
FREEZES_DEGC = -1.6
# What a basin of the middle latitudes has at the start of November; common practice, no source.
START_DEGC = 13.0
# And how much of the autumn it still holds above the first days' air.
ABOVE_FIRST_AIR_K = 3.5


class Harbour:
    """Water temperature, stepped through the winter."""

    __slots__ = ("_dt_s", "_keep", "water_degc")

    def __init__(self, start_degc: float = START_DEGC) -> None:
        self.water_degc = start_degc
        self._dt_s, self._keep = 0.0, 1.0

    @classmethod
    def before(cls, weather: Weather) -> "Harbour":
        """Give the water as it is when a winter's weather begins."""
        return cls(max(first_days_degc(weather) + ABOVE_FIRST_AIR_K, FREEZES_DEGC))

    def step(self, dt_s: float, outside_degc: float) -> None:
        """Go on by a step under air of a temperature."""
        if dt_s != self._dt_s:
            self._dt_s, self._keep = dt_s, exp(-dt_s / LAG_S)
        aim = outside_degc + ABOVE_AIR_K
        self.water_degc = max(aim + (self.water_degc - aim) * self._keep, FREEZES_DEGC)
