"""A time that a person sets an end by: ``14:30``, ``+2h``, or ISO 8601; without an offset it is yard time.

And what stands in the forms where such a time is asked for, until somebody writes another.
"""

import re
from datetime import datetime, timedelta
from typing import Annotated
from zoneinfo import ZoneInfo

from pydantic import Field

from monitor.model.limits import Limit, Limits
from monitor.model.scale import Priority

Until = Annotated[
    str,
    Field(
        min_length=1,
        max_length=40,
        description="14:30 (the next time the yard's clock shows it), +2h (from now; m, h, d), or ISO 8601, "
        "in yard time where it has no offset",
        examples=["14:30", "+2h", "2026-01-07T08:00", "2026-01-07T08:00:00Z"],
    ),
]

_OURS = "common practice, no source"

OFFERED = Limits(
    Limit(
        "aboard", 2.0, "h", _OURS, "a job aboard in the cold; half of what is allowed at most", "write the end you know"
    ),
    Limit(
        "aside_alarm", 1.0, "h", _OURS, "time to fetch a pump or a lead, and never a night", "write the end you know"
    ),
    Limit("aside_from", 1.0, "h", _OURS, "a morning that is nearer than this is over before anybody is back", "-"),
    Limit("morning", 8.0, "o'clock", _OURS, "the yard opens, and somebody looks at what was put aside", "-"),
)
"""What is offered as the end of putting aside."""

_SPAN = re.compile(r"\+(\d{1,4}(?:\.\d+)?)\s*([mhd])", re.IGNORECASE)
_CLOCK = re.compile(r"([01]?\d|2[0-3]):([0-5]\d)")
_UNIT_MS = {"m": 60_000, "h": 3_600_000, "d": 86_400_000}


class UntilError(ValueError):
    """What was written is no time, in words."""


def until_ms(written: str, now_ms: int, zone: ZoneInfo, most_ms: int | None = None) -> int:
    """Give the time that somebody wrote, ms UTC.

    Args:
        written: what they wrote.
        now_ms: the yard's time now.
        zone: the yard's time zone.
        most_ms: how far off it may be: a time of day that is past today, and too far off tomorrow, is a slip.

    Raises:
        UntilError: where it is no time.

    >>> london = ZoneInfo("Europe/London")
    >>> until_ms("+90m", 0, london), until_ms("00:30", 0, london), until_ms("1970-01-02T00:00Z", 0, london)
    (5400000, 84600000, 86400000)
    """
    text = written.strip()
    span = _SPAN.fullmatch(text)
    if span is not None:
        return now_ms + round(float(span[1]) * _UNIT_MS[span[2].lower()])
    now = datetime.fromtimestamp(now_ms / 1000, zone)
    clock = _CLOCK.fullmatch(text)
    if clock is not None:
        at = now.replace(hour=int(clock[1]), minute=int(clock[2]), second=0, microsecond=0)
        if at > now:
            return _ms(at)
        # By the wall: on the night the clocks change, the day after is not 24 hours on.
        tomorrow = at + timedelta(days=1)
        if most_ms is not None and _ms(tomorrow) - now_ms > most_ms:
            day = f"{tomorrow:%Y-%m-%dT%H:%M}"
            raise UntilError(f"{text} is past, it is {now:%H:%M}: if you mean tomorrow, give the day, as {day}")
        return _ms(tomorrow)
    try:
        at = datetime.fromisoformat(text)
    except ValueError as error:
        raise UntilError(f"{text!r} is no time: write 14:30, +2h, or a day and time as 2026-01-07T08:00") from error
    return _ms(at if at.tzinfo is not None else at.replace(tzinfo=zone))


def aboard_until_ms(now_ms: int) -> int:
    """Give the end that is offered for what is done aboard."""
    return now_ms + OFFERED.ms("aboard")


def aside_until_ms(priority: Priority, now_ms: int, zone: ZoneInfo) -> int:
    """Give the end that is offered for putting one alert aside: a short time for an alarm, else the next morning.

    The morning is by the yard's clock. For an alarm it would be a night in which nobody is told of it.
    """
    if priority is Priority.ALARM:
        return now_ms + OFFERED.ms("aside_alarm")
    earliest = datetime.fromtimestamp((now_ms + OFFERED.ms("aside_from")) / 1000, zone)
    morning = earliest.replace(hour=round(OFFERED["morning"]), minute=0, second=0, microsecond=0)
    return _ms(morning if morning >= earliest else morning + timedelta(days=1))


def _ms(at: datetime) -> int:
    return round(at.timestamp() * 1000)
