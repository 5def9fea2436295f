"""How long the coldest surface of a space has been wet, day by day over a week."""

from dataclasses import dataclass, field

from monitor.rules.damp_limits import LIMITS
from monitor.science.air import settling_point_degc

_WEEK_DAYS = round(LIMITS["week"])
_DAY_HOURS = 24
_LEAST_RH = 1.0
_LEAST_DEGC, _MOST_DEGC = -44.0, 60.0


@dataclass(slots=True)
class WetDay:
    """One day: its number, the hours that were known, and those in which the surface was wet or rimed."""

    day: int
    known_h: int = 0
    wet_h: int = 0


@dataclass(slots=True)
class Surface:
    """What is kept of one space's coldest surface.

    Attributes:
        days: the week's days, oldest first.
        wet: whether it is held to be wet for too long.
        rh, degc, surface_degc, dew_degc: the last hour's means, None before the first.
    """

    days: list[WetDay] = field(default_factory=list)
    wet: bool = False
    rh: float | None = None
    degc: float | None = None
    surface_degc: float | None = None
    dew_degc: float | None = None

    @property
    def wet_h(self) -> int:
        """Hours of the week in which it was wet."""
        return sum(day.wet_h for day in self.days)

    @property
    def known_h(self) -> int:
        """Hours of the week that are known."""
        return sum(day.known_h for day in self.days)


def wet_hour(  # noqa: D417 - the figures are what their names say
    surface: Surface, hour: int, hours: int, *, rh: float, degc: float, outside_degc: float, factor: float
) -> None:
    """Count an hour, or the few that one reading stands for.

    Args:
        hour: its number since 1970.
        hours: how many hours it stands for.
        factor: where the surface lies between outside air (0) and the space's (1).
    """
    surface_degc = outside_degc + factor * (degc - outside_degc)
    within_degc = min(max(degc, _LEAST_DEGC), _MOST_DEGC)
    dew_degc = settling_point_degc(within_degc, min(max(rh, _LEAST_RH), 100.0))
    surface.rh, surface.degc, surface.surface_degc, surface.dew_degc = rh, degc, surface_degc, dew_degc
    number = hour // _DAY_HOURS
    days = surface.days
    if not days or days[-1].day != number:
        days.append(WetDay(number))
        while days[0].day <= number - _WEEK_DAYS:
            del days[0]
    days[-1].known_h += hours
    if surface_degc < dew_degc:
        days[-1].wet_h += hours
    limit = LIMITS["wet_hours"] - (LIMITS["wet_deadband"] if surface.wet else 0.0)
    surface.wet = surface.known_h >= LIMITS["known_hours"] and surface.wet_h >= limit
