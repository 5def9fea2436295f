"""Whether a file is a journal that this program can use: whole, and of a form it knows."""

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from monitor.store.migrate import known_form

_TABLES = frozenset({"series", "reading", "hour", "input", "record", "snapshot", "alert", "alert_event", "notice"})
MOST_FAULTS = 5
"""So many are named; a file that is broken has them by the thousand."""


class NotAJournalError(Exception):
    """A file that cannot be used as a journal. Its text says which file and why."""


@dataclass(frozen=True, slots=True)
class Contents:
    """What a journal holds, in figures.

    Attributes:
        form: the number of its last migration.
        yards: the yards of its vessels, by their records.
        vessels: how many there are.
        readings: how many raw readings there are.
        last_seq: the seq of the last input.
    """

    form: int
    yards: frozenset[str]
    vessels: int
    readings: int
    last_seq: int


@contextmanager
def opened_to_read(path: Path) -> Iterator[sqlite3.Connection]:
    """Open a journal to read it only, in one view of it: what is written meanwhile is not seen, and not held up.

    Raises:
        NotAJournalError: where it is none, or cannot be read.
    """
    try:
        db = sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro", uri=True, isolation_level=None, timeout=5.0)
    except sqlite3.Error as error:
        raise NotAJournalError(f"{path}: cannot be opened: {error}") from error
    try:
        db.execute("PRAGMA query_only=ON")
        try:
            db.execute("BEGIN")
            db.execute("SELECT count(*) FROM sqlite_schema").fetchone()  # the view begins with the first question
        except sqlite3.Error as error:
            raise NotAJournalError(f"{path}: cannot be read as a journal: {error}") from error
        yield db
    finally:
        db.close()


def form_of(db: sqlite3.Connection, path: Path) -> int:
    """Give a journal's form.

    Raises:
        NotAJournalError: where it is no journal, or of a form that this program does not know.
    """
    (form,) = db.execute("PRAGMA user_version").fetchone()
    tables = {name for (name,) in db.execute("SELECT name FROM sqlite_schema WHERE type = 'table'")}
    if form < 1 or not tables >= _TABLES:
        raise NotAJournalError(f"{path}: is a SQLite file, and no journal of this program")
    if form > known_form():
        raise NotAJournalError(
            f"{path}: is a journal of form {form}, and this program knows forms up to {known_form()}:"
            " use the newer program"
        )
    return int(form)


def faults(db: sqlite3.Connection) -> list[str]:
    """Look through every page; give what is broken, in SQLite's words, at most `MOST_FAULTS`."""
    try:
        told = [str(row[0]) for row in db.execute(f"PRAGMA integrity_check({MOST_FAULTS})")]
    except sqlite3.DatabaseError as error:
        return [str(error)]
    return [] if told == ["ok"] else told


def contents_of(db: sqlite3.Connection, path: Path) -> Contents:
    """Count what a journal holds.

    Raises:
        NotAJournalError: where it is no journal that this program knows.
    """
    form = form_of(db, path)
    yards = db.execute("SELECT DISTINCT json_extract(document, '$.yard') FROM record")
    (vessels,) = db.execute("SELECT count(DISTINCT vessel) FROM record").fetchone()
    (readings,) = db.execute("SELECT count(*) FROM reading").fetchone()
    (last_seq,) = db.execute(
        "SELECT max(coalesce((SELECT max(seq) FROM reading), 0), coalesce((SELECT max(seq) FROM input), 0))"
    ).fetchone()
    return Contents(form, frozenset(str(yard) for (yard,) in yards), vessels, readings, last_seq)


def look_through(path: Path) -> Contents:
    """Give what a journal holds, after looking through every page of it.

    Raises:
        NotAJournalError: where it is none, or broken.
    """
    with opened_to_read(path) as db:
        try:
            contents = contents_of(db, path)
            broken = faults(db)
        except sqlite3.Error as error:
            raise NotAJournalError(f"{path}: is broken: {error}") from error
    if broken:
        raise NotAJournalError(f"{path}: is broken: {'; '.join(broken)}")
    return contents
