"""The chain of what happened to alerts: each event's hash covers the one before, so that a later edit shows.

It shows edits within it and not that its end was cut off: whoever wants to prove that keeps the last hash elsewhere,
such as in the yard's own book.
"""

import sqlite3
from dataclasses import dataclass

from monitor.store.rows import EVENT_COLUMNS, chained, event_from_row


@dataclass(frozen=True, slots=True)
class Chain:
    """What a look through the chain found.

    Attributes:
        events: how many there are.
        last: the last hash, empty where there is none.
        has_at: which event, counted from 1, has the hash that was asked for; None where none has.
        broken_at: alert, and event time (ms UTC), of the first event whose hash does not follow; None where all do.
    """

    events: int
    last: str
    broken_at: tuple[str, int] | None
    has_at: int | None = None


def read_chain(db: sqlite3.Connection, has: str = "") -> Chain:
    """Look the chain through, from its first event to the last.

    Args:
        db: the journal.
        has: a hash to look for; empty for none.
    """
    before, count, has_at = "", 0, None
    rows = db.execute(f"SELECT seq, place, hash, {EVENT_COLUMNS} FROM alert_event ORDER BY seq, place")
    for seq, place, kept, *columns in rows:
        try:
            follows = kept == chained(before, seq, place, event_from_row(columns))
        except (KeyError, ValueError):  # words that no event of ours has
            follows = False
        if not follows:
            return Chain(count, before, (str(columns[0]), int(columns[2])), has_at)
        before, count = kept, count + 1
        if kept == has:
            has_at = count
    return Chain(count, before, None, has_at)
