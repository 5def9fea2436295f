"""The harbour's water: its temperature lags weeks behind the air, and it does not go below its own freezing point."""

from math import exp

# A sheltered, shallow basin follows the air with a lag of about two weeks and lies about 2 K above its mean, since sun
# and sea feed it; salt water of 30 g/kg freezes near -1.6 degC. Common practice, no source.
LAG_S = 14 * 86_400.0
ABOVE_AIR_K = 2.0
FREEZES_DEGC = -1.6
# What a basin of the middle latitudes has at the start of November; common practice, no source.
START_DEGC = 13.0


class Harbour:
    """Water temperature, stepped through the winter."""

    __slots__ = ("water_degc",)

    def __init__(self, start_degc: float = START_DEGC) -> None:
        self.water_degc = start_degc

    def step(self, dt_s: float, outside_degc: float) -> None:
        """Go on by a step under air of a temperature."""
        aim = outside_degc + ABOVE_AIR_K
        self.water_degc = max(aim + (self.water_degc - aim) * exp(-dt_s / LAG_S), FREEZES_DEGC)
