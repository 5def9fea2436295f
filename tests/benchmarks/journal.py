"""How fast the journal commits, beside bare ``executemany`` into the same table."""

import sqlite3
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path

from monitor.model.batch import Batch
from monitor.model.reading import Reading
from monitor.model.scale import Flag
from monitor.store.journal import Journal
from monitor.writer import MOST_IN_A_BATCH
from tests.benchmarks.rate import Rate, timed

BATCHES, SIZE, SENSORS = 100, MOST_IN_A_BATCH // 2, 50
START_MS = 1_700_000_000_000


def journal_rates(folder: Path) -> tuple[Rate, Rate, Rate]:
    """Measure.

    Returns:
        Readings a second by `Journal.append`; by bare SQLite into the same table with the same durability; and by the
        same into the table without its index by seq.
    """
    batches = _batches()
    journal = Journal(folder / "ours.sqlite")
    ours = _measured(lambda: [journal.append(batch) for batch in batches])
    journal.close()
    bare = _bare(folder / "bare.sqlite", batches)
    return ours, bare, _bare(folder / "barest.sqlite", batches, "DROP INDEX reading_by_seq")


def _batches() -> list[Batch]:
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
    return batches


def _bare(path: Path, batches: list[Batch], before: str = "") -> Rate:
    Journal(path).close()
    db = sqlite3.connect(path, isolation_level=None)
    db.execute("PRAGMA synchronous=FULL")
    db.execute(before)
    db.executemany("INSERT INTO series VALUES (?, 'tern', ?)", [(n, f"sensor-{n}") for n in range(SENSORS)])
    rows = [
        [(int(r.sensor[7:]), r.stated_ms, seq, r.event_ms, r.arrived_ms, r.value, 1, 0) for seq, r in batch.readings]
        for batch in batches
    ]

    def write() -> None:
        for batch_rows in rows:
            db.execute("BEGIN")
            db.executemany("INSERT INTO reading VALUES (?, ?, ?, ?, ?, ?, ?, ?)", batch_rows)
            db.execute("COMMIT")

    rate = _measured(write)
    db.close()
    return rate


def _measured(write: Callable[[], object]) -> Rate:
    return timed(write, BATCHES * SIZE)


def lines() -> Iterator[str]:
    """Measure, in words."""
    with tempfile.TemporaryDirectory(prefix="coldberth-bench-") as folder:
        ours, bare, barest = journal_rates(Path(folder))
    yield f"journal: {ours.per_s:9,.0f} readings/s committed, roll-ups included, in the largest batches ({SIZE:,})"
    yield f"         {bare.per_s:9,.0f} rows/s by bare executemany into the same table: ratio {ours.of(bare)}"
    yield f"         {barest.per_s:9,.0f} rows/s by the same without its index by seq: ratio {ours.of(barest)}"
