"""Sends the notices of one channel that wait in the outbox: one thread, that blocks nobody and is blocked by nobody.

The outbox is the truth: what waits there is tried until it is sent or given up, through hours of outage and over
restarts. What came of a try is reported through the agent's writer; until that report is committed, the notice is in
hand and is not taken again. A notice is sent twice only where the agent dies between the server's yes and the commit,
and then under the same id. Where a channel gives up after some days, the days are counted from the notice's first turn
since the agent's start.
"""

import logging
import threading
from collections.abc import Callable
from concurrent.futures import Future, wait
from typing import Generic, TypeVar

from monitor.model.notice import Delivery
from monitor.model.outbox import Outbox, Waiting
from monitor.model.people import ChannelKind
from monitor.model.shown_address import shown_address
from monitor.notify.backoff import Backoff
from monitor.notify.connection import Connection, GoneError, NotNowError, RefusedError, UnreachableError
from monitor.notify.line import Line
from monitor.notify.outages import Outages
from monitor.notify.progress import Progress
from monitor.notify.turns import Turns
from monitor.notify.wall import wall_ms
from monitor.notify.writing import Writing

log = logging.getLogger(__name__)

LONGEST_SLEEP_S = 30.0
HELD_SLEEP_S = 5.0
STOP_WITHIN_S = 1.5
SERVER_BACKOFF = Backoff(first_s=2.0, longest_s=300.0)
NOTICE_BACKOFF = Backoff(first_s=30.0, longest_s=3_600.0)
_GONE = "its address said that it is gone for good, and is not used any more"

MessageT = TypeVar("MessageT")


class Sender(Generic[MessageT]):
    """Sends what waits for one channel in an outbox.

    Args:
        channel: whose notices it sends. E-mails all go through one server; elsewhere each address is a server of its
            own, and one that cannot be used holds up no other.
        outbox: what waits.
        write: writes a notice's message, dated by the given time (ms UTC); where it fails, the notice goes
            out in plain words.
        connect: opens a connection, or raises `UnreachableError`.
        report: has a delivery committed; its future is done when it is.
        server_backoff: waits while a server is away.
        notice_backoff: waits for one message that is not taken now.
        now_ms: the wall clock.

    Attributes:
        progress: what it has done, and what stands in its way.
    """

    def __init__(
        self,
        channel: ChannelKind,
        outbox: Outbox,
        write: Callable[[Waiting, int], MessageT],
        connect: Callable[[], Connection[MessageT]],
        report: Callable[[Delivery], "Future[None]"],
        *,
        server_backoff: Backoff = SERVER_BACKOFF,
        notice_backoff: Backoff = NOTICE_BACKOFF,
        now_ms: Callable[[], int] = wall_ms,
    ) -> None:
        self.channel = channel
        self.progress = Progress()
        self._outbox, self._report = outbox, report
        self._line = Line(connect)
        self._writing = Writing(write)
        self._notice_backoff, self._now_ms = notice_backoff, now_ms
        self._in_hand: dict[str, tuple[Delivery, Future[None]]] = {}
        self._outages = Outages(server_backoff, self._shown)
        self._turns = Turns(channel, outbox, self._outages, self._server)
        self._stopping = threading.Event()
        self._woken = threading.Event()
        self._thread = threading.Thread(target=self._run, name=channel.value, daemon=True)

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
        if self._thread.is_alive():
            self._line.abort()
            self._thread.join(STOP_WITHIN_S / 3)
        wait([future for _, future in self._in_hand.copy().values()], timeout=STOP_WITHIN_S / 3)

    def _shown(self, address: str) -> str:
        return shown_address(self.channel.value, address)

    def _server(self, waiting: Waiting) -> str:
        return "" if self.channel is ChannelKind.EMAIL else waiting.notice.address

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
        due, expired = self._turns.due(self._in_hand, self._now_ms())
        for waiting, reason in expired:
            self._give_up(waiting, reason)
        if due:
            self._send_all(due)
            if not self._in_hand:
                return 0.0
        return self._pause_s()

    def _pause_s(self) -> float:
        now_ms = self._now_ms()
        if self._in_hand:
            wait([future for _, future in self._in_hand.values()], timeout=0.5)
            return 0.0 if any(future.done() for _, future in self._in_hand.values()) else 0.5
        due_ms, held_ms = self._outbox.next_due_ms(self.channel.value), self._outages.next_try_ms(now_ms)
        if due_ms is None:
            return LONGEST_SLEEP_S
        if due_ms <= now_ms and held_ms is not None:
            return min((held_ms - now_ms) / 1000, HELD_SLEEP_S)
        return min(max((due_ms - now_ms) / 1000, 0.0), LONGEST_SLEEP_S)

    def _sweep(self) -> None:
        """Let go of what has been committed; report again what could not be."""
        for key, (delivery, future) in list(self._in_hand.items()):
            if future.done():
                if future.exception() is None:
                    del self._in_hand[key]
                else:
                    self._in_hand[key] = (delivery, self._report(delivery))

    def _send_all(self, due: list[Waiting]) -> None:
        gone = {address for channel, address in self._outbox.disabled() if channel == self.channel.value}
        try:
            for waiting in due:
                if self._stopping.is_set():
                    return
                if waiting.notice.address in gone:
                    self._give_up(waiting, _GONE)
                elif self._outages.holding(self._server(waiting), self._now_ms()) is None and not self._send(waiting):
                    gone.add(waiting.notice.address)
        finally:
            self._line.leave()

    def _send(self, waiting: Waiting) -> bool:
        """Send one notice and report what came of it; say whether its address is still of use."""
        try:
            if not self._hand_over(waiting):
                return True
        except GoneError as error:
            self._give_up(waiting, str(error), disabled=True)
            return False
        except RefusedError as error:
            self._give_up(waiting, str(error))
        except NotNowError as error:
            self._put_off(waiting, error)
        except UnreachableError as error:
            self._line.leave()
            self._note_outage(waiting, error)
        except Exception as error:  # one message that fails must not keep the others
            log.exception("notice %s cannot be sent, by an error of ours", waiting.notice.id)
            self._line.leave()
            self._note_fault(waiting, error)
        else:
            self._note_success(waiting)
        return True

    def _hand_over(self, waiting: Waiting) -> bool:
        """Write a notice and hand it over; say whether that was done, which at the end it is not."""
        connection = self._line.open()
        message = self._writing.message(waiting, connection, self._now_ms())
        if not self._stopping.is_set():  # sent at the end, it could no longer be reported
            connection.send(message)
            return True
        return False

    def _note_fault(self, waiting: Waiting, error: Exception) -> None:
        if not self._stopping.is_set():  # else it may be of the line that was cut
            failed = self._writing.fault(waiting, error)
            if isinstance(failed, NotNowError):
                self._put_off(waiting, failed)
            else:
                self._give_up(waiting, str(failed))

    def _give_up(self, waiting: Waiting, reason: str, *, disabled: bool = False) -> None:
        notice = waiting.notice
        self.progress.refused += 1
        log.error("notice %s to %s is given up and not sent: %s", notice.id, self._shown(notice.address), reason)
        self._done(waiting, sent=False, next_ms=None, error=reason, disabled=disabled)

    def _put_off(self, waiting: Waiting, error: NotNowError) -> None:
        notice, now_ms = waiting.notice, self._now_ms()
        expired = self._turns.expired(waiting, str(error), error.give_up_after_s, now_ms)
        if expired:
            self._give_up(waiting, expired)
            return
        after_s = self._notice_backoff.after_s(waiting.tries + 1, notice.id)
        log.warning("notice %s to %s waits %.0f s: %s", notice.id, self._shown(notice.address), after_s, error)
        self._done(waiting, sent=False, next_ms=now_ms + round(after_s * 1000), error=str(error))

    def _done(self, waiting: Waiting, *, sent: bool, next_ms: int | None, error: str, disabled: bool = False) -> None:
        at_ms = self._now_ms()
        delivery = Delivery(waiting.notice.id, sent=sent, at_ms=at_ms, next_ms=next_ms, error=error, disabled=disabled)
        if next_ms is None:
            self._turns.forget(waiting)
            self._writing.forget(waiting)
        self._in_hand[delivery.notice] = (delivery, self._report(delivery))

    def _note_outage(self, waiting: Waiting, error: UnreachableError) -> None:
        if self._stopping.is_set():
            return
        server, now_ms = self._server(waiting), self._now_ms()
        outage = self._outages.note(server, error, waiting.notice.id, now_ms)
        if outage.tries == 1:
            log.error("%s cannot be used: %s; notices wait and are tried again", self._named(server), error)
        self._follow_outages()
        expired = self._turns.expired(waiting, str(error), error.give_up_after_s, now_ms)
        if expired:
            self._give_up(waiting, expired)
        else:
            self._done(waiting, sent=False, next_ms=outage.until_ms, error=str(error))

    def _note_success(self, waiting: Waiting) -> None:
        self.progress.sent += 1
        server = self._server(waiting)
        if self._outages.over(server):
            log.warning("%s takes messages again", self._named(server))
        self._follow_outages()
        self._done(waiting, sent=True, next_ms=None, error="")

    def _follow_outages(self) -> None:
        self.progress.failing, self.progress.failing_since_ms = self._outages.reason, self._outages.since_ms

    def _named(self, server: str) -> str:
        return f"the {self.channel.value} at {self._shown(server)}" if server else "the mail server"
