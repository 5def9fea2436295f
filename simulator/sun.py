"""Where the sun stands, what a clear sky lets through, and what a sky nobody measured lets through on a day."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from math import acos, cos, exp, pi, radians, sin, sqrt, tan

from simulator.hours import HOUR_MS, Hour, Weather

DAY_MS = 24 * HOUR_MS
SOLAR_CONSTANT_W_M2 = 1361.0
# Hargreaves and Samani 1982, as FAO Irrigation and Drainage Paper 56 (1998), eq. 50: 0.16 inland, 0.19 by the sea.
COAST_PER_SQRT_K = 0.19


@dataclass(frozen=True, slots=True)
class Place:
    """Where on Earth.

    Attributes:
        latitude_deg: north positive.
        longitude_deg: east positive.
    """

    latitude_deg: float
    longitude_deg: float


JFK = Place(40.64, -73.78)


def day_angle(at_ms: int) -> float:
    """Give how far the year has gone, in radians: 0 at the start of 1 January."""
    at = datetime.fromtimestamp(at_ms / 1000, UTC)
    return 2 * pi * (at - datetime(at.year, 1, 1, tzinfo=UTC)).total_seconds() / (365 * 86_400)


def declination_rad(angle: float) -> float:
    """Give the sun's declination, rad, from the day angle; good to 0.0006 rad.

    Spencer, *Fourier series representation of the position of the sun*, Search 2 (1971).
    """
    return (
        0.006918
        - 0.399912 * cos(angle)
        + 0.070257 * sin(angle)
        - 0.006758 * cos(2 * angle)
        + 0.000907 * sin(2 * angle)
        - 0.002697 * cos(3 * angle)
        + 0.00148 * sin(3 * angle)
    )


def equation_of_time_min(angle: float) -> float:
    """Give how many minutes the sun is ahead of the clock, from the day angle; good to 0.6 min (Spencer 1971)."""
    return 229.18 * (
        0.000075 + 0.001868 * cos(angle) - 0.032077 * sin(angle) - 0.014615 * cos(2 * angle) - 0.040849 * sin(2 * angle)
    )


class Sky:
    """The sun over one place. The slow terms are worked out once a day, since hours are asked in their order."""

    __slots__ = ("_day", "_level", "_noon_ms", "_swing", "place")

    def __init__(self, place: Place) -> None:
        self.place = place
        self._day = -1
        self._level = self._swing = self._noon_ms = 0.0

    def height(self, at_ms: int) -> float:
        """Give the sine of the sun's elevation (spherical astronomy; refraction is left out); below 0 it is night.

        ``sin h = sin(lat) sin(decl) + cos(lat) cos(decl) cos(hour angle)``
        """
        day = at_ms // DAY_MS
        if day != self._day:
            self._day = day
            middle_ms = day * DAY_MS + DAY_MS // 2
            angle = day_angle(middle_ms)
            declination, latitude = declination_rad(angle), radians(self.place.latitude_deg)
            self._level = sin(latitude) * sin(declination)
            self._swing = cos(latitude) * cos(declination)
            ahead_min = equation_of_time_min(angle) + 4.0 * self.place.longitude_deg
            self._noon_ms = middle_ms - ahead_min * 60_000
        return self._level + self._swing * cos(2 * pi * (at_ms - self._noon_ms) / DAY_MS)

    def clear_w_m2(self, at_ms: int) -> float:
        """Give the global horizontal irradiance under a clear sky.

        ``1098 cos z exp(-0.059 / cos z)`` (Haurwitz, *Insolation in relation to cloudiness and cloud density*,
        J. Meteorology 2, 1945); about 10 % low or high by the day's haze.
        """
        height = self.height(at_ms)
        return 1098.0 * height * exp(-0.059 / height) if height > 0 else 0.0


def outer_w_m2(place: Place, at_ms: int) -> float:
    """Give a day's mean irradiance on a level square metre above the air (FAO 56, eq. 21); for latitudes to 66 deg."""
    angle = day_angle(at_ms)
    latitude, declination = radians(place.latitude_deg), declination_rad(angle)
    sunset = acos(max(-1.0, min(1.0, -tan(latitude) * tan(declination))))
    nearness = 1 + 0.033 * cos(angle)
    turned = sunset * sin(latitude) * sin(declination) + cos(latitude) * cos(declination) * sin(sunset)
    return SOLAR_CONSTANT_W_M2 * nearness / pi * turned


def with_estimated_sun(weather: Weather, place: Place) -> Weather:
    """Give weather whose record has no sun the sun that its temperatures tell of, day by day.

    A clear day swings further between night and noon. Hargreaves and Samani 1982: a day's sun is
    ``0.19 sqrt(warmest - coldest)`` of what lies above the air, here spread over the day as a clear sky would be and
    at most that. Good to some 20 % of a month, and to half of a single day (FAO 56 gives no figure; from memory).
    """
    sky = Sky(place)
    clear = [sky.clear_w_m2(h.at_ms) for h in weather.hours]
    made: list[Hour] = []
    for day in _days(weather.hours, place):
        degc = [h.outside_degc for h in day]
        under_clear = clear[len(made) : len(made) + len(day)]
        whole = max(sum(under_clear) / 24, 1e-9)
        aim = COAST_PER_SQRT_K * sqrt(max(degc) - min(degc)) * outer_w_m2(place, day[len(day) // 2].at_ms)
        # A day that is cut short by the record's end has neither its swing nor its sun whole.
        share = min(aim / whole, 1.0) if len(day) == 24 else 0.5
        made.extend(h._replace(sun_w_m2=share * w_m2) for h, w_m2 in zip(day, under_clear, strict=True))
    return Weather(made)


def _days(hours: Sequence[Hour], place: Place) -> list[list[Hour]]:
    days: dict[int, list[Hour]] = {}
    for hour in hours:
        days.setdefault(int((hour.at_ms + place.longitude_deg * DAY_MS / 360) // DAY_MS), []).append(hour)
    return list(days.values())
