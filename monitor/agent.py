"""The agent of one yard: puts the parts together, starts and stops them, and ends when one of them has died.

Threads: the MQTT session's, the writer's loop, the pages' server, the mail sender's and the alert publisher's. Only the
writer's changes anything; the others read the journal, or hand in what they want changed.
"""

import logging
import signal
import socket
import threading
import time
from collections.abc import Iterator
from concurrent.futures import Future
from datetime import UTC, datetime
from email.message import EmailMessage
from functools import partial
from types import FrameType
from urllib.parse import urlsplit
from zoneinfo import ZoneInfo

import uvicorn

from monitor.fleet import CommandError, Fleet
from monitor.intake.broker import BrokerConfig
from monitor.intake.forecast_file import ForecastFile
from monitor.intake.reader import Reader
from monitor.intake.session import Session
from monitor.messages.mail import Letterhead, write_mail
from monitor.model.batch import Batch
from monitor.model.inputs import Acknowledge, RecordVersion
from monitor.model.notice import Delivery, Notice
from monitor.model.outbox import Waiting
from monitor.notify.mqtt import AlertBoard, AlertBrokerConfig
from monitor.notify.plan import plan
from monitor.notify.sender import Sender
from monitor.notify.smtp import SmtpConfig, SmtpConnection
from monitor.settings import ClockMode, Settings, Web
from monitor.store.history import CURSOR, History, HistoryConfig
from monitor.store.journal import Journal
from monitor.store.lock import WriterLock
from monitor.store.outbox import JournalOutbox
from monitor.store.view import JournalView
from monitor.wall import WallClock, wall_ms
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
        self._zone = ZoneInfo(settings.yard.zone)
        path = settings.journal.path
        path.parent.mkdir(parents=True, exist_ok=True)
        self._lock = WriterLock(path)
        self._journal = Journal(path)
        self.view = JournalView(path)
        self.fleet = Fleet(self._journal)
        self.fleet.restore(self._journal)
        self.fleet.calendar(settings.yard.calendar, self.fleet.clock_ms or 0)
        for note in self.fleet.folded_again:
            log.warning("folded again from the lay-up on: %s", note)
        self._wall = None if settings.journal.clock is ClockMode.STREAM else WallClock(self._journal.last_heard_ms())
        self.writer = Writer(
            self.fleet,
            self._journal,
            self._wall,
            settings.journal.save_every_s,
            self._plan,
            self._committed,
        )
        self._writing = threading.Thread(target=self._write, name="writer")
        reader = Reader(settings.yard.id, self.fleet, settings.sources)
        self.session = Session(settings.broker, reader, self.writer.inbox.put, self.writer.inbox.qsize)
        self.writer.hear(self.session)
        self.changes = Changes(self.view.last_seq())
        self._outbox = JournalOutbox(path)
        self._board = AlertBoard(_alert_broker(settings.broker), settings.yard.id, self._outbox, self._zone)
        self._sender = self._make_sender(settings.mail)
        self._history = self._make_history(settings.history)
        self._forecast = None
        if settings.forecast is not None:
            self._forecast = ForecastFile(settings.forecast.csv, self.writer.submit)
        # Bound before anything is started, so that a port that is taken ends the start with a plain error.
        try:
            self._listening = _listen(settings.web) if settings.web.enabled else None
        except OSError:
            self._lock.release()
            raise
        self._web: uvicorn.Server | None = None
        self._serving: threading.Thread | None = None
        self._stream_ms = self._fleet_ms()
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
        if self._listening is not None:
            self._start_web(self._listening)
            self._lock.tell(self.address)
            log.info("pages at %s", self.address)
        self.session.start()
        self._board.start()
        for follower in (self._sender, self._history, self._forecast):
            if follower is not None:
                follower.start()

    def stop(self) -> None:
        """Stop every part: take nothing more in, commit and acknowledge what is in hand, save every watch's state."""
        self.session.pause()
        self.changes.close()
        for follower in (self._sender, self._history, self._forecast):
            if follower is not None:
                follower.stop()  # while the writer still takes word of what was sent
        self.writer.stop()
        if self._writing.is_alive():
            self._writing.join(JOIN_S)
        self._board.stop()
        self.session.stop()
        if self._web is not None and self._serving is not None:
            self._web.should_exit = True
            self._serving.join(JOIN_S)
        self._outbox.close()
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
        try:
            self.start()
            while not self._stop_asked.wait(WATCH_EVERY_S):
                self.session.check()
                if self._serving is not None and not self._serving.is_alive():
                    self.died = self.died or "the server of the pages has died"
                if self.died is not None:
                    log.critical("stopping: %s", self.died)
                    break
        finally:
            self.stop()
        return 0 if self.died is None else 1

    def submit(self, command: RecordVersion | Acknowledge) -> "Future[str | None]":
        """Hand in a command; the answer is an error in words, or None once it has been committed."""
        yard = self.settings.yard.id
        if isinstance(command, RecordVersion) and command.vessel.yard != yard:
            refused: Future[str | None] = Future()
            refused.set_result(f"yard: is {command.vessel.yard!r}, and this is the agent of {yard!r}")
            return refused
        return self.writer.submit(command)

    def now_ms(self) -> int:
        """Give the agent's event time: the wall's, or the stream's last committed clock."""
        return self._stream_ms if self._wall is None else self._wall.now_ms()

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
            # By the wall's clock something is committed each minute; a stream may rightly stand still.
            last_commit_ms=None if self._wall is None else self.writer.last_commit_ms,
            wall_ms=wall_ms(),
            troubles=tuple(trouble for trouble in troubles if trouble),
            delays=tuple(self._delays()),
        )

    def _delays(self) -> Iterator[str]:
        """Say what reaches others late."""
        if self._sender is not None:
            progress = self._sender.progress
            if progress.failing:
                yield f"Mail is not sent: {progress.failing}"
            if progress.refused:
                yield f"{progress.refused} mails were refused and given up since the start; the log names them."
        if self._board.failing:
            yield f"Alerts are not published over MQTT: {self._board.failing}"
        if self._history is not None and (self._history.failing is not None or not self._history.alive):
            yield f"History is not sent: {self._history.failing or 'its thread has died'}"
        if self._forecast is not None and self._forecast.failing is not None:
            yield f"The forecast is not taken: {self._forecast.failing}"

    def _ask_to_stop(self, _number: int, _frame: FrameType | None) -> None:
        self._stop_asked.set()

    def _write(self) -> None:
        try:
            self.writer.run()
        except Exception as error:
            log.exception("the writer's loop has died; nothing of its last batch was acknowledged")
            self.died = f"the writer's loop has died: {error}"

    def _plan(self, batch: Batch) -> list[Notice]:
        if self._sender is None:
            return []
        return plan(batch.events, batch.alerts, self.fleet.vessel, self.settings.yard.duty)

    def _committed(self, batch: Batch) -> None:
        self._stream_ms = self._fleet_ms()
        self.changes.publish(batch.last_seq, batch.vessels | {alert.vessel for alert in batch.alerts.values()})
        if batch.alerts:
            self._board.changed(batch.alerts)
        if batch.notices and self._sender is not None:
            self._sender.wake()
        if batch.readings and self._history is not None:
            self._history.wake()

    def _fleet_ms(self) -> int:
        """Give the stream's time as it is committed: its last clock, before the first one the records' own time."""
        return self.fleet.clock_ms or max((w.state.now_ms for w in self.fleet.watches.values()), default=0)

    def _make_sender(self, config: SmtpConfig | None) -> Sender | None:
        if config is None:
            return None
        head = Letterhead(config.sender, self.settings.yard.name, self._page_of, self._zone)

        def write(waiting: Waiting, at_ms: int) -> EmailMessage:
            date = datetime.fromtimestamp(at_ms / 1000, UTC)
            return write_mail(waiting.notice, waiting.alert, waiting.vessel, head, date)

        return Sender(self._outbox, write, partial(SmtpConnection, config), self._report)

    def _report(self, delivery: Delivery) -> "Future[None]":
        """Have a delivery committed."""
        done: Future[None] = Future()

        def answered(answer: "Future[str | None]") -> None:
            trouble = answer.result()
            if trouble is None:
                done.set_result(None)
            else:
                done.set_exception(CommandError(trouble))

        self.writer.submit(lambda journal: journal.record_delivery(delivery)).add_done_callback(answered)
        return done

    def _make_history(self, config: HistoryConfig | None) -> History | None:
        if config is None:
            return None

        def move(seq: int) -> "Future[str | None]":
            return self.writer.submit(lambda journal: journal.move_cursor(CURSOR, seq))

        return History(config, self.settings.yard.id, self.settings.journal.path, move)

    def _page_of(self, vessel_id: str) -> str:
        return f"{self.settings.web.address or self.address or self.settings.web.public}/vessels/{vessel_id}"

    def _start_web(self, listening: socket.socket) -> None:
        web = self.settings.web
        deps = Deps(
            yard_name=self.settings.yard.name,
            zone=self._zone,
            yard=self.view,
            records=self.view,
            readings=self.view,
            alerts=self.view,
            intake=self.view,
            submit=self.submit,
            changes=self.changes,
            now_ms=self.now_ms,
            health=self.health,
            cache_dir=self.settings.journal.path.parent / "cache",
            hosts=LOOPBACK_HOSTS | {web.host} | _host_of(web.address),
        )
        config = uvicorn.Config(
            create_app(deps), web.host, web.port, log_level="warning", timeout_graceful_shutdown=2, server_header=False
        )
        self._web = uvicorn.Server(config)
        self._serving = threading.Thread(target=self._web.run, args=([listening],), name="pages", daemon=True)
        self._serving.start()
        until = time.monotonic() + WEB_STARTS_WITHIN_S
        while not self._web.started and self._serving.is_alive() and time.monotonic() < until:
            time.sleep(0.02)
        if not self._web.started:
            raise OSError(f"the pages do not start at {web.host}:{web.port}")


def _listen(web: Web) -> socket.socket:
    """Bind the port of the pages.

    Raises:
        OSError: where it cannot be had.
    """
    family = socket.AF_INET6 if ":" in web.host else socket.AF_INET
    try:
        return socket.create_server((web.host, web.port), family=family)
    except OSError as error:
        raise OSError(f"the pages cannot be served at {web.host}:{web.port}: {error.strerror}") from error


def _alert_broker(broker: BrokerConfig) -> AlertBrokerConfig:
    names = ("host", "port", "username", "password", "tls", "ca_file", "keepalive_s")
    return AlertBrokerConfig(**{name: getattr(broker, name) for name in names})


def _host_of(address: str | None) -> set[str]:
    host = urlsplit(address or "").hostname
    return set() if host is None else {host}
