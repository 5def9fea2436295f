"""What proofs are made of, row by row: everything a sensor said, the hashes of events, who was told of an alert."""

from collections.abc import Iterator

from monitor.model.scale import Flag
from monitor.model.views import EventMark, NoticeLine, Said
from monitor.store.buckets import raw_from_ms
from monitor.store.hours import HOUR_MS
from monitor.store.reader import Reader
from monitor.store.rows import CLOCK_FAULT, LATE, NOT_NEWS
from monitor.store.told import notice_lines

AT_ONCE = 2_000
EARLIEST_MS = -(2**62)

_HOURS = (
    "SELECT hour_ms, low, high, CASE WHEN count > 0 THEN total / count END, count, worst FROM hour"
    " WHERE series = ?1 AND hour_ms > ?2 AND hour_ms >= ?3 AND hour_ms < min(?4, ?5) ORDER BY hour_ms LIMIT ?6"
)
# What the hours do not hold stays as it was said: it is dropped last, and no sum stands in for it.
_RAW = (
    "SELECT stated_ms, event_ms, arrived_ms, value, flag, mark FROM reading"
    " WHERE series = ?1 AND stated_ms > ?2 AND stated_ms >= ?3 AND stated_ms < ?4"
    f" AND (stated_ms >= ?5 OR mark & {CLOCK_FAULT | NOT_NEWS} != 0) ORDER BY stated_ms LIMIT ?6"
)


def said(reader: Reader, vessel: str, sensor: str, from_ms: int | None, to_ms: int) -> Iterator[Said]:
    """Give what a sensor said in a span of its stated time: hours where raw readings were dropped, then readings.

    It is read a few at a time, so that a winter of them is never in memory; each goes on after the last one given.
    """
    series = reader.row("SELECT id FROM series WHERE vessel = ? AND sensor = ?", (vessel, sensor))
    if series is None:
        return
    begin = EARLIEST_MS if from_ms is None else from_ms
    # Of the hour in which the dropping stands some readings are gone: its sum is whole.
    dropped_ms = raw_from_ms(reader)
    raw_ms = EARLIEST_MS if dropped_ms < 0 else (dropped_ms // HOUR_MS + 1) * HOUR_MS
    last = EARLIEST_MS - 1
    while rows := reader.rows(_HOURS, (series[0], last, begin // HOUR_MS * HOUR_MS, to_ms, raw_ms, AT_ONCE)):
        for at, low, high, mean, count, worst in rows:
            yield Said(at, at, None, mean, low, high, count, Flag(worst), hour=True)
        last = rows[-1][0]
    last = EARLIEST_MS - 1
    while rows := reader.rows(_RAW, (series[0], last, begin, to_ms, raw_ms, AT_ONCE)):
        for stated, event, arrived, value, flag, mark in rows:
            yield Said(
                stated,
                event,
                arrived,
                value,
                value,
                value,
                1,
                Flag(flag),
                late=bool(mark & LATE),
                clock_fault=bool(mark & CLOCK_FAULT),
                news=not mark & NOT_NEWS,
            )
        last = rows[-1][0]


def marks(reader: Reader, alert: str) -> list[EventMark]:
    """Give where each event of an alert stands in the chain, oldest first, as `events` does."""
    found = reader.rows("SELECT seq, place, hash FROM alert_event WHERE alert = ? ORDER BY seq, place", (alert,))
    return [EventMark(*row) for row in found]


def notices_of(reader: Reader, alert: str) -> list[NoticeLine]:
    """Give every notice that told of an alert, oldest first."""
    return notice_lines(
        reader, "WHERE EXISTS (SELECT 1 FROM json_each(alerts) WHERE value = ?) ORDER BY seq, rowid", (alert,)
    )
