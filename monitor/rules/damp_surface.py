"""The coldest surface of a space: its air, and how long it has been wet, day by day over a week."""

from dataclasses import dataclass, field
from typing import NamedTuple

from monitor.rules.damp_limits import LIMITS
from monitor.science.air import mixing_ratio, rh_at_surface_pct, settling_point_degc

_WEEK_DAYS = round(LIMITS["week"])
_DAY_HOURS = 24
_LEAST_RH = 1.0
_LEAST_DEGC, _MOST_DEGC = -44.0, 60.0
_G_PER_KG = 1000.0


class AirHour(NamedTuple):
    """An hour's means, and what follows from them.

    Attributes:
        hour: its number since 1970.
        hours: how many hours it stands for.
        rh, degc, outside_degc: humidity (%) and temperature of the space, and the temperature outside.
        surface_degc, surface_rh: the coldest surface, and the humidity of the air on it.
        dew_degc: temperature at which the air begins to leave water: dew, or rime below freezing.
        inside_g, outside_most_g: water a kilogram of the space's air holds, and the most that air outside can, g.
    """

    hour: int
    hours: int
    rh: float
    degc: float
    outside_degc: float
    surface_degc: float
    surface_rh: float
    dew_degc: float
    inside_g: float
    outside_most_g: float


def air_hour(hour: int, hours: int, rh: float, degc: float, outside_degc: float, factor: float) -> AirHour:
    """Work out an hour; ``factor`` is where the surface lies between outside air (0) and the space's (1)."""
    rh = min(max(rh, _LEAST_RH), 100.0)
    degc, outside_degc = within_degc(degc), within_degc(outside_degc)
    surface_degc = outside_degc + factor * (degc - outside_degc)
    return AirHour(
        hour=hour,
        hours=hours,
        rh=rh,
        degc=degc,
        outside_degc=outside_degc,
        surface_degc=surface_degc,
        surface_rh=rh_at_surface_pct(degc, rh, surface_degc),
        dew_degc=settling_point_degc(degc, rh),
        inside_g=_G_PER_KG * mixing_ratio(degc, rh),
        outside_most_g=_G_PER_KG * mixing_ratio(outside_degc, 100.0),
    )


def within_degc(degc: float) -> float:
    """Give the nearest temperature that the formulas cover."""
    return min(max(degc, _LEAST_DEGC), _MOST_DEGC)


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
        surface_degc, surface_rh, dew_degc: of the last hour, None before the first.
    """

    days: list[WetDay] = field(default_factory=list)
    wet: bool = False
    surface_degc: float | None = None
    surface_rh: float | None = None
    dew_degc: float | None = None

    @property
    def wet_h(self) -> int:
        """Hours of the week in which it was wet."""
        return sum(day.wet_h for day in self.days)

    @property
    def known_h(self) -> int:
        """Hours of the week that are known."""
        return sum(day.known_h for day in self.days)


def wet_hour(surface: Surface, air: AirHour) -> None:
    """Count an hour, or the few that one reading stands for."""
    surface.surface_degc, surface.surface_rh, surface.dew_degc = air.surface_degc, air.surface_rh, air.dew_degc
    number = air.hour // _DAY_HOURS
    days = surface.days
    if not days or days[-1].day != number:
        days.append(WetDay(number))
        while days[0].day <= number - _WEEK_DAYS:
            del days[0]
    days[-1].known_h += air.hours
    if air.surface_degc < air.dew_degc:
        days[-1].wet_h += air.hours
    limit = LIMITS["wet_hours"] - (LIMITS["wet_deadband"] if surface.wet else 0.0)
    surface.wet = surface.known_h >= LIMITS["known_hours"] and surface.wet_h >= limit
