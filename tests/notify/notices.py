"""Notices for tests, and an outbox in memory whose reports a writing thread commits, as the agent's writer does."""

import queue
import threading
import time
from collections.abc import Callable
from concurrent.futures import Future
from email.message import EmailMessage

from boats import LAID_UP_MS, MINUTE

from monitor.model.notice import Delivery, Notice, NoticeKind
from monitor.model.outbox import Waiting, notice_id
from monitor.notify.backoff import Backoff

NEW, WORSE, TAKEN, OVER = NoticeKind.NEW, NoticeKind.WORSE, NoticeKind.TAKEN, NoticeKind.OVER
QUICK = Backoff(first_s=0.05, longest_s=0.2)
PER, ANNA = "duty@yard.example", "anna@example.org"


class Box:
    """`Outbox` in memory, and what was reported to it.

    Attributes:
        holding: while set, the writing thread commits nothing (a slow disk).
        failing: while set, nothing can be committed.
        lost: while set, reports are taken and forgotten, as by an agent that is killed before its commit.
    """

    def __init__(self, channel: str, addresses: tuple[str, ...]) -> None:
        self.deliveries: list[Delivery] = []
        self.done: dict[str, Delivery] = {}
        self.holding, self.failing, self.lost = threading.Event(), threading.Event(), threading.Event()
        self._channel, self._addresses = channel, addresses
        self._notices: list[Notice] = []
        self._last: dict[str, Delivery] = {}
        self._tries: dict[str, int] = {}
        self._gone: set[tuple[str, str]] = set()
        self._lock = threading.Lock()
        self._work: queue.SimpleQueue[tuple[Delivery, Future[None]] | None] = queue.SimpleQueue()
        self._thread = threading.Thread(target=self._run)
        self._thread.start()

    def close(self) -> None:
        self.holding.clear()
        self._work.put(None)
        self._thread.join()

    def happen(self, call: str, *kinds: NoticeKind) -> list[Notice]:
        """Let things happen to a call, each told to every address."""
        made = []
        with self._lock:
            for kind in kinds:
                at_ms = LAID_UP_MS + len(self._notices) * MINUTE
                for address in self._addresses:
                    key = notice_id(call, kind, at_ms, 0, self._channel, address)
                    made.append(
                        Notice(key, self._channel, address, address[:4], call, kind, ("a1",), at_ms, "told", "tern")
                    )
            self._notices += made
        return made

    def report(self, delivery: Delivery) -> "Future[None]":
        answer: Future[None] = Future()
        self.deliveries.append(delivery)
        self._work.put((delivery, answer))
        return answer

    def left(self) -> list[Notice]:
        """What is not done yet."""
        with self._lock:
            return [n for n in self._notices if n.id not in self.done]

    def waiting(self, channel: str, now_ms: int, limit: int) -> list[Waiting]:
        turns = self._turns(channel)
        due = [n for n in turns if self._due_ms(n) <= now_ms][:limit]
        return [Waiting(n, None, (), n.id, self._tries.get(n.id, 0)) for n in due]

    def next_due_ms(self, channel: str) -> int | None:
        return min((self._due_ms(n) for n in self._turns(channel)), default=None)

    def disabled(self) -> set[tuple[str, str]]:
        return set(self._gone)

    def _turns(self, channel: str) -> list[Notice]:
        first: dict[tuple[str, str], Notice] = {}
        for notice in self.left():
            if notice.channel == channel:
                first.setdefault((notice.call, notice.address), notice)
        return list(first.values())

    def _due_ms(self, notice: Notice) -> int:
        last = self._last.get(notice.id)
        return 0 if last is None or last.next_ms is None else last.next_ms

    def _run(self) -> None:
        while (item := self._work.get()) is not None:
            delivery, answer = item
            while self.holding.is_set():
                time.sleep(0.01)
            if self.lost.is_set():
                continue
            if self.failing.is_set():
                answer.set_exception(OSError("the disk is full"))
                continue
            with self._lock:
                self._last[delivery.notice] = delivery
                self._tries[delivery.notice] = self._tries.get(delivery.notice, 0) + 1
                if delivery.next_ms is None:
                    self.done[delivery.notice] = delivery
                if delivery.disabled:
                    address = next(n.address for n in self._notices if n.id == delivery.notice)
                    self._gone.add((self._channel, address))
            answer.set_result(None)


def write_plain(waiting: Waiting, _at_ms: int) -> EmailMessage:
    """Write a notice as an e-mail that carries nothing but its identity."""
    message = EmailMessage()
    message["Subject"], message["From"], message["To"] = "Tern", "watch@yard.example", waiting.notice.address
    message["Message-ID"] = f"<{waiting.notice.id}@yard.example>"
    message.set_content("Go and look.")
    return message


def wait_until(true: Callable[[], bool], within_s: float = 10.0) -> None:
    until = time.monotonic() + within_s
    while not true():
        assert time.monotonic() < until, "it did not come about in time"
        time.sleep(0.01)
