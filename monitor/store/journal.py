"""The journal: one SQLite file, one writer, one transaction a batch.

Durable: WAL with ``synchronous=FULL``, so that what `Journal.append` returned from survives a power cut. Nothing that
the broker was told is taken is anywhere but here.
"""

import sqlite3
from collections.abc import Iterator, Sequence
from heapq import merge
from operator import itemgetter
from pathlib import Path

from monitor.model.alert import Alert
from monitor.model.batch import Batch
from monitor.model.inputs import Input
from monitor.model.notice import Delivery, Notice
from monitor.model.photo import Photo
from monitor.model.reading import Reading
from monitor.model.vessel import Vessel
from monitor.store.alerts_written import read_last_hash, write_alerts, write_not_known
from monitor.store.dropped import Dropped, drop_some, is_summed_up, lately_heard_ms, may_drop_to, read_dropped
from monitor.store.inputs import read_others, write_inputs
from monitor.store.migrate import migrate
from monitor.store.photos import write_photos
from monitor.store.readings_written import write_readings
from monitor.store.rejects_written import write_rejects
from monitor.store.room import give_pages_back
from monitor.store.rows import ALERT_COLUMNS, CLOCK_FAULT, NOT_NEWS, alert_from_row
from monitor.store.stand_in import stand_ins
from monitor.store.telling_written import note_another_try, note_delivery, write_notices, write_telling
from monitor.store.transaction import transaction

WAL_STAYS_BYTES = 16 * 2**20
"""What the ``-wal`` file shrinks to once whoever read one view of the journal for long, such as a backup, has done."""


class Journal:
    """The writing end of the journal. Used by one thread of one process."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self._db = sqlite3.connect(path, isolation_level=None, timeout=5.0, check_same_thread=False)
        self._db.execute("PRAGMA auto_vacuum=INCREMENTAL")  # heeded by a new file only, and only before WAL
        self._db.execute("PRAGMA journal_mode=WAL")
        self._db.execute("PRAGMA synchronous=FULL")
        self._db.execute(f"PRAGMA journal_size_limit={WAL_STAYS_BYTES}")
        self._db.execute("PRAGMA foreign_keys=ON")
        migrate(self._db)
        self._series: dict[tuple[str, str], int] = {
            (vessel, sensor): key for key, vessel, sensor in self._db.execute("SELECT id, vessel, sensor FROM series")
        }
        self._hash = read_last_hash(self._db)
        self.dropped: Dropped = read_dropped(self._db)

    def close(self) -> None:
        """Close the file; what was appended stays."""
        self._db.close()

    def append(self, batch: Batch) -> None:
        """Commit a batch, whole or not at all.

        Raises:
            sqlite3.Error: where it could not be committed; nothing of it is kept, and it may be appended again.
        """
        series, last_hash = dict(self._series), self._hash
        try:
            with transaction(self._db):
                write_readings(self._db, batch, self._series)
                self._hash = write_alerts(self._db, batch, self._hash)
                write_telling(self._db, batch)
                write_inputs(self._db, batch.inputs)
                write_not_known(self._db, batch)
                write_rejects(self._db, batch)
                self._write_snapshots(batch)
        except BaseException:
            self._series, self._hash = series, last_hash
            raise

    def record_delivery(self, delivery: Delivery) -> None:
        """Note what came of trying to send a notice, and that its address is gone for good where it said so."""
        with transaction(self._db):
            note_delivery(self._db, delivery)

    def try_again(self, notice: str) -> None:
        """Have a notice that was given up tried again, and its address used again where it had said that it is gone."""
        with transaction(self._db):
            note_another_try(self._db, notice)

    def plan(self, notices: Sequence[Notice]) -> None:
        """Have notices sent that no batch brought about; one that was planned before stays as it is."""
        with transaction(self._db):
            write_notices(self._db, notices)

    def keep_photos(self, photos: Sequence[Photo]) -> None:
        """Keep photos, all or none; one that is there already stays as it is."""
        with transaction(self._db):
            write_photos(self._db, photos)

    def move_cursor(self, name: str, seq: int) -> None:
        """Note how far a reader of the journal has come."""
        self._db.execute(
            "INSERT INTO cursor (name, seq) VALUES (?, ?) ON CONFLICT (name) DO UPDATE SET seq = excluded.seq",
            (name, seq),
        )

    # What keeps the file from growing for ever (`monitor.store.retention`).

    def may_drop_to(self, followers: tuple[str, ...]) -> int:
        """Give the last seq whose reading neither a start nor any of these followers will ask for."""
        return may_drop_to(self._db, followers)

    def lately_heard_ms(self) -> int:
        """Give the least event time of what was stored last, 0 where nothing was."""
        return lately_heard_ms(self._db)

    def drop_raw(self, before_ms: int, to_seq: int, at_most: int) -> int:
        """Drop the oldest readings, at most so many; give how many were gone through (see `drop_some`)."""
        with transaction(self._db):
            passed = drop_some(self._db, before_ms, to_seq, at_most)
        self.dropped = read_dropped(self._db)
        return passed

    def give_back(self, free_part: int, at_most: int) -> bool:
        """Give free pages back to the disk where one in so many is free; say whether there are more of them."""
        return give_pages_back(self._db, free_part, at_most)

    # What the fleet asks while it takes readings in.

    def newest_stated_ms(self, vessel: str, sensor: str) -> int | None:
        """Give the newest stated time of a sensor, None where nothing of it is stored."""
        key = self._series.get((vessel, sensor))
        if key is None:
            return None
        row = self._db.execute("SELECT max(stated_ms) FROM reading WHERE series = ?", (key,)).fetchone()
        return None if row[0] is None else int(row[0])

    def value_at(self, vessel: str, sensor: str, stated_ms: int) -> float | None:
        """Give the stored value of a reading by its identity, None where there is none."""
        key = self._series.get((vessel, sensor))
        if key is None:
            return None
        query = "SELECT value FROM reading WHERE series = ? AND stated_ms = ?"
        row = self._db.execute(query, (key, stated_ms)).fetchone()
        return None if row is None else float(row[0])

    def is_summed_up(self, vessel: str, sensor: str, stated_ms: int) -> bool:
        """Say whether what a sensor said in an hour long ago is kept as a sum only, so that nothing can be added."""
        key = self._series.get((vessel, sensor))
        return key is not None and is_summed_up(self._db, self.dropped, key, stated_ms)

    # What a start reads.

    def ends_at(self) -> tuple[int, int | None]:
        """Give the seq of the last input (0 in a new journal) and the last clock (None before the first)."""
        seq, clock_ms = self._db.execute(
            "SELECT max(coalesce((SELECT max(seq) FROM reading), 0), coalesce((SELECT max(seq) FROM input), 0)),"
            " (SELECT at_ms FROM input WHERE kind = 'clock' ORDER BY seq DESC LIMIT 1)"
        ).fetchone()
        return int(seq), clock_ms

    def last_heard_ms(self) -> int | None:
        """Give the latest arrival or clock, from which on the agent heard nothing; None in a new journal."""
        _, clock_ms = self.ends_at()
        query = "SELECT arrived_ms FROM reading ORDER BY seq DESC LIMIT 1"
        times = [row[0] for row in self._db.execute(query)] + [clock_ms]
        return max((at_ms for at_ms in times if at_ms is not None), default=None)

    def snapshots(self) -> dict[str, tuple[int, str]]:
        """Give every vessel's last snapshot: its seq and its text."""
        return {v: (seq, body) for v, seq, body in self._db.execute("SELECT vessel, seq, body FROM snapshot")}

    def record_seqs(self) -> Iterator[tuple[int, str, int]]:
        """Give the seq of every version of every record, whose it is and from when on it is valid, in order."""
        yield from self._db.execute("SELECT seq, vessel, from_ms FROM record ORDER BY seq")

    def record_at(self, seq: int) -> Vessel:
        """Give the version of a record that was committed at a seq."""
        (document,) = self._db.execute("SELECT document FROM record WHERE seq = ?", (seq,)).fetchone()
        return Vessel.model_validate_json(document)

    def inputs_since(self, seq: int) -> Iterator[tuple[int, Input]]:
        """Give every input after a seq, in order; where raw readings were dropped, the hours stand in for them."""
        streams = [self._readings_since(seq), read_others(self._db, seq)]
        if seq < self.dropped.seq:
            streams.insert(0, stand_ins(self._db, self.dropped, seq))
        return merge(*streams, key=itemgetter(0))

    def telling(self) -> str | None:
        """Give where whoever plans the notices stood at the last commit, None where nothing was planned yet."""
        row = self._db.execute("SELECT body FROM telling").fetchone()
        return None if row is None else str(row[0])

    def open_alerts(self, vessel: str) -> list[Alert]:
        """Give a vessel's open alerts as they were committed."""
        query = f"SELECT {ALERT_COLUMNS} FROM alert WHERE vessel = ? AND ended_ms IS NULL ORDER BY opened_ms, id"
        return [alert_from_row(row) for row in self._db.execute(query, (vessel,))]

    def _readings_since(self, seq: int) -> Iterator[tuple[int, Reading]]:
        names = {key: pair for pair, key in self._series.items()}
        query = (
            "SELECT seq, series, stated_ms, event_ms, arrived_ms, value, mark FROM reading WHERE seq > ? ORDER BY seq"
        )
        for at, key, stated, event, arrived, value, mark in self._db.execute(query, (seq,)):
            yield (
                at,
                Reading(
                    *names[key],
                    stated_ms=stated,
                    event_ms=event,
                    arrived_ms=arrived,
                    value=value,
                    news=not mark & NOT_NEWS,
                    clock_fault=bool(mark & CLOCK_FAULT),
                ),
            )

    def _write_snapshots(self, batch: Batch) -> None:
        self._db.executemany(
            "INSERT INTO snapshot (vessel, seq, body) VALUES (?, ?, ?)"
            " ON CONFLICT (vessel) DO UPDATE SET seq = excluded.seq, body = excluded.body",
            [(vessel, batch.last_seq, body) for vessel, body in batch.snapshots.items()],
        )
