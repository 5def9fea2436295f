"""How much of the journal's file is free, and giving some of it back to the disk."""

import sqlite3
from dataclasses import dataclass
from pathlib import Path
from sqlite3 import Connection

_INCREMENTAL = 2
"""SQLite's number for ``auto_vacuum=INCREMENTAL``."""


@dataclass(frozen=True, slots=True)
class Room:
    """Pages of a journal's file.

    Attributes:
        pages: all of them.
        free: those that hold nothing; what comes next is written into them.
        page_bytes: the size of one.
        can_shrink: whether free pages can be given back while the agent runs.
    """

    pages: int
    free: int
    page_bytes: int
    can_shrink: bool


def read_room(db: Connection) -> Room:
    """Count the pages of a file."""
    pages, free, page_bytes, vacuum = (
        int(db.execute(f"PRAGMA {name}").fetchone()[0])
        for name in ("page_count", "freelist_count", "page_size", "auto_vacuum")
    )
    return Room(pages, free, page_bytes, vacuum == _INCREMENTAL)


def give_pages_back(db: Connection, free_part: int, at_most: int) -> bool:
    """Give free pages back to the disk where more than one in so many is free.

    Args:
        db: the journal.
        free_part: of how many pages one may be free.
        at_most: so many pages.

    Returns:
        Whether there are more to give back.
    """
    room = read_room(db)
    if not room.can_shrink or room.free * free_part <= room.pages:
        return False
    # As a script: SQLite frees a page at each step, and only a script is stepped to its end where it gives no columns.
    db.executescript(f"PRAGMA incremental_vacuum({at_most})")
    room = read_room(db)
    return room.free * free_part > room.pages


def compact(path: Path) -> None:
    """Write the whole file anew, without free pages, so that it can shrink while the agent runs from now on.

    No other process may use it, and the disk must have room for as much again.

    Raises:
        sqlite3.Error: where it cannot be; the file is as it was.
    """
    db = sqlite3.connect(path, isolation_level=None, timeout=5.0)
    try:
        db.execute("PRAGMA auto_vacuum=INCREMENTAL")
        db.execute("VACUUM")
        db.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()
    finally:
        db.close()
