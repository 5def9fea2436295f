"""Heat without drying: she is kept warm, the air looks dry, and the water is all still there.

Warming lowers the relative humidity and takes no water out. Where the air inside holds about as much as air outside
can hold at most, nothing dries her, however low the humidity reads; and the coldest surface, which the heat hardly
reaches, is then damp enough for mould.
"""

from dataclasses import dataclass, field

from monitor.rules.damp_limits import LIMITS
from monitor.rules.damp_surface import AirHour

_WINDOW_H = round(LIMITS["heat_window"])


@dataclass(slots=True)
class HeatedHour:
    """One hour that counts: its number, how many it stands for, and how much warmer it was inside, K."""

    hour: int
    hours: int
    warmer_k: float


@dataclass(slots=True)
class Heating:
    """What is kept of one space: the hours of the last two days that count, and whether it is held to be so."""

    window: list[HeatedHour] = field(default_factory=list)
    undried: bool = False

    @property
    def hours(self) -> int:
        """Hours of the last two days that count."""
        return sum(h.hours for h in self.window)

    @property
    def warmer_k(self) -> float:
        """How much warmer it was inside in those hours, K."""
        return sum(h.hours * h.warmer_k for h in self.window) / max(self.hours, 1)


def heat_hour(heating: Heating, air: AirHour) -> None:
    """Take an hour in."""
    window = heating.window
    while window and window[0].hour <= air.hour - _WINDOW_H:
        del window[0]
    warmer_k = air.degc - air.outside_degc
    if (
        warmer_k >= LIMITS["heat_warmer"]
        and air.rh <= LIMITS["heat_rh"]
        and air.inside_g >= LIMITS["heat_undried"] * air.outside_most_g
        and air.surface_rh >= LIMITS["mould_rh"]
    ):
        window.append(HeatedHour(air.hour, air.hours, warmer_k))
    heating.undried = heating.hours >= LIMITS["heat_hours"] - (LIMITS["heat_deadband"] if heating.undried else 0.0)
