"""Copies a journal into one file, while the agent goes on writing.

The copy is of one moment: SQLite's backup reads a view of the journal that later batches do not change, a few pages at
a time, and holds up no writer. Meanwhile the journal's ``-wal`` file grows by what comes in.
"""

import os
import sqlite3
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from monitor.store.onto_disk import sync_file, sync_folder
from monitor.store.sound import Contents, NotAJournalError, form_of, look_through, opened_to_read

PAGES_A_STEP = 100
ONLY_OWNER = 0o600


class BackupError(Exception):
    """A backup that was not made. Its text says why, and what to do."""


@dataclass(frozen=True, slots=True)
class Copied:
    """A copy of a journal.

    Attributes:
        contents: what it holds.
        size_bytes: how large it is.
    """

    contents: Contents
    size_bytes: int


def back_up(
    journal: Path, into: Path, *, overwrite: bool, progress: Callable[[int, int], None] | None = None
) -> Copied:
    """Copy a journal into a file, look the copy through, and only then give it its name.

    Args:
        journal: the journal; an agent may be writing it.
        into: the file. Its folder must be there.
        overwrite: whether it may take the place of one that is there.
        progress: told after each step how many pages of how many are copied.

    Raises:
        BackupError: where it cannot be made; what was there before stands.
    """
    _refuse(journal, into, overwrite=overwrite)
    part = into.with_name(into.name + ".part")
    try:
        part.unlink(missing_ok=True)
        _copy(journal, part, progress)
        contents = look_through(part)
        sync_file(part)
        if overwrite:
            part.replace(into)
        else:
            os.link(part, into)  # which fails where somebody made that file meanwhile
            part.unlink()
        sync_folder(into.parent)
        return Copied(contents, into.stat().st_size)
    except (OSError, sqlite3.Error, NotAJournalError) as error:
        part.unlink(missing_ok=True)
        raise BackupError(f"{into}: the backup was not made: {error}") from error


def copy_journal(source: sqlite3.Connection, into: Path, progress: Callable[[int, int], None] | None = None) -> None:
    """Copy an open journal into a new file that only its owner may read: one file, without ``-wal`` beside it."""
    os.close(os.open(into, os.O_WRONLY | os.O_CREAT | os.O_EXCL, ONLY_OWNER))
    target = sqlite3.connect(into, isolation_level=None)
    try:
        source.backup(
            target,
            pages=PAGES_A_STEP,
            progress=None if progress is None else lambda _, left, pages: progress(pages - left, pages),
        )
        target.execute("PRAGMA journal_mode=DELETE").fetchone()
    finally:
        target.close()


def _refuse(journal: Path, into: Path, *, overwrite: bool) -> None:
    if not journal.exists():
        raise BackupError(f"{journal}: there is no journal to back up")
    if into.is_dir():
        raise BackupError(f"{into}: is a folder: name the file the backup is to become")
    if into.exists() and into.samefile(journal):
        raise BackupError(f"{into}: is the journal itself: name another file, best on another disk")
    if into.exists() and not overwrite:
        raise BackupError(f"{into}: is there already: name another file, or give --overwrite")
    if not into.parent.is_dir():
        raise BackupError(f"{into.parent}: there is no such folder")


def _copy(journal: Path, part: Path, progress: Callable[[int, int], None] | None) -> None:
    with opened_to_read(journal) as source:
        form_of(source, journal)
        copy_journal(source, part, progress)
