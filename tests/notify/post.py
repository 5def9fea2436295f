"""A journal with notices in it, and a sender over it whose reports the journal's own thread commits."""

import queue
import threading
import time
from collections.abc import Callable
from concurrent.futures import Future
from datetime import UTC, datetime
from email.message import EmailMessage
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from boats import LAID_UP_MS, MINUTE, boat

from monitor.messages.mail import Letterhead, write_mail
from monitor.model.alert import Alert, AlertChange, AlertEvent
from monitor.model.batch import Batch
from monitor.model.finding import Figure, Finding
from monitor.model.inputs import RecordVersion
from monitor.model.notice import Delivery, Notice
from monitor.model.outbox import Waiting
from monitor.model.scale import AlertState, Priority, Sure
from monitor.model.vessel import Person
from monitor.notify.backoff import Backoff
from monitor.notify.plan import plan
from monitor.notify.sender import Sender
from monitor.notify.smtp import SmtpConfig, SmtpConnection
from monitor.store.journal import Journal
from monitor.store.outbox import JournalOutbox

TERN = boat(owner=Person(name="Anna", email="anna@example.org"))
DUTY = Person(name="Per", email="duty@yard.example")
HEAD = Letterhead("watch@yard.example", "Quay", lambda vessel: f"http://localhost/{vessel}", ZoneInfo("UTC"))
QUICK = Backoff(first_s=0.05, longest_s=0.2)
FOUND = Finding(
    "frost", "s", "not known", Priority.WARNING, Figure(None, 0.0, "degC"), None, Sure.LIKELY,
    ("no_temperature",), ("read_temperature_aboard",), (), facts={"name": "Cooling", "protected_to_degc": 0.0},
)  # fmt: skip


class Post:
    """The writing thread of a journal, as the agent has one, and what it was asked."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.outbox: JournalOutbox | None = None
        self.deliveries: list[Delivery] = []
        self.holding = threading.Event()
        self.failing = threading.Event()
        self._journal = Journal(path)
        self._seq = 1
        self._work: queue.SimpleQueue[tuple[Callable[[], None], Future[None]] | None] = queue.SimpleQueue()
        self._thread = threading.Thread(target=self._run)
        self._thread.start()
        self.do(lambda: self._journal.append(Batch(inputs=[(1, RecordVersion(TERN, LAID_UP_MS, "test"))], last_seq=1)))
        self.outbox = JournalOutbox(path)

    def close(self) -> None:
        self.holding.clear()
        self._work.put(None)
        self._thread.join()
        if self.outbox is not None:
            self.outbox.close()
        self._journal.close()

    def do(self, work: Callable[[], None]) -> None:
        self._ask(work).result(10)

    def report(self, delivery: Delivery) -> "Future[None]":
        self.deliveries.append(delivery)
        return self._ask(lambda: self._journal.record_delivery(delivery))

    def happen(self, alert: str, *changes: AlertChange, people: tuple[Person, ...] = (DUTY,)) -> list[Notice]:
        """Let changes happen to an alert, each in a batch of its own, with the notices they ask for."""
        planned = []
        for change in changes:
            self._seq += 1
            at_ms = LAID_UP_MS + self._seq * MINUTE
            about = Alert(
                alert, "tern", "frost", "s", AlertState.UNACKNOWLEDGED, Priority.ALARM, Priority.ALARM, at_ms, FOUND
            )
            event = AlertEvent(alert, "tern", at_ms, change, about.state, about.priority, "watch")
            notices = plan([(self._seq, 0, event)], {alert: about}, lambda _: TERN, people)
            batch = Batch(events=[(self._seq, 0, event)], alerts={alert: about}, notices=notices, last_seq=self._seq)
            self.do(lambda batch=batch: self._journal.append(batch))  # type: ignore[misc]
            planned += notices
        return planned

    def waiting(self) -> list[Waiting]:
        assert self.outbox is not None
        return self.outbox.waiting("email", 1 << 62, 1000)

    def sender(self, config: SmtpConfig, **options: Any) -> Sender:
        assert self.outbox is not None
        made = {"server_backoff": QUICK, "notice_backoff": QUICK, "connect": lambda: SmtpConnection(config)} | options
        return Sender(self.outbox, write, report=self.report, **made)

    def _ask(self, work: Callable[[], None]) -> "Future[None]":
        answer: Future[None] = Future()
        self._work.put((work, answer))
        return answer

    def _run(self) -> None:
        while (item := self._work.get()) is not None:
            work, answer = item
            while self.holding.is_set():
                time.sleep(0.01)
            try:
                if self.failing.is_set():
                    raise OSError("the disk is full")  # noqa: TRY301
                work()
            except Exception as error:  # noqa: BLE001
                answer.set_exception(error)
            else:
                answer.set_result(None)


def write(waiting: Waiting, at_ms: int) -> EmailMessage:
    date = datetime.fromtimestamp(at_ms / 1000, UTC)
    return write_mail(waiting.notice, waiting.alert, waiting.vessel, HEAD, date)


def wait_until(true: Callable[[], bool], within_s: float = 10.0) -> None:
    until = time.monotonic() + within_s
    while not true():
        assert time.monotonic() < until, "it did not come about in time"
        time.sleep(0.01)
