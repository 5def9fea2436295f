"""The sun over a place, against pvlib's ephemeris (NREL SPA) and its own clear-sky formula."""

from datetime import UTC, datetime
from math import degrees, sin

import pandas as pd
import pvlib
import pytest

from simulator import weather
from simulator.sun import JFK, Place, Sky, with_estimated_sun
from simulator.weather import HOUR_MS

START = datetime(2025, 1, 1, tzinfo=UTC)
YEAR_MS = [round(START.timestamp() * 1000) + n * 7 * HOUR_MS for n in range(365 * 24 // 7)]
PLACES = [JFK, Place(55.3, -160.5), Place(-35.0, 150.0), Place(60.0, 10.0)]


@pytest.mark.parametrize("place", PLACES)
def test_the_sun_stands_where_the_almanac_says(place: Place) -> None:
    times = pd.to_datetime(YEAR_MS, unit="ms", utc=True)
    almanac = pvlib.solarposition.get_solarposition(times, place.latitude_deg, place.longitude_deg)["elevation"]
    sky = Sky(place)
    # Spencer states 0.0006 rad of declination (0.03 deg) and 0.6 min (0.15 deg of hour angle); a day's change of
    # declination held fixed adds up to 0.2 deg, the leap-year cycle 0.1 deg.
    off = [abs(sky.height(ms) - sin(e * 3.141592653589793 / 180)) for ms, e in zip(YEAR_MS, almanac, strict=True)]
    assert degrees(max(off)) < 0.5


def test_a_clear_sky_is_the_published_formula() -> None:
    times = pd.to_datetime(YEAR_MS, unit="ms", utc=True)
    zenith = pvlib.solarposition.get_solarposition(times, JFK.latitude_deg, JFK.longitude_deg)["zenith"]
    expected = pvlib.clearsky.haurwitz(zenith)["ghi"]
    sky = Sky(JFK)
    # Half a degree of elevation is at most 0.009 of 1098 W/m2.
    assert [sky.clear_w_m2(ms) for ms in YEAR_MS] == pytest.approx(list(expected), abs=12)


def test_the_highest_sun_is_at_noon_by_the_longitude() -> None:
    # Solar noon at 73.78 W on 1 February: 12:00 + 4:55 + 13.6 min (equation of time, almanac) = 17:09 UTC.
    midnight_ms = round(datetime(2026, 2, 1, tzinfo=UTC).timestamp() * 1000)
    sky = Sky(JFK)
    highest = max(range(24 * 60), key=lambda minute: sky.height(midnight_ms + minute * 60_000))
    assert highest == pytest.approx(17 * 60 + 9, abs=2)


def test_the_estimated_sun_of_the_real_winter_is_that_of_the_place() -> None:
    # Months of New York by the US solar radiation data base (30-year means, flat plate, kWh/m2 a day): 2.1 in
    # November, 1.6 in December, 1.9, 2.7, 3.8 in January to March, from memory; one month differs by some 10 %, and
    # the estimate by some 20 %.
    by_month: dict[int, list[float]] = {}
    for hour in weather.load().hours:
        by_month.setdefault(datetime.fromtimestamp(hour.at_ms / 1000, UTC).month, []).append(hour.sun_w_m2)
    daily = {month: sum(w_m2) / len(w_m2) * 24 / 1000 for month, w_m2 in by_month.items()}
    assert daily == pytest.approx({11: 2.1, 12: 1.6, 1: 1.9, 2: 2.7, 3: 3.8}, rel=0.25)


def test_estimated_sun_never_outshines_a_clear_sky_and_never_shines_at_night() -> None:
    sky = Sky(JFK)
    for hour in with_estimated_sun(weather.load(), JFK).hours:
        assert 0 <= hour.sun_w_m2 <= sky.clear_w_m2(hour.at_ms)
