from datetime import UTC, date, datetime, time

import pytest
from pydantic import ValidationError

from monitor.model.surroundings import Forecast, PlannedCut, YardCalendar

OSLO = YardCalendar(zone="Europe/Oslo", holidays=(date(2013, 12, 25), date(2013, 12, 26)))


def ms(text: str) -> int:
    return round(datetime.fromisoformat(text).timestamp() * 1000)


def test_a_weekend_is_told_of_on_friday() -> None:
    # Friday 13 December 2013, 14:00 in Oslo (UTC+1): the next notice times are 15:00 today and then Monday.
    times = OSLO.notice_times(ms("2013-12-13T14:00:00+01:00"))
    assert [next(times), next(times)] == [ms("2013-12-13T15:00:00+01:00"), ms("2013-12-16T15:00:00+01:00")]


def test_holidays_are_no_working_days() -> None:
    times = OSLO.notice_times(ms("2013-12-24T16:00:00+01:00"))
    assert next(times) == ms("2013-12-27T15:00:00+01:00")


def test_the_next_working_day_after_a_friday_ends_on_monday() -> None:
    assert OSLO.end_of_next_working_day(ms("2013-12-13T09:00:00+01:00")) == ms("2013-12-16T17:00:00+01:00")


def test_notice_times_keep_to_the_yards_clock_over_the_change_of_clocks() -> None:
    # Clocks went forward in Oslo on Sunday 30 March 2014.
    times = OSLO.notice_times(ms("2014-03-28T16:00:00+01:00"))
    assert next(times) == ms("2014-03-31T15:00:00+02:00")


def test_a_night_cut_may_pass_midnight() -> None:
    calendar = YardCalendar(power_off=(time(23), time(5)))
    assert calendar.is_planned_cut(ms("2014-01-01T23:30:00+00:00"))
    assert calendar.is_planned_cut(ms("2014-01-01T04:59:00+00:00"))
    assert not calendar.is_planned_cut(ms("2014-01-01T05:00:00+00:00"))


def test_a_planned_cut_is_a_time_of_its_own() -> None:
    cut = PlannedCut(begins=datetime(2014, 1, 10, 8, tzinfo=UTC), ends=datetime(2014, 1, 10, 12, tzinfo=UTC))
    calendar = YardCalendar(planned_cuts=(cut,))
    assert calendar.is_planned_cut(ms("2014-01-10T08:00:00+00:00"))
    assert not calendar.is_planned_cut(ms("2014-01-10T12:00:00+00:00"))


@pytest.mark.parametrize("wrong", [{"working_days": ()}, {"begins": time(16)}, {"zone": "Nowhere"}])
def test_a_calendar_that_cannot_be_is_refused(wrong: dict[str, object]) -> None:
    with pytest.raises(ValidationError):
        YardCalendar.model_validate(wrong)


def test_a_forecast_is_put_in_order_and_its_later_word_for_a_time_wins() -> None:
    forecast = Forecast.of(0, [(7_200_000, -2.0), (3_600_000, -1.0), (7_200_000, -3.0)])
    assert [(h.at_ms, h.degc) for h in forecast.hours] == [(3_600_000, -1.0), (7_200_000, -3.0)]


def test_a_forecast_covers_a_span_without_large_gaps() -> None:
    hour = 3_600_000
    assert Forecast.of(0, [(n * hour, 0.0) for n in range(0, 25, 3)]).covers(0, 24 * hour)
    assert not Forecast.of(0, [(0, 0.0), (24 * hour, 0.0)]).covers(0, 24 * hour)
    assert not Forecast.of(0, [(n * hour, 0.0) for n in range(12)]).covers(0, 24 * hour)
