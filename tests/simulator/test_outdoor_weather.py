"""Weather: loaded, and asked for at any time."""

import time
from datetime import UTC, datetime

import pytest

from simulator import weather
from simulator.make_jfk import CSV_PATH
from simulator.weather import HOUR_MS, Hour, Weather


def _ms(*when: int) -> int:
    return round(datetime(*when, tzinfo=UTC).timestamp() * 1000)


def _hour(n: int, degc: float, rain_mm: float = 0.0, sun_w_m2: float = 0.0) -> Hour:
    return Hour(n * HOUR_MS, degc, degc - 2, 3.0, rain_mm, 1015.0, sun_w_m2)


def test_the_winter_is_151_days_without_a_gap() -> None:
    winter = weather.load()
    assert len(winter.hours) == 151 * 24
    assert (winter.from_ms, winter.to_ms) == (_ms(2013, 11, 1), _ms(2014, 3, 31, 23))


def test_forty_one_hours_were_missing_and_31_december_is_among_them() -> None:
    # REFERENCES.md: 41 hours missing, 31 December absent.
    lines = [line for line in CSV_PATH.read_text().splitlines() if not line.startswith("#")]
    times = {line.split(",")[0] for line in lines[1:]}
    assert 151 * 24 - len(times) == 41
    assert not [t for t in times if t.startswith("2013-12-31")]


def test_the_winter_is_as_cold_as_it_was() -> None:
    # REFERENCES.md: coldest -11.1 degC, 781 h below zero (counted there on degrees Fahrenheit before rounding).
    recorded = [line.split(",") for line in CSV_PATH.read_text().splitlines() if line.startswith("20")]
    assert min(float(row[1]) for row in recorded) == -11.1
    assert sum(float(row[1]) < 0 for row in recorded) == pytest.approx(781, abs=1)


def test_what_was_recorded_is_given_as_it_was_recorded() -> None:
    # The file's row of 2014-01-01T06:00Z: 3.9, -3.3 degC, 5.7 m/s, 0 mm, 1012.6 hPa (see test_jfk_winter_file).
    assert weather.load().at(_ms(2014, 1, 1, 6))[:6] == (_ms(2014, 1, 1, 6), 3.9, -3.3, 5.7, 0.0, 1012.6)


def test_the_missing_day_lies_on_the_straight_line_and_is_dry() -> None:
    # Rows of the file: 2013-12-30T23:00Z -1.1 degC, then 2014-01-01T06:00Z 3.9 degC, 31 h later.
    fifteen_hours_in = weather.load().at(_ms(2013, 12, 31, 14))
    assert fifteen_hours_in.outside_degc == pytest.approx(-1.1 + 5.0 * 15 / 31)
    assert fifteen_hours_in.rain_mm == 0


def test_between_two_hours_the_weather_is_on_the_straight_line_and_the_rain_is_that_of_the_hour_it_falls_in() -> None:
    asked = Weather([_hour(0, 0.0), _hour(1, 3.0, rain_mm=6.0, sun_w_m2=300.0), _hour(2, 3.0)])
    at = asked.at(HOUR_MS // 3)
    assert (at.outside_degc, at.rain_mm, at.sun_w_m2) == (pytest.approx(1.0), 6.0, pytest.approx(100.0))


def test_weather_is_not_made_up_outside_its_time() -> None:
    with pytest.raises(ValueError, match="lies outside"):
        Weather([_hour(0, 0.0), _hour(1, 0.0)]).at(2 * HOUR_MS)


def test_hours_that_do_not_follow_each_other_are_refused() -> None:
    with pytest.raises(ValueError, match="must follow each other"):
        Weather([_hour(0, 0.0), _hour(2, 0.0)])


def test_a_winter_of_ten_minutes_asks_for_its_weather_in_a_twentieth_of_its_time() -> None:
    # 26,000 steps have 3 s in all (issue 4); the weather may take 0.15 s of them.
    winter = weather.load()
    began = time.process_time()
    for n in range(26_000):
        winter.at(winter.from_ms + n * 500_000)
    assert time.process_time() - began < 0.15
