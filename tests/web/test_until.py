"""What stands in the forms as an end of putting aside, until somebody writes another."""

from datetime import datetime
from zoneinfo import ZoneInfo

import pytest

from monitor.alerting.limits import LIMITS
from monitor.model.scale import Priority
from monitor.web.until import OFFERED, aboard_until_ms, aside_until_ms

OSLO = ZoneInfo("Europe/Oslo")


def at(text: str) -> int:
    return round(datetime.fromisoformat(text).replace(tzinfo=OSLO).timestamp() * 1000)


@pytest.mark.parametrize(
    ("priority", "now", "until"),
    [
        (Priority.ALARM, "2014-01-03 20:00", "2014-01-03 21:00"),
        (Priority.ALARM, "2014-01-03 07:30", "2014-01-03 08:30"),
        (Priority.WARNING, "2014-01-03 20:00", "2014-01-04 08:00"),
        (Priority.CAUTION, "2014-01-03 06:59", "2014-01-03 08:00"),
        (Priority.CAUTION, "2014-01-03 07:00", "2014-01-03 08:00"),
        (Priority.CAUTION, "2014-01-03 07:01", "2014-01-04 08:00"),
        (Priority.WARNING, "2014-03-29 20:00", "2014-03-30 08:00"),  # the clocks go forward that night
    ],
)
def test_an_alarm_comes_back_within_the_hour_and_the_rest_in_the_morning(
    priority: Priority, now: str, until: str
) -> None:
    assert aside_until_ms(priority, at(now), OSLO) == at(until)


def test_nothing_is_offered_that_would_be_refused() -> None:
    assert 0 < aboard_until_ms(0) <= LIMITS.ms("suppress_most")
    assert OFFERED.ms("aside_alarm") <= LIMITS.ms("shelf_most_alarm")
    # A morning is at most a day and the hour before it away.
    assert LIMITS.ms("shelf_most") >= 25 * 3_600_000
