"""A journal with notices in it, and its own writing thread that commits what is reported, as the agent has one."""

import queue
import threading
from collections.abc import Callable
from concurrent.futures import Future
from pathlib import Path

from boats import LAID_UP_MS, MINUTE, boat
from notices import ANNA, PER

from monitor.model.alert import Alert, AlertChange, AlertEvent
from monitor.model.batch import Batch
from monitor.model.call import Call, CallKind
from monitor.model.finding import Figure, Finding
from monitor.model.inputs import RecordVersion
from monitor.model.notice import Delivery, Notice, NoticeKind
from monitor.model.outbox import notice_id
from monitor.model.scale import AlertState, Priority, Sure
from monitor.store.journal import Journal
from monitor.store.outbox import JournalOutbox

TERN = boat()
FOUND = Finding(
    "frost", "s", "not known", Priority.WARNING, Figure(None, 0.0, "degC"), None, Sure.LIKELY,
    ("no_temperature",), ("read_temperature_aboard",), (), facts={"name": "Cooling", "protected_to_degc": 0.0},
)  # fmt: skip


class Post:
    """The writing thread of a journal, as the agent has one."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self._journal = Journal(path)
        self._seq = 1
        self._work: queue.SimpleQueue[tuple[Callable[[], None], Future[None]] | None] = queue.SimpleQueue()
        self._thread = threading.Thread(target=self._run)
        self._thread.start()
        self._ask(
            lambda: self._journal.append(Batch(inputs=[(1, RecordVersion(TERN, LAID_UP_MS, "test"))], last_seq=1))
        ).result(10)
        self.outbox = JournalOutbox(path)

    def close(self) -> None:
        self._work.put(None)
        self._thread.join()
        self.outbox.close()
        self._journal.close()

    def report(self, delivery: Delivery) -> "Future[None]":
        return self._ask(lambda: self._journal.record_delivery(delivery))

    def try_again(self, notice: str) -> "Future[None]":
        return self._ask(lambda: self._journal.try_again(notice))

    def happen(self, call: str, *kinds: NoticeKind, channel: str = "email") -> list[Notice]:
        """Let things happen to a call of one alert, each in a batch of its own, told to duty and owner."""
        made = []
        for kind in kinds:
            self._seq += 1
            at_ms = LAID_UP_MS + self._seq * MINUTE
            alert = Alert(
                f"{call}-alert", "tern", "frost", "s", AlertState.UNACKNOWLEDGED, Priority.ALARM, Priority.ALARM, at_ms,
                FOUND,
            )  # fmt: skip
            event = AlertEvent(alert.id, "tern", at_ms, AlertChange.OPENED, alert.state, alert.priority, "watch")
            about = Call(call, CallKind.VESSEL, "tern", at_ms, Priority.ALARM, (alert.id,), ("tern",))
            notices = [
                Notice(
                    id=notice_id(call, kind, at_ms, 0, channel, address),
                    channel=channel,
                    address=address,
                    person=person,
                    call=call,
                    kind=kind,
                    alerts=(alert.id,),
                    at_ms=at_ms,
                    reason="told",
                    vessel="tern",
                    owner=address == ANNA,
                )
                for person, address in (("Per", PER), ("Anna", ANNA))
            ]
            batch = Batch(
                events=[(self._seq, 0, event)],
                alerts={alert.id: alert},
                notices=notices,
                calls={call: about},
                last_seq=self._seq,
            )
            self._ask(lambda batch=batch: self._journal.append(batch)).result(10)  # type: ignore[misc]
            made += notices
        return made

    def _ask(self, work: Callable[[], None]) -> "Future[None]":
        answer: Future[None] = Future()
        self._work.put((work, answer))
        return answer

    def _run(self) -> None:
        while (item := self._work.get()) is not None:
            work, answer = item
            try:
                work()
            except Exception as error:  # noqa: BLE001 - handed on to whoever asked
                answer.set_exception(error)
            else:
                answer.set_result(None)
