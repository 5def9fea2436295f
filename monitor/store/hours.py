"""Hourly roll-ups, kept in the transaction of the readings they sum up."""

import sqlite3
from collections.abc import Iterable
from math import inf

from monitor.model.scale import Flag
from monitor.store.rows import CLOCK_FAULT, NOT_NEWS, ReadingRow

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


def touch_hours(db: sqlite3.Connection, rows: Iterable[ReadingRow], *, again: bool) -> None:
    """Bring the roll-ups up to these readings, which stand in the reading table already.

    Args:
        db: the journal, in the readings' own transaction.
        rows: the readings.
        again: whether the hours were summed up before with other flags, so that they are made again from raw. An hour
            whose raw readings were dropped cannot be made again: what comes late is added to it.
    """
    (dropped_to_ms,) = db.execute("SELECT to_ms FROM dropped").fetchone()
    added: dict[tuple[int, int], list[float]] = {}
    remade: set[tuple[int, int]] = set()
    for series, stated_ms, _, _, _, value, flag, mark in rows:
        if mark & (CLOCK_FAULT | NOT_NEWS):
            continue
        # The stated time's, as it is made again; no fault, so stated in earnest.
        hour = (series, stated_ms - stated_ms % HOUR_MS)
        if again or mark:
            if hour[1] <= dropped_to_ms:
                if again:
                    db.execute(_WORSE, (*hour, flag))
                    continue
            else:
                remade.add(hour)
                continue
        sums = added.get(hour)
        if sums is None:
            sums = added[hour] = [inf, -inf, 0.0, 0, _PASS]
        if flag != _FAIL:
            # Compared by hand: this is done for every reading, and min and max are calls.
            sums[0] = min(sums[0], value)
            sums[1] = max(sums[1], value)
            sums[2] += value
            sums[3] += 1
        if flag > _NOT_EVALUATED and flag > sums[4]:
            sums[4] = flag
    db.executemany(
        _ADD,
        [
            (series, hour, low if count else None, high if count else None, total, count, worst)
            for (series, hour), (low, high, total, count, worst) in added.items()
            if (series, hour) not in remade
        ],
    )
    db.executemany(_AGAIN, list(remade))


_PASS, _NOT_EVALUATED, _FAIL = int(Flag.PASS), int(Flag.NOT_EVALUATED), int(Flag.FAIL)
