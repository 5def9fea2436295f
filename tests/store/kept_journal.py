"""A yard's journal as an agent leaves it: readings, clocks, snapshots, hours; for what is done with whole journals."""

import sqlite3
from pathlib import Path

from boats import DAY, HOUR, LAID_UP_MS, MINUTE, boat

from monitor.fleet import Fleet, Save
from monitor.model.inputs import RecordVersion
from monitor.model.parcel import Parcel, RawReading
from monitor.store.journal import Journal

EVERY_MS = 10 * MINUTE
SENSORS = ("engine-space", "outside", "house-volts", "bilge-float")
USUAL = {"engine-space": 6.0, "outside": 4.0, "house-volts": 12.7, "bilge-float": 0.0}


class Yard:
    """A fleet of one boat over a real journal, without an agent around it."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.journal = Journal(path)
        self.fleet = Fleet(self.journal)
        self.fleet.restore(self.journal)
        if not self.fleet.watches:
            self.fleet.command(RecordVersion(boat(), LAID_UP_MS, "test"))
            self.commit(Save.EVERYTHING)

    def hear(self, from_ms: int, to_ms: int, sensors: tuple[str, ...] = SENSORS) -> int:
        """Hear every sensor each ten minutes and a clock each hour, committing six hours at a time; give how many."""
        heard = 0
        for at_ms in range(from_ms, to_ms, EVERY_MS):
            for sensor in sensors:
                self.say(sensor, at_ms, USUAL[sensor] + at_ms // EVERY_MS % 5 / 10 * (sensor != "bilge-float"), at_ms)
                heard += 1
            if (at_ms + EVERY_MS) % HOUR == 0:
                self.fleet.clock(at_ms + EVERY_MS)
            if (at_ms + EVERY_MS) % (6 * HOUR) == 0:
                self.commit()
        self.commit(Save.EVERYTHING)
        return heard

    def say(self, sensor: str, stated_ms: int, value: float, arrived_ms: int, vessel: str = "tern") -> None:
        """Take one reading in; it is not committed yet."""
        raw = RawReading(vessel, sensor, value, stated_ms)
        self.fleet.take(Parcel(1, 1, 1, retained=False, topic="", readings=[raw]), arrived_ms, caught_up=True)

    def commit(self, save: Save = Save.NOTHING) -> None:
        """Commit what was taken in."""
        batch = self.fleet.hand_over(save)
        if not batch.is_empty:
            self.journal.append(batch)

    def close(self) -> None:
        """Close the journal."""
        self.journal.close()


def settings_for(folder: Path) -> Path:
    """Write settings of the boat's yard, whose journal is ``journal.sqlite`` in the same folder."""
    path = folder / "settings.toml"
    path.write_text(
        '[yard]\nid = "quay"\nname = "Quay"\n[journal]\npath = "journal.sqlite"\nclock = "stream"\n'
        "[web]\nenabled = false\n"
    )
    return path


def filled(tmp_path: Path, days: int = 2) -> Path:
    """Fill ``journal.sqlite`` in a folder with some days."""
    yard = Yard(tmp_path / "journal.sqlite")
    yard.hear(LAID_UP_MS, LAID_UP_MS + days * DAY)
    yard.close()
    return yard.path


def count(path: Path) -> int:
    """Count the raw readings of a journal."""
    db = sqlite3.connect(path)
    found = int(db.execute("SELECT count(*) FROM reading").fetchone()[0])
    db.close()
    return found


def rows(path: Path) -> list[tuple[object, ...]]:
    """Give the raw readings of a journal, in order."""
    db = sqlite3.connect(path)
    found = db.execute("SELECT * FROM reading ORDER BY seq").fetchall()
    db.close()
    return found


def spoil(path: Path) -> None:
    """Overwrite a page in the middle of the readings."""
    db = sqlite3.connect(path)
    db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    (root,) = db.execute("SELECT rootpage FROM sqlite_schema WHERE name = 'reading'").fetchone()
    (size,) = db.execute("PRAGMA page_size").fetchone()
    db.close()
    with path.open("r+b") as file:
        file.seek((root - 1) * size)
        file.write(b"\xa5" * size)
