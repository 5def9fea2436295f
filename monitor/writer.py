"""The loop: takes parcels and commands in, folds them, commits them, and only then acknowledges.

One thread. Everything that changes the journal passes through here, in one order.
"""

import gc
import logging
import queue
import sqlite3
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Protocol

from monitor.fleet import CommandError, Fleet, Save
from monitor.model.batch import Batch
from monitor.model.inputs import Command
from monitor.model.parcel import ForecastMessage, Parcel, Reject, RejectReason
from monitor.store.journal import Journal
from monitor.wall import WallClock, wall_ms

log = logging.getLogger(__name__)

MOST_IN_A_BATCH = 4_000  # messages and their readings: 2,000 messages of one
LONGEST_WAIT_S = 0.05
# Some brokers send no more than a hundred messages ahead of their acknowledgement: where none comes for so long, none
# will come before the commit.
LONGEST_GAP_S = 0.005
IDLE_WAIT_S = 0.25
SAVE_EVERYTHING_EVERY_S = 3600.0
MINUTE_MS = 60_000
DEAF_FROM_MS = MINUTE_MS
FIRST_RETRY_S = 0.05
LONGEST_RETRY_S = 5.0
DROP_AFTER_S = 5.0
DRAIN_WITHIN_S = 3.0
SPARED_AT_LEAST_EVERY_S = 1.0
MOST_CAUSES_LOGGED = 1_000
YOUNG_OBJECTS = 20_000  # new ones at which the collector of garbage looks them through: about what a batch makes


class Hearing(Protocol):
    """What the loop needs of the MQTT session."""

    def ack(self, parcels: Sequence[Parcel]) -> None:
        """Acknowledge parcels, in order."""
        ...

    def drop(self, reason: str) -> None:
        """Disconnect and come again, so that the broker sends again what is not acknowledged."""
        ...

    @property
    def nonce(self) -> str:
        """What stands in the latest connection's marker."""
        ...

    @property
    def caught_up(self) -> bool:
        """Whether the present connection's marker has come back."""
        ...


Work = Command | ForecastMessage | Callable[[Journal], None]


@dataclass(slots=True)
class Errand:
    """A command or another change of the journal, with the promise of an answer: an error in words, or None."""

    work: Work
    answer: "Future[str | None]" = field(default_factory=Future)


class Writer:
    """The loop over one journal.

    Args:
        fleet: the watches, restored.
        journal: the journal.
        wall: the wall clock; None where time comes from clock messages in the stream.
        save_every_s: how often changed watch states are saved.
        plan: plans into a batch, before its commit, what is to be told of it.
        committed: told of every batch after its commit.
        meanwhile: does a little of what has no haste, where nothing waits, and once a second in any case.
    """

    def __init__(
        self,
        fleet: Fleet,
        journal: Journal,
        wall: WallClock | None,
        save_every_s: float,
        plan: Callable[[Batch], None],
        committed: Callable[[Batch], None],
        meanwhile: Callable[[int | None], object] = lambda _now_ms: None,
    ) -> None:
        self.inbox: queue.SimpleQueue[Parcel | Errand | None] = queue.SimpleQueue()
        self.caught_up = False
        self.stored = 0  # readings committed since the start
        self.last_commit_ms: int | None = None  # by the machine's own wall, for whoever watches us
        self.failing: str | None = None
        self.turned = time.monotonic()
        self._fleet = fleet
        self._journal = journal
        self._wall = wall
        self._save_every_s = save_every_s
        self._plan = plan
        self._committed = committed
        self._meanwhile, self._spared = meanwhile, time.monotonic()
        self._hearing: Hearing | None = None
        self._stopping = threading.Event()
        self._heard_to_ms = journal.last_heard_ms()
        self._session = 0
        self._saved = self._saved_everything = time.monotonic()
        self._told: set[tuple[str, str]] = set()
        self._gave_up = False
        self._doubted = False

    def hear(self, hearing: Hearing) -> None:
        """Learn who brings the parcels."""
        self._hearing = hearing

    def submit(self, work: Work) -> "Future[str | None]":
        """Hand in a command or a change of the journal, from any thread; the answer comes after its commit."""
        errand = Errand(work)
        self.inbox.put(errand)
        return errand.answer

    def stop(self) -> None:
        """Ask the loop to end: it takes what is waiting, commits it with every watch's state, and returns."""
        self._stopping.set()
        self.inbox.put(None)

    def run(self) -> None:
        """Turn until stopped."""
        with _watches_spared():
            self._run()

    def _run(self) -> None:
        while not self._stopping.is_set():
            self.turn(self._collect(IDLE_WAIT_S))
            self._spare()
        until = time.monotonic() + DRAIN_WITHIN_S
        while not self._gave_up and (rest := self._collect(0.0)) and time.monotonic() < until:
            self.turn(rest)
        if not self._gave_up:
            self._commit([], [], Save.EVERYTHING)

    def _spare(self) -> None:
        now = time.monotonic()
        if not self._gave_up and (self.inbox.empty() or now - self._spared >= SPARED_AT_LEAST_EVERY_S):
            self._spared = now
            self._meanwhile(self._now_ms())

    def turn(self, items: Sequence[Parcel | Errand]) -> None:
        """Take some items in and commit them."""
        self.turned = time.monotonic()
        parcels = [item for item in items if isinstance(item, Parcel)]
        errands: list[Errand] = []
        for item in items:
            if isinstance(item, Parcel):
                self._take(item)
            else:
                self._run_errand(item, errands)
        self._tick()
        if self._wall is not None and self._wall.doubted is not self._doubted:
            self._doubted = not self._doubted
            log.warning(self._wall.trouble or "the machine's clock and the time that is believed agree again")
        self._commit(parcels, errands, self._save_now())

    def _collect(self, wait_s: float) -> list[Parcel | Errand]:
        """Take what waits, and wait a little for more. Whoever handed in an errand waits for nobody else's word."""
        items: list[Parcel | Errand] = []
        until = time.monotonic() + wait_s
        hurries, size = False, 0
        while size < MOST_IN_A_BATCH:
            try:
                item = self.inbox.get_nowait()
            except queue.Empty:
                now = time.monotonic()
                wait_for_s = min(until - now, LONGEST_GAP_S) if items else until - now
                if hurries or wait_for_s <= 0.0:
                    break
                try:
                    item = self.inbox.get(timeout=wait_for_s)
                except queue.Empty:
                    break
            if item is None:
                break
            if not items:
                until = time.monotonic() + min(LONGEST_WAIT_S, wait_s)
            if isinstance(item, Errand):
                hurries = True
            else:
                size += len(item.readings)
            size += 1
            items.append(item)
        return items

    def _now_ms(self) -> int | None:
        return self._fleet.clock_ms if self._wall is None else self._wall.now_ms()

    def _take(self, parcel: Parcel) -> None:
        if self._wall is None:
            if parcel.clock is not None:
                self._fleet.clock(parcel.clock.at_ms)
            elif parcel.marker is not None and self._is_own_marker(parcel):
                self.caught_up = True
            arrived_ms = self._fleet.clock_ms
        else:
            for raw in parcel.readings if self._wall.doubted else ():
                if raw.stated_ms is not None:
                    self._wall.hint(raw.stated_ms)
            arrived_ms = now_ms = self._wall.now_ms()
            if parcel.session != self._session:
                self._session, self.caught_up = parcel.session, False
                self._note_deafness(now_ms)
            if parcel.clock is not None:
                reason = "clock messages are only heeded with journal.clock = 'stream'"
                parcel.rejects.append(Reject(RejectReason.UNKNOWN_TOPIC, parcel.topic, reason))
            if self._is_own_marker(parcel):
                self._note_deafness(now_ms)
                self._heard_to_ms, self.caught_up = now_ms, True
        if parcel.forecast is not None:
            self._fleet.forecast(parcel.forecast.hours, arrived_ms or 0)
        self._fleet.take(parcel, arrived_ms, caught_up=self.caught_up)

    def _is_own_marker(self, parcel: Parcel) -> bool:
        return parcel.marker is not None and self._hearing is not None and parcel.marker.nonce == self._hearing.nonce

    def _note_deafness(self, now_ms: int) -> None:
        if self._heard_to_ms is not None and now_ms - self._heard_to_ms > DEAF_FROM_MS:
            self._fleet.deaf(self._heard_to_ms, now_ms)

    def _tick(self) -> None:
        """Let the wall clock make a tick, where nothing waits to be heard."""
        if self._wall is None or not self.caught_up or not self.inbox.empty():
            return
        if self._hearing is None or not self._hearing.caught_up:
            self.caught_up = False  # the broker is away: what is silent now is we
            return
        now_ms = self._wall.now_ms()
        if self._heard_to_ms is not None and now_ms - self._heard_to_ms > DEAF_FROM_MS:
            # This machine slept, or its clock was put right: what came meanwhile is still to be heard.
            self._note_deafness(now_ms)
            self._hearing.drop(f"nothing was heard for {(now_ms - self._heard_to_ms) / 1000:.0f} s")
            self._heard_to_ms, self.caught_up = now_ms, False
            return
        self._heard_to_ms = now_ms
        minute = now_ms // MINUTE_MS * MINUTE_MS
        if self._fleet.clock_ms is None or minute > self._fleet.clock_ms:
            self._fleet.clock(minute)

    def _run_errand(self, errand: Errand, done: list[Errand]) -> None:
        if not errand.answer.set_running_or_notify_cancel():
            return  # whoever asked has gone
        if isinstance(errand.work, ForecastMessage):
            self._fleet.forecast(errand.work.hours, self._now_ms() or 0)
        if not isinstance(errand.work, Command):
            done.append(errand)
            return
        try:
            self._fleet.command(errand.work)
        except CommandError as error:
            errand.answer.set_result(str(error))
        else:
            done.append(errand)

    def _save_now(self) -> Save:
        now = time.monotonic()
        if now - self._saved_everything >= SAVE_EVERYTHING_EVERY_S:
            self._saved = self._saved_everything = now
            return Save.EVERYTHING
        if now - self._saved >= self._save_every_s:
            self._saved = now
            return Save.CHANGED
        return Save.NOTHING

    def _commit(self, parcels: Sequence[Parcel], errands: Sequence[Errand], save: Save) -> None:
        batch = self._fleet.hand_over(save)
        if self._wall is not None:
            # No tick is made while the broker is away; but a ladder goes on, for a storm takes the network first.
            batch.wall_ms = self._wall.now_ms()
        self._plan(batch)
        if not batch.is_empty and not self._keep_trying(lambda: self._journal.append(batch)):
            for errand in errands:
                errand.answer.set_result(f"not done: the journal cannot be written: {self.failing}")
            return
        for errand in errands:
            self._finish(errand)
        if self._hearing is not None and parcels:
            self._hearing.ack(parcels)
        self._tell_rejects(batch)
        self.stored += len(batch.readings)
        if not batch.is_empty:
            self.last_commit_ms = wall_ms()
            self._committed(batch)

    def _tell_rejects(self, batch: Batch) -> None:
        """Log what was rejected once a cause and topic; the journal counts the rest."""
        for _, reject in batch.rejects:
            cause = (reject.reason.value, reject.topic)
            if cause not in self._told and len(self._told) < MOST_CAUSES_LOGGED:
                self._told.add(cause)
                log.warning("rejected (%s) on %s: %s; others like it are only counted", *cause, reject.detail)

    def _finish(self, errand: Errand) -> None:
        work = errand.work
        if isinstance(work, (Command, ForecastMessage)):
            errand.answer.set_result(None)
            return
        if self._keep_trying(lambda: work(self._journal)):
            errand.answer.set_result(None)
        else:
            errand.answer.set_result(f"not done: the journal cannot be written: {self.failing}")

    def _keep_trying(self, write: Callable[[], None]) -> bool:
        """Write until it works. What has been folded stays in hand; nothing is acknowledged meanwhile.

        Returns:
            False where the loop was stopped before it worked: what was in hand is lost here, and the broker, which was
            told nothing, sends it again.
        """
        began, wait_s, dropped = time.monotonic(), FIRST_RETRY_S, False
        while True:
            self.turned = time.monotonic()
            try:
                write()
            except sqlite3.IntegrityError:
                raise  # an error of our own: trying again would never end
            except sqlite3.Error as error:
                if self.failing is None:
                    log.error("the journal cannot be written (%s); the batch is kept and tried again", error)  # noqa: TRY400 - an outage, not a bug
                self.failing = str(error)
            else:
                if self.failing is not None:
                    log.warning("the journal can be written again")
                self.failing = None
                return True
            if not dropped and self._hearing is not None and time.monotonic() - began > DROP_AFTER_S:
                self._hearing.drop(f"the journal cannot be written: {self.failing}")
                dropped = True
            if self._stopping.wait(wait_s):
                self._gave_up = True  # and nothing more is committed: the watches know what the journal does not
                return False
            wait_s = min(2 * wait_s, LONGEST_RETRY_S)


@contextmanager
def _watches_spared() -> Iterator[None]:
    """Keep Python's collector of garbage from what is kept of the vessels.

    What is made for a message dies with its last reference, a batch later; the watches live for the winter, and are
    most of the memory. Left alone, the collector walks through all of it ever again.
    """
    before = gc.get_threshold()
    gc.freeze()
    gc.set_threshold(YOUNG_OBJECTS, *before[1:])
    try:
        yield
    finally:
        gc.set_threshold(*before)
        gc.unfreeze()
