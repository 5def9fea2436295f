"""Stated times, as integer milliseconds UTC, and which of them cannot be meant."""

from datetime import datetime
from math import isfinite

from monitor.intake.refusal import Refusal
from monitor.model.parcel import RawReading, RejectReason

# 10000-01-01T00:00:00Z: a time from here on cannot be written as a date.
END_S = 253_402_300_800
END_MS = END_S * 1000
ABSOLUTE_FROM_S = 2**28  # RFC 8428 section 4.5.3: below it, a time is relative to now


def absolute_ms(seconds: float) -> int:
    """Give a Unix time in seconds as milliseconds.

    Raises:
        Refusal: before 1970 or beyond 9999.

    >>> absolute_ms(1_700_000_000.2504)
    1700000000250
    """
    if not isfinite(seconds) or not 0 <= seconds < END_S:
        hint = " (milliseconds where seconds are wanted?)" if END_S <= seconds < END_MS else ""
        raise Refusal(RejectReason.WRONG_TIME, f"time {seconds!r} s lies before 1970 or beyond 9999{hint}")
    ms = round(seconds * 1000)
    if ms >= END_MS:
        raise Refusal(RejectReason.WRONG_TIME, f"time {seconds!r} s lies beyond 9999")
    return ms


def iso_ms(text: str) -> int:
    """Give an ISO 8601 date and time with its offset from UTC as milliseconds.

    Raises:
        Refusal: where it is none, states no offset, or lies before 1970.

    >>> iso_ms("2024-01-03T14:02:00+01:00")
    1704286920000
    """
    try:
        moment = datetime.fromisoformat(text)
    except ValueError as error:
        raise Refusal(RejectReason.WRONG_TIME, f"time {text[:60]!r} is not an ISO 8601 date and time") from error
    if moment.tzinfo is None:
        raise Refusal(RejectReason.WRONG_TIME, f"time {text[:60]!r} states no offset from UTC; end it in Z or +01:00")
    return absolute_ms(moment.timestamp())


def time_order(reading: RawReading) -> int:
    """Give a sort key that puts a message's readings in time order.

    A relative time counts from arrival, which comes after every time that was stated.
    """
    return END_MS + reading.offset_ms if reading.stated_ms is None else reading.stated_ms
