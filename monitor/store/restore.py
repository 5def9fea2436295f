"""Puts a backup in the place of the journal, and keeps the journal that was there beside it.

At every moment, a power cut included, the journal's name stands for a whole journal: the one before or the one after.
"""

import logging
import os
import shutil
import sqlite3
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from monitor.store.backup import copy_journal
from monitor.store.lock import WriterLock
from monitor.store.onto_disk import sync_file, sync_folder
from monitor.store.owner import belongs_like
from monitor.store.sound import Contents, NotAJournalError, look_through, opened_to_read

log = logging.getLogger(__name__)

_BESIDE = ("-wal", "-shm")
_HEADER = b"SQLite format 3\0"


class RestoreError(Exception):
    """A restore that was not done. Its text says why; the journal stands as it was."""


@dataclass(frozen=True, slots=True)
class Restored:
    """What a restore did.

    Attributes:
        contents: what the journal holds now.
        kept: where the journal that was there before is; None where there was none.
    """

    contents: Contents
    kept: Path | None


def restore(backup: Path, journal: Path, yard: str, now: datetime) -> Restored:
    """Put a backup in the place of the journal.

    Args:
        backup: the backup; it is read only.
        journal: the journal, which need not be there.
        yard: the yard's id by the settings.
        now: names what was there before.

    Raises:
        JournalBusyError: where an agent runs.
        RestoreError: where the backup cannot be used, or the disk fails; the journal stands as it was.
    """
    if journal.exists() and backup.exists() and journal.samefile(backup):
        raise RestoreError(f"{backup}: is the journal itself")
    try:
        journal.parent.mkdir(parents=True, exist_ok=True)
        lock = WriterLock(journal)
    except OSError as error:
        raise RestoreError(f"{journal}: cannot be locked: {error}") from error
    try:
        contents = look_through(backup)
        if contents.yards - {yard}:
            names = ", ".join(sorted(contents.yards))
            raise RestoreError(f"{backup}: is of the yard {names}, and these are the settings of {yard}")
        return Restored(contents, _put(backup, journal, now))
    except NotAJournalError as error:
        raise RestoreError(f"{error}; the journal stands as it was") from error
    except (OSError, sqlite3.Error) as error:
        raise RestoreError(f"{journal}: not restored: {error}") from error
    finally:
        lock.release()


def _put(backup: Path, journal: Path, now: datetime) -> Path | None:
    part = journal.with_name(journal.name + ".restoring")
    part.unlink(missing_ok=True)
    try:
        with opened_to_read(backup) as source:
            copy_journal(source, part)
        belongs_like(part, journal if journal.exists() else journal.parent)
        sync_file(part)
        kept = _keep(journal, now)
        part.replace(journal)
    except BaseException:
        part.unlink(missing_ok=True)
        raise
    sync_folder(journal.parent)
    return kept


def _keep(journal: Path, now: datetime) -> Path | None:
    """Give the journal a second name, what its ``-wal`` holds with it."""
    if not journal.exists():
        for end in _BESIDE:  # SQLite would take what a journal left behind for part of the new one
            _beside(journal, end).unlink(missing_ok=True)
        return None
    kept = journal.with_name(f"{journal.name}.before-restore-{now.astimezone(UTC):%Y%m%dT%H%M%SZ}")
    _take_wal_in(journal)
    try:
        os.link(journal, kept)
    except FileExistsError as error:
        raise RestoreError(f"{kept}: is there already: wait a second and try again") from error
    except OSError:  # a disk without second names
        shutil.copy2(journal, kept)
        sync_file(kept)
    for end in _BESIDE:  # still there where the journal is broken, or somebody reads it
        if _beside(journal, end).exists():
            _beside(journal, end).replace(_beside(kept, end))
    sync_folder(journal.parent)
    return kept


def _beside(journal: Path, end: str) -> Path:
    return journal.with_name(journal.name + end)


def _take_wal_in(journal: Path) -> None:
    with journal.open("rb") as file:
        if not file.read(len(_HEADER)).startswith(_HEADER):
            return  # no journal: opened, SQLite would throw away what lies beside it, which may help to mend it
    try:
        db = sqlite3.connect(journal, isolation_level=None, timeout=1.0)
        try:
            db.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()
        finally:
            db.close()
    except sqlite3.DatabaseError as error:
        log.warning("%s: what lies beside it is kept beside its copy: %s", journal, error)
