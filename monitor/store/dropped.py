"""Raw readings that were dropped since they were older than the yard keeps them: which, and dropping more of them.

They go in the order of their seq, so that what is left is the end of the journal. The hours keep what they said. Never
dropped is what a start would fold again, what a follower (history) has not sent, and each sensor's last news.
"""

from dataclasses import dataclass
from sqlite3 import Connection

from monitor.store.hours import HOUR_MS
from monitor.store.rows import CLOCK_FAULT, NOT_NEWS

_STATE = "SELECT seq, to_ms, readings FROM dropped"
# A vessel without a snapshot is folded from her first record on.
_FOLDED_TO = (
    "SELECT min(coalesce(snapshot.seq, first - 1)) FROM"
    " (SELECT vessel, min(seq) AS first FROM record GROUP BY vessel) LEFT JOIN snapshot USING (vessel)"
)
_LATELY_HEARD = "SELECT min(event_ms) FROM (SELECT event_ms FROM reading ORDER BY seq DESC LIMIT 20)"
_NEXT = (
    "SELECT seq, series, stated_ms, event_ms, arrived_ms FROM reading WHERE seq > ? AND seq <= ? ORDER BY seq LIMIT ?"
)
_LAST_NEWS = (
    f"SELECT coalesce((SELECT stated_ms FROM reading WHERE series = ?1 AND mark & {CLOCK_FAULT | NOT_NEWS} = 0"
    " ORDER BY stated_ms DESC LIMIT 1), (SELECT max(stated_ms) FROM reading WHERE series = ?1))"
)

_SUMMED_UP = (
    "SELECT EXISTS (SELECT 1 FROM hour WHERE series = ?1 AND hour_ms = ?2) AND NOT EXISTS"
    " (SELECT 1 FROM reading WHERE series = ?1 AND stated_ms >= ?2 AND stated_ms < ?3 AND seq > ?4)"
)


@dataclass(frozen=True, slots=True)
class Dropped:
    """What is gone of the raw readings.

    Attributes:
        seq: none up to it is there, but the last news of a sensor; 0 where nothing was dropped.
        to_ms: event time after which every reading is there; -1 where nothing was dropped.
        readings: how many were dropped in all.
    """

    seq: int
    to_ms: int
    readings: int


def read_dropped(db: Connection) -> Dropped:
    """Give what is gone."""
    return Dropped(*db.execute(_STATE).fetchone())


def may_drop_to(db: Connection, followers: tuple[str, ...]) -> int:
    """Give the last seq that may go: every watch is saved after it, and every follower has come past it."""
    bounds = [db.execute(_FOLDED_TO).fetchone()[0] or 0]
    for name in followers:
        row = db.execute("SELECT seq FROM cursor WHERE name = ?", (name,)).fetchone()
        bounds.append(0 if row is None else int(row[0]))
    return min(bounds)


def lately_heard_ms(db: Connection) -> int:
    """Give the least event time of what was stored last, 0 in a journal without readings.

    A second opinion on what the time is: where this machine's clock leaps a year ahead, sensors that state their own
    time do not, and nothing is dropped on its word alone.
    """
    return int(db.execute(_LATELY_HEARD).fetchone()[0] or 0)


def drop_some(db: Connection, before_ms: int, to_seq: int, at_most: int) -> int:
    """Drop the oldest readings, in the caller's transaction.

    Args:
        db: the journal.
        before_ms: those that arrived before this.
        to_seq: those up to this seq.
        at_most: so many.

    Returns:
        How many were gone through; fewer than ``at_most`` where no more may go.
    """
    state = read_dropped(db)
    old = []
    for row in db.execute(_NEXT, (state.seq, to_seq, at_most)):
        if row[4] >= before_ms:
            break
        old.append(row)
    if not old:
        return 0
    last_news = {series: db.execute(_LAST_NEWS, (series,)).fetchone()[0] for series in {row[1] for row in old}}
    gone = [row for row in old if row[2] != last_news[row[1]]]
    db.executemany("DELETE FROM reading WHERE series = ? AND stated_ms = ?", [(row[1], row[2]) for row in gone])
    to_ms = max((row[3] for row in gone), default=state.to_ms)
    db.execute(
        "UPDATE dropped SET seq = ?, to_ms = max(to_ms, ?), readings = readings + ?", (old[-1][0], to_ms, len(gone))
    )
    return len(old)


def is_summed_up(db: Connection, dropped: Dropped, series: int, stated_ms: int) -> bool:
    """Say whether the hour of a stated time is kept as a sum only.

    A gateway that sends again what it sent long ago would be counted twice: the reading by which a repeat is known has
    gone. An hour of which nothing was heard before, or of which something came after the drop, takes readings.
    """
    if stated_ms > dropped.to_ms:
        return False
    hour_ms = stated_ms // HOUR_MS * HOUR_MS
    return bool(db.execute(_SUMMED_UP, (series, hour_ms, hour_ms + HOUR_MS, dropped.seq)).fetchone()[0])
