"""How far the history server is behind the journal."""

import sqlite3
from collections.abc import Callable

from monitor.store.checked import Figure, Said
from monitor.store.hours import HOUR_MS

CURSOR = "history"
OLD_MS = HOUR_MS
"""A server that is there takes readings within a minute; for an hour it has been away."""


def look_at_history(db: sqlite3.Connection, now_ms: int, spell: Callable[[int], str], *, wanted: bool) -> Said | None:
    """Count what the server has not confirmed; None where no server is named and none ever was.

    Args:
        db: the journal.
        now_ms: event time.
        spell: writes a time (ms UTC) for people.
        wanted: whether the settings name a server.
    """
    row = db.execute("SELECT seq FROM cursor WHERE name = ?", (CURSOR,)).fetchone()
    if row is None and not wanted:
        return None
    cursor = 0 if row is None else int(row[0])
    waiting, oldest_ms = db.execute("SELECT count(*), min(arrived_ms) FROM reading WHERE seq > ?", (cursor,)).fetchone()
    figures: dict[str, Figure] = {"cursor": cursor, "waiting": waiting, "oldest_ms": oldest_ms}
    if not waiting:
        return Said("history", ok=True, words="The history server has all that is stored.", figures=figures)
    words = f"The history server has not confirmed {waiting} readings, the oldest of {spell(oldest_ms)}."
    if not wanted:
        words += " The settings name no server now: nothing is sent."
        return Said("history", ok=True, words=words, figures=figures)
    late = now_ms - oldest_ms > OLD_MS
    words += " Look at that server, its address and its token; nothing is lost meanwhile." if late else ""
    return Said("history", ok=not late, words=words, figures=figures)
