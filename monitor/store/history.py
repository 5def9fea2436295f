"""History beyond this machine: the stored readings, sent on to any server with the InfluxDB v2 write API.

It follows the journal by a cursor on ``seq``, so a server that is away delays and loses nothing, and blocks nobody. A
server that is killed may lose what it said it took in its last seconds. So the cursor stands at what was taken
`OVERLAP_S` ago, over a connection that has held since; whatever comes to an end, we or the connection, begins again
there. What is written again changes nothing: a point is known by its series and time.
"""

import logging
import threading
import time
from collections import deque
from collections.abc import Callable, Iterator
from concurrent.futures import Future
from pathlib import Path

from monitor.store.history_config import HistoryConfig
from monitor.store.history_points import Points
from monitor.store.history_server import HistoryServer, NotTakenError
from monitor.store.reader import Reader

__all__ = ["CURSOR", "History", "HistoryConfig"]

log = logging.getLogger(__name__)

CURSOR = "history"
OVERLAP_S = 30.0
"""Several times what servers take to put on disk what they took, and less than they keep idle connections for."""
MOVE_EVERY_S = 5.0
IDLE_S = 5.0
FIRST_RETRY_S = 1.0
LONGEST_RETRY_S = 300.0
STOP_WITHIN_S = 3.0
LOGGED, LOGGED_EACH = 10, 1_000
"""How many refused points are logged one by one since the start, and from then on one of so many."""


class History:
    """Sends stored readings on, in the order of their seq.

    Args:
        config: the server.
        yard: the yard's id, a tag of every point.
        journal: the journal's file.
        move_cursor: has the writer note how far it has come; the future is done when that is committed.

    Attributes:
        failing: why nothing is taken now, None while all is well.
        taken_to: the last seq that was taken, or that nothing of is sent.
        complete: whether all that is stored has been taken.
        refused: how many points the server has found fault with since the start.
    """

    def __init__(
        self, config: HistoryConfig, yard: str, journal: Path, move_cursor: Callable[[int], "Future[str | None]"]
    ) -> None:
        self.failing: str | None = None
        self.taken_to = 0
        self.complete = False
        self.refused = 0
        self._config, self._yard = config, yard
        self._reader = Reader(journal)
        self._points = Points(self._reader, yard)
        self._move_cursor = move_cursor
        self._last_refusal = ""
        self._retry_s = FIRST_RETRY_S
        self._doubts_new_connections = True
        self._stopping, self._woken = threading.Event(), threading.Event()
        self._thread = threading.Thread(target=self._run, name="history", daemon=True)

    def start(self) -> None:
        """Start sending."""
        self._thread.start()

    def wake(self) -> None:
        """Say that something new is stored."""
        self._woken.set()

    def stop(self) -> None:
        """Stop; what is not sent by now is sent after the next start."""
        self._stopping.set()
        self._woken.set()
        self._thread.join(STOP_WITHIN_S)
        if not self._thread.is_alive():
            self._reader.close()

    @property
    def alive(self) -> bool:
        """Whether the thread runs."""
        return self._thread.is_alive()

    def delays(self) -> Iterator[str]:
        """Say in plain sentences what history lacks."""
        died = self._thread.ident is not None and not self.alive and not self._stopping.is_set()
        if died or self.failing is not None:
            yield f"History is not sent: {self.failing or 'its thread has died'}"
        if self.refused:
            yield f"The history server refused {self.refused} readings since the start; the last: {self._last_refusal}"

    def _run(self) -> None:
        while not self._stopping.is_set():
            try:
                with HistoryServer(self._config, self._yard) as server:
                    self._follow(server)
            except NotTakenError as error:
                self._wait_after(error)
            except Exception as error:  # the thread must outlive a journal that cannot be read just now
                self.complete = False
                log.exception("history cannot be sent now; trying again in %.0f s", LONGEST_RETRY_S / 10)
                self.failing = f"{type(error).__name__}: {error}"
                self._stopping.wait(LONGEST_RETRY_S / 10)

    def _follow(self, server: HistoryServer) -> None:
        """Send from the cursor on, until stopped, or until the server may have lost what it took.

        Raises:
            NotTakenError: where no answer came.
        """
        self._points.begin()
        seq = sure = noted = self._cursor()
        unsure: deque[tuple[float, int]] = deque()
        last: list[str] = []
        noted_at = time.monotonic()
        while not self._stopping.is_set():
            pack = self._points.after(seq)
            due = bool(unsure) and time.monotonic() - unsure[0][0] >= OVERLAP_S
            lines = pack.lines or (last if due else [])
            known = server.connections
            if lines:
                self._write(server, lines)
                if self._stopping.is_set():
                    return
                if unsure and server.connections > known and self._doubts_new_connections:
                    self._doubts_new_connections = False  # once in a row: some servers close every connection
                    return
                last = lines[-1:]
            while due and unsure and time.monotonic() - unsure[0][0] >= OVERLAP_S:
                sure, self._doubts_new_connections = unsure.popleft()[1], True
            if pack.last_seq > seq:
                seq = pack.last_seq
                unsure.append((time.monotonic(), seq))
            self.taken_to = seq
            if sure > noted and time.monotonic() - noted_at >= min(MOVE_EVERY_S, OVERLAP_S):
                self._move_cursor(sure)
                noted, noted_at = sure, time.monotonic()
            self.complete = not pack.full
            if not pack.full:
                self._woken.wait(min(IDLE_S, OVERLAP_S))
                self._woken.clear()

    def _write(self, server: HistoryServer, lines: list[str]) -> None:
        """Write points, however long a server that answers takes until it takes them."""
        while not self._stopping.is_set():
            try:
                server.write(lines, self._note_refused)
            except NotTakenError as error:
                if error.gone:
                    raise
                self._wait_after(error)
            else:
                self._note(None)
                self._retry_s = FIRST_RETRY_S
                return

    def _cursor(self) -> int:
        row = self._reader.row("SELECT seq FROM cursor WHERE name = ?", (CURSOR,))
        return 0 if row is None else int(row[0])

    def _wait_after(self, error: NotTakenError) -> None:
        self.complete = False
        self._note(str(error))
        self._stopping.wait(self._retry_s)
        self._retry_s = min(2 * self._retry_s, LONGEST_RETRY_S)

    def _note_refused(self, line: str, reason: str) -> None:
        self.refused += 1
        self._last_refusal = reason
        if self.refused <= LOGGED or self.refused % LOGGED_EACH == 0:
            log.warning("the history server refused a reading, number %d (%s): %s", self.refused, reason, line)

    def _note(self, trouble: str | None) -> None:
        if trouble is not None and self.failing is None:
            log.warning("history cannot be sent to %s (%s); it is tried again", self._config.shown, trouble)
        elif trouble is None and self.failing is not None:
            log.warning("history is sent to %s again", self._config.shown)
        self.failing = trouble
