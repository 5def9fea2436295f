"""Keeps raw readings for so many days, dropping what is older in small steps between the writer's batches.

The file's free pages are used again by what comes next; where far more are free than that needs, some are given back
to the disk, a few a step.
"""

import logging
import sqlite3

from monitor.store.hours import HOUR_MS
from monitor.store.journal import Journal

log = logging.getLogger(__name__)

DAY_MS = 24 * HOUR_MS
LEAST_DAYS = 30
"""What rules go by at full rate when they are folded again; charts of a few days and letters lie within it."""

AT_MOST_READINGS = 500
AT_MOST_PAGES = 200
LOOK_AGAIN_MS = 10 * 60_000
FREE_PART = 4
"""More than a quarter of the file free is more than the next days need."""


class Retention:
    """Drops old raw readings; called by the writer's own thread.

    Args:
        journal: the journal.
        keep_raw_days: how long raw readings are kept after they arrived; None for ever.
        followers: names of cursors that must have come past a reading before it goes.
    """

    def __init__(self, journal: Journal, keep_raw_days: int | None, followers: tuple[str, ...] = ()) -> None:
        self.failing: str | None = None
        self._journal = journal
        self._keep_ms = None if keep_raw_days is None else keep_raw_days * DAY_MS
        self._followers = followers
        self._look_at_ms: int | None = None
        self._to_seq = 0

    def step(self, now_ms: int | None) -> bool:
        """Do a little, in a transaction of its own; it raises nothing of the disk, which batches will tell of.

        Args:
            now_ms: the journal's event time, None before a stream's first clock.

        Returns:
            Whether more is to be done at once; else it looks again after some minutes of event time.
        """
        if self._keep_ms is None or now_ms is None:
            return False
        if self._look_at_ms is not None and now_ms < self._look_at_ms:
            return False
        try:
            heard_ms = min(now_ms, self._journal.lately_heard_ms())
            more = self._do_some((heard_ms - self._keep_ms) // HOUR_MS * HOUR_MS)
        except sqlite3.Error as error:
            if self.failing is None:
                log.warning("old readings cannot be dropped now (%s); it is tried again", error)
            self.failing = str(error)
            more = False
        else:
            self.failing = None
        self._look_at_ms = None if more else now_ms + LOOK_AGAIN_MS
        return more

    def _do_some(self, before_ms: int) -> bool:
        if self._look_at_ms is not None or self._to_seq == 0:
            self._to_seq = self._journal.may_drop_to(self._followers)
        passed = self._journal.drop_raw(before_ms, self._to_seq, AT_MOST_READINGS)
        return passed == AT_MOST_READINGS or self._journal.give_back(FREE_PART, AT_MOST_PAGES)
