"""What is outside all boats of a yard alike."""

from dataclasses import dataclass

from simulator.hours import Hour
from simulator.vapour import saturation_pa


@dataclass(frozen=True, slots=True)
class Outside:
    """What is outside all boats alike at the end of a step.

    Attributes:
        hour: the weather.
        vapour_pa: vapour pressure of the outside air.
        water_degc: the harbour's water.
        ground_degc: the ground under those who stand ashore, None where it is not reckoned.
    """

    hour: Hour
    vapour_pa: float
    water_degc: float
    ground_degc: float | None = None

    @classmethod
    def of(cls, hour: Hour, water_degc: float, ground_degc: float | None = None) -> "Outside":
        """Work out the vapour pressure once for all boats."""
        return cls(hour, saturation_pa(hour.dew_point_degc), water_degc, ground_degc)
