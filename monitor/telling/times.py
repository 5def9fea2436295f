"""Times of day in the yard: when quiet hours end, how long somebody was awake, when the next digest is due."""

from collections.abc import Iterator
from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

from monitor.model.people import QuietHours


def local(at_ms: int, zone: str) -> datetime:
    """Give a time (ms UTC) as the yard's clock shows it."""
    return datetime.fromtimestamp(at_ms / 1000, ZoneInfo(zone))


def next_at(after_ms: int, of_day: time, zone: str) -> int:
    """Give the first time after one (ms UTC) at which the yard's clock shows a time of day.

    >>> next_at(1_700_463_600_000, time(8), "Europe/Oslo") - 1_700_463_600_000 == 24 * 3_600_000
    True
    """
    return next(at_ms for at_ms in _each_day(after_ms, of_day, zone) if at_ms > after_ms)


def quiet_until(at_ms: int, quiet: QuietHours | None, zone: str) -> int | None:
    """Give when the quiet hours that a time lies in end, None where it lies in none."""
    if quiet is None or quiet.begins == quiet.ends or not quiet.holds(local(at_ms, zone).time()):
        return None
    return next_at(at_ms, quiet.ends, zone)


def awake_for(from_ms: int, awake_ms: int, quiet: QuietHours | None, zone: str) -> int:
    """Give when somebody will have been awake for so long since a time."""
    if quiet is None or quiet.begins == quiet.ends:
        return from_ms + awake_ms
    at_ms, left_ms = quiet_until(from_ms, quiet, zone) or from_ms, awake_ms
    while True:
        sleeps_ms = next_at(at_ms, quiet.begins, zone)
        if at_ms + left_ms <= sleeps_ms:
            return at_ms + left_ms
        left_ms -= sleeps_ms - at_ms
        at_ms = next_at(sleeps_ms, quiet.ends, zone)


def _each_day(around_ms: int, of_day: time, zone: str) -> Iterator[int]:
    day = local(around_ms, zone).date()
    for ahead in range(4):
        at = datetime.combine(day + timedelta(days=ahead), of_day, ZoneInfo(zone))
        yield round(at.timestamp() * 1000)
