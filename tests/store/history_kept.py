"""Readings put straight into a journal, and the history sender over it, for tests of history."""

import time
from collections.abc import Callable
from concurrent.futures import Future
from pathlib import Path

from boats import MINUTE

from monitor.model.batch import Batch
from monitor.model.reading import Reading
from monitor.model.scale import Flag
from monitor.store.history import CURSOR, History
from monitor.store.history_config import HistoryConfig
from monitor.store.journal import Journal

STEP_MS = 5 * MINUTE


def reading(at_ms: int, value: float, flag: Flag = Flag.PASS, vessel: str = "tern", sensor: str = "cabin") -> Reading:
    """Make a reading that came when it was taken."""
    return Reading(vessel, sensor, at_ms, at_ms, at_ms, value, flag=flag)


class Kept:
    """A journal that readings are appended to as they are."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.journal = Journal(path)
        self._seq = self.journal.ends_at()[0]

    def append(self, readings: list[Reading], settled: list[Reading] | None = None) -> None:
        """Commit readings, and flags of former ones that have become final."""
        numbered = list(enumerate(readings, self._seq + 1))
        self._seq += len(readings)
        self.journal.append(Batch(readings=numbered, settled=settled or [], last_seq=self._seq))

    def history(self, config: HistoryConfig, yard: str = "quay") -> History:
        """Make the sender over it; its cursor is moved at once."""

        def move(seq: int) -> "Future[str | None]":
            self.journal.move_cursor(CURSOR, seq)
            done: Future[str | None] = Future()
            done.set_result(None)
            return done

        return History(config, yard, self.path, move)

    def close(self) -> None:
        """Close the journal."""
        self.journal.close()


def until(reached: Callable[[], bool], within_s: float = 20) -> None:
    """Wait until something has come about."""
    end = time.monotonic() + within_s
    while not reached():
        assert time.monotonic() < end, "it did not come about in time"
        time.sleep(0.02)
