"""Sends the notices that wait in the outbox: one thread, that blocks nobody and is blocked by nobody.

The outbox is the truth: what waits there is tried until it is sent or refused for ever, through hours of outage and
over restarts. What came of a try is reported through the agent's writer; until that report is committed, the notice is
in hand and is not taken again. A notice is sent twice only where the agent dies between the server's yes and the
commit, and then with the same Message-ID.
"""

import logging
import threading
import time
from collections.abc import Callable
from concurrent.futures import Future, wait
from dataclasses import dataclass
from email.message import EmailMessage

from monitor.model.notice import Delivery
from monitor.model.outbox import Outbox, Waiting
from monitor.notify.backoff import Backoff
from monitor.notify.plan import EMAIL
from monitor.notify.smtp import Connection, NotNowError, RefusedError, UnreachableError

log = logging.getLogger(__name__)

AT_ONCE = 50
LONGEST_SLEEP_S = 30.0
STOP_WITHIN_S = 1.5
SERVER_BACKOFF = Backoff(first_s=2.0, longest_s=300.0)
NOTICE_BACKOFF = Backoff(first_s=30.0, longest_s=3_600.0)


def wall_ms() -> int:
    """Give the wall clock's time (ms UTC)."""
    return time.time_ns() // 1_000_000


@dataclass(slots=True)
class Progress:
    """What the sender has done since it started, for pages and metrics.

    Attributes:
        sent: notices taken by the server.
        refused: notices given up.
        failing: why nothing can be sent now, empty where nothing stands in the way.
        failing_since_ms: since when.
    """

    sent: int = 0
    refused: int = 0
    failing: str = ""
    failing_since_ms: int | None = None


class Sender:
    """Sends what waits in an outbox.

    Args:
        outbox: what waits.
        write: writes a notice's message, dated by the given time (ms UTC); a `ValueError` gives the notice up.
        connect: opens a connection, or raises `UnreachableError`.
        report: has a delivery committed; its future is done when it is.
        server_backoff: waits while the server is away.
        notice_backoff: waits for one message that is not taken now.
        now_ms: the wall clock.
    """

    def __init__(
        self,
        outbox: Outbox,
        write: Callable[[Waiting, int], EmailMessage],
        connect: Callable[[], Connection],
        report: Callable[[Delivery], "Future[None]"],
        *,
        server_backoff: Backoff = SERVER_BACKOFF,
        notice_backoff: Backoff = NOTICE_BACKOFF,
        now_ms: Callable[[], int] = wall_ms,
    ) -> None:
        self.progress = Progress()
        self._outbox, self._write, self._connect, self._report = outbox, write, connect, report
        self._server_backoff, self._notice_backoff, self._now_ms = server_backoff, notice_backoff, now_ms
        self._in_hand: dict[str, tuple[Delivery, Future[None]]] = {}
        self._connection: Connection | None = None
        self._server_tries = 0
        self._server_from_ms = 0
        self._stopping = threading.Event()
        self._woken = threading.Event()
        self._thread = threading.Thread(target=self._run, name="mail", daemon=True)

    def start(self) -> None:
        """Start sending."""
        self._thread.start()

    def wake(self) -> None:
        """Say that something new may wait."""
        self._woken.set()

    def stop(self) -> None:
        """End within about two seconds; what is not sent by then waits in the outbox for the next start."""
        self._stopping.set()
        self._woken.set()
        self._thread.join(STOP_WITHIN_S)
        connection = self._connection
        if self._thread.is_alive() and connection is not None:
            connection.abort()
            self._thread.join(STOP_WITHIN_S / 3)
        wait([future for _, future in self._in_hand.copy().values()], timeout=STOP_WITHIN_S / 3)

    def _run(self) -> None:
        while not self._stopping.is_set():
            try:
                pause_s = self._turn()
            except Exception:  # the thread must outlive a journal that cannot be read just now
                log.exception("notices cannot be sent now; trying again in %.0f s", LONGEST_SLEEP_S)
                pause_s = LONGEST_SLEEP_S
            self._woken.wait(pause_s)
            self._woken.clear()

    def _turn(self) -> float:
        """Send what is due; give how long to sleep after it (s)."""
        self._sweep()
        now_ms = self._now_ms()
        if now_ms >= self._server_from_ms:
            due = self._outbox.waiting(EMAIL, now_ms, AT_ONCE + len(self._in_hand))
            due = [waiting for waiting in due if waiting.notice.id not in self._in_hand]
            if due:
                self._send_all(due)
                return 0.0 if self._server_tries == 0 and not self._in_hand else self._pause_s()
        return self._pause_s()

    def _pause_s(self) -> float:
        now_ms = self._now_ms()
        if now_ms < self._server_from_ms:
            return min((self._server_from_ms - now_ms) / 1000, LONGEST_SLEEP_S)
        if self._in_hand:
            wait([future for _, future in self._in_hand.values()], timeout=0.5)
            return 0.0 if any(future.done() for _, future in self._in_hand.values()) else 0.5
        due_ms = self._outbox.next_due_ms(EMAIL)
        return LONGEST_SLEEP_S if due_ms is None else min(max((due_ms - now_ms) / 1000, 0.0), LONGEST_SLEEP_S)

    def _sweep(self) -> None:
        """Let go of what has been committed; report again what could not be."""
        for key, (delivery, future) in list(self._in_hand.items()):
            if future.done():
                if future.exception() is None:
                    del self._in_hand[key]
                else:
                    self._in_hand[key] = (delivery, self._report(delivery))

    def _send_all(self, due: list[Waiting]) -> None:
        try:
            for waiting in due:
                if self._stopping.is_set():
                    return
                self._send(waiting)
        except UnreachableError as error:
            self._note_outage(str(error))
        finally:
            connection, self._connection = self._connection, None
            if connection is not None:
                connection.close()

    def _send(self, waiting: Waiting) -> None:
        """Send one notice and report what came of it.

        Raises:
            UnreachableError: where the server cannot be used; the notice's try is reported all the same.
        """
        notice = waiting.notice
        try:
            message = self._write(waiting, self._now_ms())
        except ValueError as error:
            self._give_up(waiting, f"it cannot be written: {error}")
            return
        except Exception as error:  # one message that fails must not keep the others
            log.exception("notice %s cannot be written", notice.id)
            self._put_off(waiting, f"it cannot be written: {error!r}")
            return
        try:
            if self._connection is None:
                self._connection = self._connect()
            if self._stopping.is_set():
                raise UnreachableError("stopping")  # noqa: TRY301 - sent now, it could no longer be reported
            self._connection.send(message)
        except RefusedError as error:
            self._give_up(waiting, str(error))
        except NotNowError as error:
            self._put_off(waiting, str(error))
        except UnreachableError as error:
            if not self._stopping.is_set():
                self._server_tries += 1
                after_s = self._server_backoff.after_s(self._server_tries, "server")
                self._server_from_ms = self._now_ms() + round(after_s * 1000)
                self._done(waiting, sent=False, next_ms=self._server_from_ms, error=str(error))
            raise
        else:
            self._note_success()
            self._done(waiting, sent=True, next_ms=None, error="")

    def _give_up(self, waiting: Waiting, reason: str) -> None:
        notice = waiting.notice
        self.progress.refused += 1
        log.error("notice %s to %s is given up and will not be sent: %s", notice.id, notice.address, reason)
        self._done(waiting, sent=False, next_ms=None, error=reason)

    def _put_off(self, waiting: Waiting, reason: str) -> None:
        notice = waiting.notice
        after_s = self._notice_backoff.after_s(waiting.tries + 1, notice.id)
        log.warning("notice %s to %s waits %.0f s more: %s", notice.id, notice.address, after_s, reason)
        self._done(waiting, sent=False, next_ms=self._now_ms() + round(after_s * 1000), error=reason)

    def _done(self, waiting: Waiting, *, sent: bool, next_ms: int | None, error: str) -> None:
        delivery = Delivery(waiting.notice.id, sent=sent, at_ms=self._now_ms(), next_ms=next_ms, error=error)
        self._in_hand[delivery.notice] = (delivery, self._report(delivery))

    def _note_outage(self, reason: str) -> None:
        if self._stopping.is_set():
            return
        if not self.progress.failing:
            self.progress.failing_since_ms = self._now_ms()
            log.error("the mail server cannot be used: %s; notices wait and are tried again", reason)
        self.progress.failing = reason

    def _note_success(self) -> None:
        self.progress.sent += 1
        self._server_tries, self._server_from_ms = 0, 0
        if self.progress.failing:
            log.warning("the mail server takes messages again")
        self.progress.failing, self.progress.failing_since_ms = "", None
