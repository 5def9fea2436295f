"""Hourly roll-ups, kept in the transaction of the readings they sum up."""

import sqlite3
from collections.abc import Iterable

from monitor.model.reading import Reading
from monitor.model.scale import Flag

HOUR_MS = 3_600_000

_ADD = (
    "INSERT INTO hour (series, hour_ms, low, high, total, count, worst) VALUES (?, ?, ?, ?, ?, ?, ?)"
    " ON CONFLICT (series, hour_ms) DO UPDATE SET"
    " low = min(coalesce(low, excluded.low), coalesce(excluded.low, low)),"
    " high = max(coalesce(high, excluded.high), coalesce(excluded.high, high)),"
    " total = total + excluded.total, count = count + excluded.count, worst = max(worst, excluded.worst)"
)
# 2 (not evaluated) is no worse than 1 (pass): a level waits one reading for its flag.
_AGAIN = (
    "INSERT OR REPLACE INTO hour (series, hour_ms, low, high, total, count, worst)"
    " SELECT series, ?2, min(value) FILTER (WHERE flag < 4), max(value) FILTER (WHERE flag < 4),"
    " coalesce(sum(value) FILTER (WHERE flag < 4), 0), count(*) FILTER (WHERE flag < 4),"
    " max(CASE flag WHEN 2 THEN 1 ELSE flag END)"
    " FROM reading WHERE series = ?1 AND stated_ms >= ?2 AND stated_ms < ?2 + 3600000 AND mark & 6 = 0"
)

# The raw readings of the hour were dropped: its sums stay, and it is known that something in it was not believed.
_WORSE = "UPDATE hour SET worst = max(worst, ?3) WHERE series = ?1 AND hour_ms = ?2"


def touch_hours(db: sqlite3.Connection, readings: Iterable[tuple[int, Reading]], *, again: bool) -> None:
    """Bring the roll-ups up to these readings, which stand in the reading table already.

    Args:
        db: the journal, in the readings' own transaction.
        readings: (series, reading) pairs.
        again: whether the hours were summed up before with other flags, so that they are made again from raw. An hour
            whose raw readings were dropped cannot be made again: what comes late is added to it.
    """
    (dropped_to_ms,) = db.execute("SELECT to_ms FROM dropped").fetchone()
    added: dict[tuple[int, int], list[float]] = {}
    remade: set[tuple[int, int]] = set()
    for series, reading in readings:
        if reading.clock_fault or not reading.news:
            continue
        hour = (series, reading.stated_ms // HOUR_MS * HOUR_MS)  # as it is made again; no fault, so stated in earnest
        if hour[1] <= dropped_to_ms and again:
            db.execute(_WORSE, (*hour, int(reading.flag)))
            continue
        if again or (reading.late and hour[1] > dropped_to_ms):
            remade.add(hour)
            continue
        value = reading.value
        failed = reading.flag is Flag.FAIL
        sums = added.get(hour)
        if sums is None:
            sums = added[hour] = [float("inf"), float("-inf"), 0.0, 0, int(Flag.PASS)]
        if not failed:
            sums[0], sums[1] = min(sums[0], value), max(sums[1], value)
            sums[2] += value
            sums[3] += 1
        if reading.flag is not Flag.NOT_EVALUATED:
            sums[4] = max(sums[4], int(reading.flag))
    db.executemany(
        _ADD,
        [
            (series, hour, low if count else None, high if count else None, total, int(count), int(worst))
            for (series, hour), (low, high, total, count, worst) in added.items()
            if (series, hour) not in remade
        ],
    )
    db.executemany(_AGAIN, list(remade))
