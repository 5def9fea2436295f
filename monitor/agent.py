"""The agent of one yard: puts the parts together, starts and stops them, and ends when one of them has died.

Threads: the MQTT session's, the writer's loop, the pages' server, the mail sender's and the alert publisher's. Only the
writer's changes anything; the others read the journal, or hand in what they want changed.
"""

import logging
import signal
import threading
import time
from concurrent.futures import Future
from functools import partial
from pathlib import Path
from types import FrameType
from zoneinfo import ZoneInfo

import uvicorn

from monitor.fleet import Fleet
from monitor.intake.reader import Reader
from monitor.intake.session import Session
from monitor.model.batch import Batch
from monitor.model.inputs import Acknowledge, RecordVersion
from monitor.model.notice import Delivery, Notice
from monitor.notify.mqtt import AlertBrokerConfig, AlertPublisher
from monitor.notify.plan import plan
from monitor.notify.sender import Sender
from monitor.settings import ClockMode, Settings
from monitor.store.journal import Journal
from monitor.store.lock import WriterLock
from monitor.store.outbox import JournalOutbox
from monitor.store.view import JournalView
from monitor.web.app import create_app
from monitor.web.changes import Changes
from monitor.web.deps import LOOPBACK_HOSTS, Deps, Health
from monitor.writer import Writer

log = logging.getLogger(__name__)

STUCK_AFTER_S = 30.0
WATCH_EVERY_S = 0.5
WEB_STARTS_WITHIN_S = 15.0
JOIN_S = 10.0


class Agent:
    """One yard's agent.

    Args:
        settings: everything it is told.

    Raises:
        JournalBusyError: where another process writes the journal.
        JournalTooNewError: where a newer program wrote it.
        OSError: where it cannot be opened.
    """

    def __init__(self, settings: Settings) -> None:
        self.settings = settings
        path = settings.journal.path
        path.parent.mkdir(parents=True, exist_ok=True)
        self._lock = WriterLock(path)
        self._journal = Journal(path)
        self.view = JournalView(path)
        self.fleet = Fleet(self._journal)
        self.fleet.restore(self._journal)
        for note in self.fleet.folded_again:
            log.warning("folded again from the lay-up on: %s", note)
        self.writer = Writer(self.fleet, self._journal, settings.journal.clock, self._plan, self._committed)
        self._writing = threading.Thread(target=self._write, name="writer")
        reader = Reader(settings.yard.id, self.fleet, settings.sources)
        self.session = Session(settings.broker, reader, self.writer.inbox.put, self.writer.inbox.qsize)
        self.writer.hear(self.session)
        self.changes = Changes(self.view.last_seq())
        self._publisher = AlertPublisher(self._alert_broker(), settings.yard.id, self._open_alerts, self.fleet.vessel)
        self._sender = self._make_sender(path)
        self._web: uvicorn.Server | None = None
        self._serving: threading.Thread | None = None
        self.died: str | None = None
        self._stop_asked = threading.Event()

    @property
    def address(self) -> str:
        """Where the pages are, empty where none are served."""
        if self._web is None or not self._web.started:
            return ""
        host, port = self._web.servers[0].sockets[0].getsockname()[:2]
        return f"http://{host}:{port}"

    def start(self) -> None:
        """Start every part."""
        self._writing.start()
        if self.settings.web.enabled:
            self._start_web()
            self._lock.tell(self.address)
            log.info("pages at %s", self.address)
        self.session.start()
        self._publisher.start()
        if self._sender is not None:
            self._sender.start()

    def stop(self) -> None:
        """Stop every part: take nothing more in, commit and acknowledge what is in hand, save every watch's state."""
        self.session.pause()
        self.changes.close()
        if self._sender is not None:
            self._sender.stop()
        self.writer.stop()
        self._writing.join(JOIN_S)
        self._publisher.stop()
        self.session.stop()
        if self._web is not None and self._serving is not None:
            self._web.should_exit = True
            self._serving.join(JOIN_S)
        self.view.close()
        self._journal.close()
        self._lock.release()

    def run(self) -> int:
        """Run until SIGTERM or SIGINT, or until a part has died.

        Returns:
            The exit status: 0 after a clean stop, 1 where a part had died.
        """
        for number in (signal.SIGTERM, signal.SIGINT):
            signal.signal(number, self._ask_to_stop)
        self.start()
        while not self._stop_asked.wait(WATCH_EVERY_S):
            self.session.check()
            if self.died is not None:
                log.critical("stopping: %s", self.died)
                break
        self.stop()
        return 0 if self.died is None else 1

    def submit(self, command: RecordVersion | Acknowledge) -> "Future[str | None]":
        """Hand in a command; the answer is an error in words, or None once it has been committed."""
        return self.writer.submit(command)

    def now_ms(self) -> int:
        """Give the agent's event time: the wall's, or the stream's last clock."""
        if self.settings.journal.clock is ClockMode.WALL:
            return time.time_ns() // 1_000_000
        return self.fleet.clock_ms or max((w.state.now_ms for w in self.fleet.watches.values()), default=0)

    def health(self) -> Health:
        """Say how the agent is."""
        quiet_s = time.monotonic() - self.writer.turned
        alive = self._writing.is_alive() and quiet_s < STUCK_AFTER_S
        troubles = [self.session.trouble, self.died]
        if self.writer.failing is not None:
            troubles.append(f"the journal cannot be written: {self.writer.failing}")
        if self._writing.is_alive() and not alive:
            troubles.append(f"the loop has not turned for {quiet_s:.0f} s")
        return Health(
            connected=self.session.connected,
            caught_up=self.writer.caught_up,
            loop_alive=alive,
            last_commit_ms=self.writer.last_commit_ms,
            wall_ms=time.time_ns() // 1_000_000,
            since_ms=None,
            troubles=tuple(trouble for trouble in troubles if trouble),
        )

    def _ask_to_stop(self, _number: int, _frame: FrameType | None) -> None:
        self._stop_asked.set()

    def _write(self) -> None:
        try:
            self.writer.run()
        except Exception as error:
            log.exception("the writer's loop has died; nothing of its last batch was acknowledged")
            self.died = f"the writer's loop has died: {error}"

    def _plan(self, batch: Batch) -> list[Notice]:
        notices: list[Notice] = []
        if self._sender is None:
            return notices
        for vessel_id in sorted({event.vessel for _, _, event in batch.events}):
            vessel = self.fleet.vessel(vessel_id)
            if vessel is not None:
                events = [event for event in batch.events if event[2].vessel == vessel_id]
                notices += plan(events, batch.alerts, vessel, self.settings.yard.duty)
        return notices

    def _committed(self, batch: Batch) -> None:
        vessels = batch.vessels | {alert.vessel for alert in batch.alerts.values()}
        self.changes.publish(batch.last_seq, vessels)
        if batch.alerts:
            self._publisher.changed(batch.alerts)
        if batch.notices and self._sender is not None:
            self._sender.wake()
