"""Counts hours again from the raw readings, and holds them against the roll-ups."""

from dataclasses import dataclass
from math import isclose
from sqlite3 import Connection

from monitor.store.dropped import read_dropped

# As `hours` makes them again: a failed reading counts in worst only, a faulty clock and what is no news in nothing.
_AGAIN = (
    "SELECT min(value) FILTER (WHERE flag < 4), max(value) FILTER (WHERE flag < 4),"
    " coalesce(sum(value) FILTER (WHERE flag < 4), 0), count(*) FILTER (WHERE flag < 4)"
    " FROM reading WHERE series = ?1 AND stated_ms >= ?2 AND stated_ms < ?2 + 3600000 AND mark & 6 = 0"
)
_HOURS = "SELECT series, hour_ms, low, high, total, count FROM hour WHERE hour_ms > ?"
_NOT_SUMMED_UP = (
    "SELECT vessel, sensor, heard.hour_ms FROM (SELECT DISTINCT series, stated_ms / 3600000 * 3600000 AS hour_ms"
    " FROM reading WHERE stated_ms / 3600000 * 3600000 > ? AND mark & 6 = 0) AS heard"
    " JOIN series ON series.id = heard.series LEFT JOIN hour USING (series, hour_ms) WHERE hour.count IS NULL"
)
SUMS_AGREE_TO = 1e-9
"""Floating-point sums of an hour taken in another order differ by rounding only."""


@dataclass(frozen=True, slots=True)
class Recount:
    """What a recount found.

    Attributes:
        hours: how many hours there are with all their raw readings.
        looked_at: how many of them were counted again.
        wrong: how many did not agree.
        first_wrong: the first of those as (vessel, sensor, hour in ms UTC), None where all agree.
    """

    hours: int
    looked_at: int
    wrong: int
    first_wrong: tuple[str, str, int] | None


def recount(db: Connection, at_most: int | None) -> Recount:
    """Count hours again.

    Args:
        db: the journal.
        at_most: so many hours, spread evenly over all; None for every hour, and for those that have no roll-up.
    """
    kept_from = (read_dropped(db).to_ms,)
    (hours,) = db.execute("SELECT count(*) FROM hour WHERE hour_ms > ?", kept_from).fetchone()
    every = 1 if at_most is None or hours <= at_most else -(-hours // at_most)
    looked_at = wrong = 0
    first_wrong = None
    for place, (series, hour_ms, *kept) in enumerate(db.execute(_HOURS, kept_from)):
        if place % every:
            continue
        looked_at += 1
        counted = db.execute(_AGAIN, (series, hour_ms)).fetchone()
        if _agree(kept, counted):
            continue
        wrong += 1
        if first_wrong is None:
            vessel, sensor = db.execute("SELECT vessel, sensor FROM series WHERE id = ?", (series,)).fetchone()
            first_wrong = (vessel, sensor, hour_ms)
    missing = [] if at_most is not None else db.execute(_NOT_SUMMED_UP, kept_from).fetchall()
    wrong += len(missing)
    first_wrong = first_wrong or next(iter(missing), None)
    return Recount(hours, looked_at, wrong, first_wrong)


def _agree(kept: list[float | None], counted: tuple[float | None, ...]) -> bool:
    low, high, total, count = kept
    low_again, high_again, total_again, count_again = counted
    if total is None or total_again is None:
        return False
    near = isclose(total, total_again, rel_tol=SUMS_AGREE_TO, abs_tol=1e-6)
    return (low, high, count) == (low_again, high_again, count_again) and near
