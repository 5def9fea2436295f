"""Figures as people read them."""

from datetime import datetime
from zoneinfo import ZoneInfo

import pytest

from monitor.messages.figures import MINUS, Figures
from monitor.messages.phrases import common

SHOWN: Figures = common("en").figures
OSLO = ZoneInfo("Europe/Oslo")


@pytest.mark.parametrize(
    ("filter_name", "value", "text"),
    [
        ("degc", -4, f"{MINUS}4.0 °C"),
        ("degc", 0, "0.0 °C"),
        ("degc", -0.04, "0.0 °C"),
        ("degc", None, "not known"),
        ("degc", float("nan"), "not known"),
        ("kelvin", 1.5, "1.5 degrees"),
        ("mm", 44.6, "45 mm"),
        ("metres", 0.0446, "45 mm"),
        ("litres", 3.21, "3.2 litres"),
        ("litres", 9.97, "10 litres"),
        ("litres", 144, "144 litres"),
        ("volts", 12.406, "12.41 V"),
        ("amps", 0.046, "46 mA"),
        ("amps", 3.24, "3.2 A"),
        ("pct", 61.7, "62 %"),
        ("hours", 0.2, "10 minutes"),
        ("hours", 0.8, "50 minutes"),
        ("hours", 1, "1 hour"),
        ("hours", 6, "6 hours"),
        ("hours", 50, "2 days"),
        ("days", 1, "24 hours"),
        ("days", 12, "12 days"),
        ("days", 100, "14 weeks"),
        ("days", 181, "26 weeks"),
        ("days", 182, "6 months"),
        ("days", 730, "24 months"),
        ("days", 731, "2 years"),
        ("days", 4634, "13 years"),
        ("days", None, "not known"),
        ("mm_an_hour", 12.4, "12 mm an hour"),
        ("mm_a_day", 0.7, "0.7 mm a day"),
    ],
)
def test_a_figure_reads_so(filter_name: str, value: float | None, text: str) -> None:
    assert getattr(SHOWN, filter_name)(value) == text


def at(text: str) -> int:
    return round(datetime.fromisoformat(text).replace(tzinfo=OSLO).timestamp() * 1000)


@pytest.mark.parametrize(
    ("then", "text"),
    [
        ("2014-01-03 14:02", "14:02"),
        ("2014-01-03 00:00", "00:00"),
        ("2014-01-02 23:59", "Thu 23:59"),
        ("2014-01-04 01:00", "Sat 01:00"),
        ("2013-12-27 08:00", "Fri 27 Dec 2013 08:00"),
        ("2014-01-12 08:00", "Sun 12 Jan 08:00"),
    ],
)
def test_a_time_is_told_in_yard_time_with_its_day_where_not_today(then: str, text: str) -> None:
    assert SHOWN.clock(at(then), at("2014-01-03 20:00"), OSLO) == text


@pytest.mark.parametrize(
    ("then", "text"),
    [("2014-01-12 08:00", "Sun 12 Jan"), ("2013-12-27 08:00", "Fri 27 Dec 2013"), ("2014-11-30 08:00", "Sun 30 Nov")],
)
def test_a_day_ahead_is_told_without_a_time(then: str, text: str) -> None:
    assert SHOWN.day(at(then), at("2014-01-03 20:00"), OSLO) == text


def test_next_winters_january_is_told_with_its_year_only_where_one_may_ask() -> None:
    now = at("2013-11-20 20:00")
    assert SHOWN.day(at("2014-01-12 08:00"), now, OSLO) == "Sun 12 Jan"
    assert SHOWN.day(at("2014-09-12 08:00"), now, OSLO) == "Fri 12 Sep 2014"


def test_the_hour_that_comes_twice_in_autumn_is_told_as_the_yards_clock_shows_it() -> None:
    first = round(datetime.fromisoformat("2014-10-26T00:30+00:00").timestamp() * 1000)
    assert {SHOWN.clock(t, first, OSLO) for t in (first, first + 3_600_000)} == {"02:30"}
