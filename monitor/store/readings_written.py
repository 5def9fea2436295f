"""Writes the readings of a batch: their rows, the flags that have become final, and the hours they fall into."""

from sqlite3 import Connection

from monitor.model.batch import Batch
from monitor.model.scale import Flag
from monitor.store.hours import touch_hours
from monitor.store.rows import CLOCK_FAULT, LATE, NOT_NEWS, ReadingRow

_PUT = (
    "INSERT INTO reading (series, stated_ms, seq, event_ms, arrived_ms, value, flag, mark)"
    " VALUES (?, ?, ?, ?, ?, ?, ?, ?)"
)
_SETTLE = "UPDATE reading SET flag = ? WHERE series = ? AND stated_ms = ?"


def write_readings(db: Connection, batch: Batch, series: dict[tuple[str, str], int]) -> None:
    """Write the readings of a batch, in its transaction.

    Args:
        db: the journal.
        batch: the batch.
        series: the key of every (vessel, sensor) that was stored before; new ones are added.
    """
    rows: list[ReadingRow] = []
    for seq, r in batch.readings:
        key = series.get((r.vessel, r.sensor)) or _new_series(db, series, r.vessel, r.sensor)
        # Most readings pass and are nothing out of the ordinary: that is asked first, for each of them.
        flag = 1 if r.flag is Flag.PASS else int(r.flag)
        plain = r.news and not (r.late or r.clock_fault)
        mark = 0 if plain else LATE * r.late + CLOCK_FAULT * r.clock_fault + NOT_NEWS * (not r.news)
        rows.append((key, r.stated_ms, seq, r.event_ms, r.arrived_ms, r.value, flag, mark))
    db.executemany(_PUT, rows)
    touch_hours(db, rows, again=False)
    if batch.settled:
        settled: list[ReadingRow] = []
        for r in batch.settled:
            mark = LATE * r.late + CLOCK_FAULT * r.clock_fault + NOT_NEWS * (not r.news)
            key = series[r.vessel, r.sensor]
            settled.append((key, r.stated_ms, 0, r.event_ms, r.arrived_ms, r.value, int(r.flag), mark))
        db.executemany(_SETTLE, [(row[6], row[0], row[1]) for row in settled])
        touch_hours(db, [row for row in settled if row[6] != Flag.PASS], again=True)


def _new_series(db: Connection, series: dict[tuple[str, str], int], vessel: str, sensor: str) -> int:
    cursor = db.execute("INSERT INTO series (vessel, sensor) VALUES (?, ?)", (vessel, sensor))
    key = series[vessel, sensor] = int(cursor.lastrowid or 0)
    return key
