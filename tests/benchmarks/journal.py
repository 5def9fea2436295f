"""How fast the journal commits, beside bare ``executemany`` into the same table."""

import sqlite3
import time
from pathlib import Path

from monitor.model.batch import Batch
from monitor.model.reading import Reading
from monitor.model.scale import Flag
from monitor.store.journal import Journal

BATCHES, SIZE, SENSORS = 100, 500, 50
START_MS = 1_700_000_000_000


def journal_rates(folder: Path) -> tuple[float, float]:
    """Measure.

    Returns:
        Readings a second by `Journal.append`, and rows a second by bare SQLite with the same durability.
    """
    batches = []
    seq = 0
    for number in range(BATCHES):
        readings = []
        for place in range(SIZE):
            seq += 1
            at_ms = START_MS + (number * SIZE + place) // SENSORS * 600_000
            reading = Reading("tern", f"sensor-{place % SENSORS}", at_ms, at_ms, at_ms, place / 10, flag=Flag.PASS)
            readings.append((seq, reading))
        batches.append(Batch(readings=readings, last_seq=seq))
    journal = Journal(folder / "ours.sqlite")
    began = time.perf_counter()
    for batch in batches:
        journal.append(batch)
    ours = BATCHES * SIZE / (time.perf_counter() - began)
    journal.close()
    return ours, _bare(folder / "bare.sqlite", batches)


def _bare(path: Path, batches: list[Batch]) -> float:
    Journal(path).close()
    db = sqlite3.connect(path, isolation_level=None)
    db.execute("PRAGMA synchronous=FULL")
    db.execute("DROP INDEX reading_by_seq")
    db.executemany("INSERT INTO series VALUES (?, 'tern', ?)", [(n, f"sensor-{n}") for n in range(SENSORS)])
    rows = [
        [(int(r.sensor[7:]), r.stated_ms, seq, r.event_ms, r.arrived_ms, r.value, 1, 0) for seq, r in batch.readings]
        for batch in batches
    ]
    began = time.perf_counter()
    for batch_rows in rows:
        db.execute("BEGIN")
        db.executemany("INSERT INTO reading VALUES (?, ?, ?, ?, ?, ?, ?, ?)", batch_rows)
        db.execute("COMMIT")
    rate = BATCHES * SIZE / (time.perf_counter() - began)
    db.close()
    return rate
