"""The agent of one yard: puts the parts together, starts and stops them, and ends when one of them has died.

Threads: the MQTT session's, the writer's loop, the pages' server, the mail sender's and the alert publisher's. Only the
writer's changes anything; the others read the journal, or hand in what they want changed.
"""

import logging
import os
import signal
import sqlite3
import sys
import threading
import time
from collections.abc import Iterator
from concurrent.futures import Future
from pathlib import Path
from types import FrameType
from urllib.parse import urlsplit
from zoneinfo import ZoneInfo

from monitor.fleet import CommandError, Fleet
from monitor.in_force import in_force
from monitor.intake.forecast_file import ForecastFile
from monitor.intake.reader import Reader
from monitor.intake.session import Session
from monitor.messages.links import LinkSigner
from monitor.model.access import Grade
from monitor.model.alert import Alert
from monitor.model.batch import Batch
from monitor.model.inputs import AlertCommand, CalendarVersion, Command, RecordVersion
from monitor.model.loopback import is_loopback
from monitor.model.notice import Delivery
from monitor.model.only_managers import refused_to
from monitor.notify.heartbeat import Pulse
from monitor.post import Given, Post
from monitor.record.work_list_files import work_lists
from monitor.serving import PageServer
from monitor.settings import ClockMode, Settings
from monitor.store.access import AccessFile, open_access
from monitor.store.history import CURSOR, History
from monitor.store.history_config import HistoryConfig
from monitor.store.history_view import HistoryView, history_view
from monitor.store.journal import Journal
from monitor.store.lock import WriterLock
from monitor.store.migrate import JournalTooNewError
from monitor.store.outbox import JournalOutbox
from monitor.store.retention import Retention
from monitor.store.secret import SecretFileError, read_or_make_secret
from monitor.store.view import JournalView
from monitor.teller import Teller
from monitor.telling.ring import ring_notices
from monitor.wall import WallClock, wall_ms
from monitor.watchdog import Watchdog
from monitor.web.app import create_app
from monitor.web.changes import Changes
from monitor.web.deps import LOOPBACK_HOSTS, Deps, Health
from monitor.writer import Writer

log = logging.getLogger(__name__)

STUCK_AFTER_S = 30.0
WATCH_EVERY_S = 0.5
JOIN_S = 10.0
LINK_KEY_FILE = "links.key"
"""The file beside the journal with the secret that links are signed with."""


class Agent:
    """One yard's agent.

    Args:
        settings: everything it is told.
        file: where they were read from, None where in no file.

    Raises:
        JournalBusyError: where another process writes the journal.
        JournalTooNewError: where a newer program wrote it.
        DocumentError: where the yard's own work lists cannot be used.
        OSError: where it cannot be opened.
    """

    def __init__(self, settings: Settings, file: Path | None = None) -> None:
        self.settings = settings
        self._in_force = in_force(settings, file, os.environ)
        self._zone = ZoneInfo(settings.yard.zone)
        self._work_lists = work_lists(settings.yard.work_lists)
        path = settings.journal.path
        path.parent.mkdir(parents=True, exist_ok=True)
        self._lock = WriterLock(path)
        self._access, self._no_pages = self._open_access()
        self._journal = Journal(path)
        self.view = JournalView(path)
        self.fleet = Fleet(self._journal)
        self.fleet.restore(self._journal)
        self.fleet.calendar(settings.yard.calendar, self.fleet.clock_ms or 0)
        for note in self.fleet.folded_again:
            log.warning("folded again from the lay-up on: %s", note)
        if self.fleet.folded_again and self._journal.dropped.readings:
            log.warning("of readings that were dropped, the mean of each hour stood in for them")
        self._wall = None if settings.journal.clock is ClockMode.STREAM else WallClock(self._journal.last_heard_ms())
        followers = () if settings.history is None else (CURSOR,)
        self._retention = Retention(self._journal, settings.journal.keep_raw_days, followers)
        self.writer = Writer(
            self.fleet,
            self._journal,
            self._wall,
            settings.journal.save_every_s,
            lambda batch: self._teller.take(batch, self.fleet.vessel),
            self._committed,
            self._retention.step,
        )
        self._writing = threading.Thread(target=self._write, name="writer")
        reader = Reader(settings.yard.id, self.fleet, settings.sources)
        self.session = Session(settings.broker, reader, self.writer.inbox.put, self.writer.inbox.qsize)
        self.writer.hear(self.session)
        self.changes = Changes(self.view.last_seq())
        self._outbox = JournalOutbox(path)
        self._links = LinkSigner(read_or_make_secret(path.with_name(LINK_KEY_FILE)))
        given = Given(self._outbox, self.view, self._public, self._links, self._report, self._pulse)
        self._post = Post(settings, given)
        kept = self._journal.telling()
        self._teller = Teller(settings, kept, self._open_alerts)
        self._history = self._make_history(settings.history)
        self._long_charts = self._read_history(settings.history)
        self._forecast = None
        if settings.forecast is not None:
            self._forecast = ForecastFile(settings.forecast.csv, self.writer.submit)
        # Bound before anything is started, so that a port that is taken ends the start with a plain error.
        try:
            served = settings.web.enabled and self._no_pages is None
            self._pages = PageServer(settings.web) if served else None
        except OSError:
            self._lock.release()
            raise
        self._stream_ms = self._fleet_ms()
        self.died: str | None = None
        self._stop_asked = threading.Event()

    @property
    def address(self) -> str:
        """Where the pages are, empty where none are served."""
        return "" if self._pages is None else self._pages.address

    def start(self) -> None:
        """Start every part."""
        self._writing.start()
        if self._pages is not None:
            self._pages.start(create_app(self._deps()))
            self._lock.tell(self.address)
            log.info("pages at %s", self.address)
            self._invite_first()
        self.session.start()
        self._post.start()
        for follower in (self._history, self._forecast):
            if follower is not None:
                follower.start()

    def stop(self) -> None:
        """Stop every part: take nothing more in, commit and acknowledge what is in hand, save every watch's state."""
        self.session.pause()
        self.changes.close()
        self._post.stop_sending()  # while the writer still takes word of what was sent
        for follower in (self._history, self._forecast):
            if follower is not None:
                follower.stop()
        self.writer.stop()
        if self._writing.is_alive():
            self._writing.join(JOIN_S)
        self._post.stop()
        self.session.stop()
        if self._pages is not None:
            self._pages.stop()
        if self._long_charts is not None:
            self._long_charts.close()
        self._outbox.close()
        self.view.close()
        self._journal.close()
        if self._access is not None:
            self._access.close()
        self._lock.release()

    def run(self) -> int:
        """Run until SIGTERM or SIGINT, or until a part has died.

        Returns:
            The exit status: 0 after a clean stop, 1 where a part had died.
        """
        for number in (signal.SIGTERM, signal.SIGINT):
            signal.signal(number, self._ask_to_stop)
        watchdog = Watchdog()
        try:
            self.start()
            watchdog.ready()
            while not self._stop_asked.wait(WATCH_EVERY_S):
                self.session.check()
                if self.health().loop_alive:
                    watchdog.feed()
                if self._pages is not None and self._pages.died:
                    self.died = self.died or "the server of the pages has died"
                if self.died is not None:
                    log.critical("stopping: %s", self.died)
                    break
        finally:
            watchdog.stopping()
            self.stop()
        return 0 if self.died is None else 1

    def submit(self, command: Command) -> "Future[str | None]":
        """Hand in a command; the answer is an error in words, or None once it has been committed."""
        refusal = self._refusal(command)
        if refusal is None:
            return self.writer.submit(command)
        refused: Future[str | None] = Future()
        refused.set_result(refusal)
        return refused

    def now_ms(self) -> int:
        """Give the agent's event time: the wall's, or the stream's last committed clock."""
        return self._stream_ms if self._wall is None else self._wall.now_ms()

    def health(self) -> Health:
        """Say how the agent is."""
        quiet_s = time.monotonic() - self.writer.turned
        alive = self._writing.is_alive() and quiet_s < STUCK_AFTER_S
        troubles = [self.session.trouble, self.died, self._no_pages]
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
        yield from self._post.delays()
        if self._wall is not None and self._wall.trouble is not None:
            yield self._wall.trouble
        if self._retention.failing is not None:
            yield f"Old readings are not dropped: {self._retention.failing}"
        if self._teller.failing is not None:
            yield f"Telling failed since the start, and duty was told plainly instead: {self._teller.failing}"
        for told in (self._history, self._long_charts):
            if told is not None:
                yield from told.delays()
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

    def _refusal(self, command: Command) -> str | None:
        """Say in words why a command is not for this agent, or not for whoever gives it; None where it is."""
        yard = self.settings.yard.id
        if isinstance(command, RecordVersion) and command.vessel.yard != yard:
            return f"yard: is {command.vessel.yard!r}, and this is the agent of {yard!r}"
        named = self.view.alert(command.alert) if isinstance(command, AlertCommand) else None
        return refused_to(command, named, self._is_manager)

    def _is_manager(self, name: str) -> bool:
        """Whether somebody of this name is a manager by the settings, or by what they may do once they signed in."""
        accounts = () if self._access is None else self._access.accounts()
        signed = any(one.name == name and one.grade is Grade.MANAGER for one in accounts)
        return signed or self.settings.roster.is_manager(name)

    def _pulse(self) -> Pulse | None:
        """Give what the heartbeat says; None where the watch does not turn, so that no beat goes out."""
        health = self.health()
        if not health.loop_alive or self.writer.failing is not None or self.died is not None:
            return None
        return Pulse(self.view.last_seq(), self.writer.last_commit_ms, (*health.troubles, *health.delays))

    def _open_alerts(self) -> Iterator[Alert]:
        return (alert for alert, _ in self._outbox.open_alerts())

    def _committed(self, batch: Batch) -> None:
        self._stream_ms = self._fleet_ms()
        told = {vessel for call in batch.calls.values() for vessel in call.vessels}
        self.changes.publish(batch.last_seq, batch.vessels | told | {alert.vessel for alert in batch.alerts.values()})
        self._post.committed(batch)
        if batch.readings and self._history is not None:
            self._history.wake()

    def _fleet_ms(self) -> int:
        """Give the stream's time as it is committed: its last clock, before the first one the records' own time."""
        return self.fleet.clock_ms or max((w.state.now_ms for w in self.fleet.watches.values()), default=0)

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

    def _ring_duty(self, vessel: str, reason: str) -> "Future[str | None]":
        """Have a test message sent to whoever has the duty; the answer is an error in words, or None once it waits."""
        told = self.settings
        notices = tuple(ring_notices(told.roster, told.sendable, vessel, self.now_ms(), reason))
        if not notices:
            nobody: Future[str | None] = Future()
            nobody.set_result(
                "No message can go out: the settings name nobody who has the duty and can be reached by mail, webhook "
                "or phone service. Ring the duty phone by hand."
            )
            return nobody
        answer = self.writer.submit(lambda journal: journal.plan(notices))
        answer.add_done_callback(lambda _: self._post.committed(Batch(notices=list(notices))))
        return answer

    def _make_history(self, config: HistoryConfig | None) -> History | None:
        if config is None:
            return None

        def move(seq: int) -> "Future[str | None]":
            return self.writer.submit(lambda journal: journal.move_cursor(CURSOR, seq))

        return History(config, self.settings.yard.id, self.settings.journal.path, move)

    def _read_history(self, config: HistoryConfig | None) -> HistoryView | None:
        """Give what charts of long spans are read from, None where that is the journal."""
        history = self._history
        if config is None or history is None:
            return None
        path = self.settings.journal.path
        return history_view(config, self.settings.yard.id, self.view, path, lambda: history.complete)

    def _open_access(self) -> tuple[AccessFile | None, str | None]:
        """Open the file of those who may sign in; where it cannot be, or must not be yet, say why no pages are served.

        The watch goes on without pages: nobody's account is worth a boat.
        """
        web, access, why = self.settings.web, None, ""
        try:
            access = open_access(self.settings.journal.path)
            if not is_loopback(web.host) and not access.needed():
                why = (
                    f"[web] host = {web.host!r} is reached from other machines, and nobody has an account yet:"
                    " coldberth account add LOGIN --grade manager, and start again"
                )
        except (OSError, SecretFileError, JournalTooNewError, sqlite3.Error) as error:
            why = f"who may sign in cannot be read: {error}"
        if not why or not web.enabled:
            return access, None
        log.error("the pages are not served: %s", why)
        return access, f"the pages are not served: {why}"

    def _invite_first(self) -> None:
        """Show whoever started it the link by which the first manager sets a password.

        On a terminal alone: what a service prints goes into a log, and whoever has the link gets in.
        """
        if self.settings.journal.clock is ClockMode.STREAM or self._access is None or self._access.needed():
            return
        if not sys.stdout.isatty():
            log.info("nobody has an account yet: coldberth account add LOGIN --grade manager prints an invitation")
            return
        where = f"{self._public()}/join/{self._access.invite_first(wall_ms())}"
        print(f"Nobody has an account yet. The first manager sets a password here: {where}", flush=True)  # noqa: T201 - on a terminal

    def _public(self) -> str:
        """Give the address that links begin with."""
        return (self.settings.web.address or self.address or self.settings.web.public).rstrip("/")

    def _deps(self) -> Deps:
        """Give the pages what they show and hand commands to."""
        web = self.settings.web
        return Deps(
            yard_name=self.settings.yard.name,
            yard_id=self.settings.yard.id,
            broker=self.settings.broker,
            zone=self._zone,
            yard=self.view,
            records=self.view,
            readings=self._long_charts or self.view,
            alerts=self.view,
            intake=self.view,
            happened=self.view,
            in_force=self._in_force,
            calls=self.view,
            visits=self.view,
            forecasts=self.view,
            links=self._links,
            roster=self.settings.roster,
            calendar=CalendarVersion(self.settings.yard.calendar, self._fleet_ms()),
            submit=self.submit,
            changes=self.changes,
            now_ms=self.now_ms,
            health=self.health,
            cache_dir=self.settings.journal.path.parent / "cache",
            hosts=LOOPBACK_HOSTS | {web.host} | _host_of(web.address),
            access=self._access,
            open_here=web.address is None and is_loopback(web.host),
            over_tls=web.address is not None and web.address.startswith("https:"),
            address=self._public,
            next_told=self._teller.next_told_ms,
            work_lists=self._work_lists,
            photos=self.view,
            keep_photos=lambda photos: self.writer.submit(lambda journal: journal.keep_photos(photos)),
            ring_duty=self._ring_duty,
            send_again=lambda notice: self.writer.submit(lambda journal: journal.try_again(notice)),
        )


def _host_of(address: str | None) -> set[str]:
    host = urlsplit(address or "").hostname
    return set() if host is None else {host}
