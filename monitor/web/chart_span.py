"""Which time the charts are asked to show: a span up to now, or the two ends that stand in the address."""

from datetime import datetime
from typing import Annotated
from urllib.parse import urlencode
from zoneinfo import ZoneInfo

from fastapi import Query

from monitor.model.surroundings import Forecast
from monitor.model.vessel import Vessel
from monitor.web.problems import Mistake, ProblemError, counted
from monitor.web.spans import DAY_MS, HOUR_MS, ChartSpan, Shown

SHORTEST_MS = HOUR_MS
LONGEST_DAYS = 400
FORETOLD_DAYS = 8
_AS = "write it as 2014-01-07T18:00, in yard time"

FromAsked = Annotated[str, Query(alias="from", max_length=40, description="start of the charts, yard time")]
ToAsked = Annotated[str, Query(alias="to", max_length=40, description="end of the charts, yard time")]


def shown_span(span: ChartSpan, record: Vessel, now_ms: int, forecast: Forecast | None) -> Shown:
    """Give a span up to now, and as far ahead as something is foretold."""
    from_ms, to_ms = span.bounds(record, now_ms)
    if forecast is not None:
        to_ms = max(to_ms, min(now_ms + span.ahead_ms, forecast.hours[-1].at_ms))
    return Shown(from_ms, to_ms, span, urlencode({"span": span.value}))


def chosen_span(begins: str, ends: str, now_ms: int, zone: ZoneInfo) -> Shown:
    """Give the span between two times as somebody wrote them.

    Raises:
        ProblemError: 422 with every mistake in them.
    """
    mistakes: list[Mistake] = []
    from_ms, to_ms = _time(begins, "from", zone, mistakes), _time(ends, "to", zone, mistakes)
    if from_ms is not None and to_ms is not None:
        wrong = _wrong(from_ms, to_ms, now_ms)
        if wrong is None:
            return between(from_ms, to_ms, zone)
        mistakes.append(wrong)
    raise ProblemError(422, counted(mistakes), mistakes)


def between(from_ms: int, to_ms: int, zone: ZoneInfo) -> Shown:
    """Give a span by its ends."""
    asked = {"from": wall_time(from_ms, zone), "to": wall_time(to_ms, zone)}
    return Shown(from_ms, to_ms, None, urlencode(asked, safe=":"))


def wall_time(at_ms: int, zone: ZoneInfo) -> str:
    """Give a time as an address and a form's field have it."""
    return f"{datetime.fromtimestamp(at_ms / 1000, zone):%Y-%m-%dT%H:%M}"


def _time(written: str, key: str, zone: ZoneInfo, mistakes: list[Mistake]) -> int | None:
    """Give a time that somebody wrote, or note what is wrong with it."""
    if not written.strip():
        mistakes.append(Mistake(key=key, reason=f"This end of the span is missing: {_AS}."))
        return None
    try:
        at = datetime.fromisoformat(written.strip())
        at = at if at.tzinfo is not None else at.replace(tzinfo=zone)
        return round(at.timestamp() * 1000)
    except (ValueError, OverflowError):
        mistakes.append(Mistake(key=key, reason=f"{written!r} is no time: {_AS}."))
        return None


def _wrong(from_ms: int, to_ms: int, now_ms: int) -> Mistake | None:
    if to_ms <= from_ms:
        return Mistake(key="to", reason="The end is not after the start: change one of them.")
    if to_ms - from_ms < SHORTEST_MS:
        return Mistake(key="to", reason="The shortest span is one hour: set the ends further apart.")
    if to_ms - from_ms > LONGEST_DAYS * DAY_MS:
        return Mistake(key="from", reason=f"The longest span is {LONGEST_DAYS} days: set the ends nearer together.")
    if from_ms > now_ms:
        return Mistake(key="from", reason="That has not come yet: begin before now.")
    if to_ms > now_ms + FORETOLD_DAYS * DAY_MS:
        return Mistake(key="to", reason=f"Nothing is foretold for so long: end within {FORETOLD_DAYS} days from now.")
    return None
