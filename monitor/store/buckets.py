"""Readings summed up for a chart: from raw over short spans, from the hours over long ones."""

from monitor.model.scale import Flag
from monitor.model.views import Bucket, Buckets
from monitor.store.hours import HOUR_MS
from monitor.store.reader import Reader
from monitor.store.rows import CLOCK_FAULT, NOT_NEWS

MINUTE_MS = 60_000

# Every step divides 24 hours, or the daily cycle would show moire.
STEPS_MS = tuple(m * MINUTE_MS for m in (1, 2, 3, 4, 5, 6, 10, 12, 15, 20, 30, 60, 120, 180, 240, 360, 720, 1440))
RAW_SPAN_MS = 4 * 24 * HOUR_MS

_RAW = (
    "SELECT stated_ms / ?1 * ?1, min(value) FILTER (WHERE flag < 4), max(value) FILTER (WHERE flag < 4),"
    " avg(value) FILTER (WHERE flag < 4), count(*) FILTER (WHERE flag < 4), max(CASE flag WHEN 2 THEN 1 ELSE flag END)"
    " FROM reading WHERE series = ?2 AND stated_ms >= ?3 AND stated_ms < ?4 AND mark & ?5 = 0 GROUP BY 1 ORDER BY 1"
)
_HOURS = (
    "SELECT hour_ms / ?1 * ?1, min(low), max(high), CASE WHEN sum(count) > 0 THEN sum(total) / sum(count) END,"
    " sum(count), max(worst) FROM hour WHERE series = ?2 AND hour_ms >= ?3 AND hour_ms < ?4 GROUP BY 1 ORDER BY 1"
)


def step_for(span_ms: int, at_most: int, *, raw: bool = True) -> int:
    """Choose the shortest step that keeps a span within so many buckets.

    At least an hour over long spans, and where the raw readings of the span are no longer there.

    >>> step_for(2 * 86_400_000, 800) // 60_000, step_for(180 * 86_400_000, 800) // 3_600_000
    (4, 6)
    """
    shortest = HOUR_MS if span_ms > RAW_SPAN_MS or not raw else MINUTE_MS
    fitting = (s for s in STEPS_MS if s >= shortest and span_ms <= s * at_most)
    return next(fitting, STEPS_MS[-1])


def raw_from_ms(reader: Reader) -> int:
    """Give the event time after which every raw reading is there."""
    dropped = reader.row("SELECT to_ms FROM dropped")
    return -1 if dropped is None else int(dropped[0])


def read_buckets(reader: Reader, vessel: str, sensor: str, from_ms: int, to_ms: int, at_most: int) -> Buckets:
    """Sum a sensor's readings up into at most so many buckets (save that none is longer than a day)."""
    step = step_for(to_ms - from_ms, at_most, raw=from_ms > raw_from_ms(reader))
    series = reader.row("SELECT id FROM series WHERE vessel = ? AND sensor = ?", (vessel, sensor))
    if series is None:
        return Buckets(step, [])
    start = from_ms // step * step
    if step >= HOUR_MS:
        rows = reader.rows(_HOURS, (step, series[0], start, to_ms))
    else:
        rows = reader.rows(_RAW, (step, series[0], start, to_ms, CLOCK_FAULT | NOT_NEWS))
    return Buckets(step, [Bucket(at, low, high, mean, n, Flag(worst)) for at, low, high, mean, n, worst in rows])
