"""When a loss of power begins to count, by the yard's planned cuts."""

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from monitor.model.surroundings import YardCalendar

_MOST_CUTS = 40


def end_of_cut(calendar: YardCalendar, at_ms: int) -> int | None:
    """Give the end (ms UTC) of the planned cut that a time lies in, None where it lies in none.

    Cuts that follow each other without a gap are one.
    """
    end: int | None = None
    for _ in range(_MOST_CUTS):
        if not calendar.is_planned_cut(at_ms if end is None else end):
            break
        end = _first_end(calendar, at_ms if end is None else end)
    return end


def counts_from_ms(
    calendar: YardCalendar, since_ms: int, *, slack_ms: int, back_within_ms: int
) -> tuple[int, int | None]:
    """Say from when power that went at a time counts as lost if it stays away.

    Args:
        calendar: the yard's plan.
        since_ms: when it went.
        slack_ms: how early a planned cut may begin.
        back_within_ms: how long after a planned cut it may take to come back.

    Returns:
        The time from which it counts, and the end of the planned cut it went in; None where it went in none.
    """
    end = end_of_cut(calendar, since_ms)
    if end is None:
        end = end_of_cut(calendar, since_ms + slack_ms)
    if end is None:
        return since_ms, None
    for _ in range(_MOST_CUTS):
        # The next cut may have begun before the power had to be back.
        further = end_of_cut(calendar, end + back_within_ms)
        if further is None:
            break
        end = further
    return end + back_within_ms, end


def _first_end(calendar: YardCalendar, at_ms: int) -> int:
    ends = [
        round(c.ends.timestamp() * 1000)
        for c in calendar.planned_cuts
        if c.begins.timestamp() * 1000 <= at_ms < c.ends.timestamp() * 1000
    ]
    if ends or calendar.power_off is None:
        return max(ends, default=at_ms)
    zone = ZoneInfo(calendar.zone)
    at = datetime.fromtimestamp(at_ms / 1000, zone)
    back = datetime.combine(at.date(), calendar.power_off[1], zone)
    if back <= at:
        back = datetime.combine(at.date() + timedelta(days=1), calendar.power_off[1], zone)
    return round(back.timestamp() * 1000)
