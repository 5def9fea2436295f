"""The notice outbox, seen from whoever sends: what waits, and the identity of a notice."""

import hashlib
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from typing import Protocol

from monitor.model.alert import Alert
from monitor.model.call import Call
from monitor.model.notice import Notice, NoticeKind
from monitor.model.vessel import Vessel


@dataclass(frozen=True, slots=True)
class Waiting:
    """A notice that is due, and everything its message is made of, as it stands now.

    Attributes:
        notice: what is to be told to whom.
        call: the call it is about, in its latest form; None for a digest.
        alerts: the alerts of the notice in their latest form, in its order, each with the record of its vessel that is
            valid now.
        opening: id of the notice by which this address was first told of the call; its own where it is the first.
        tries: how often it was tried before.
    """

    notice: Notice
    call: Call | None
    alerts: tuple[tuple[Alert, Vessel], ...]
    opening: str
    tries: int


class Outbox(Protocol):
    """Notices that wait to be sent."""

    def waiting(self, channel: str, now_ms: int, limit: int) -> Sequence[Waiting]:
        """Give the notices of a channel that are due, oldest first.

        Of one call and address only the oldest that is not done comes, so that none overtakes another.
        """
        ...

    def next_due_ms(self, channel: str) -> int | None:
        """Give when the next notice of a channel is due (wall time, ms UTC), None where none waits."""
        ...

    def disabled(self) -> Collection[tuple[str, str]]:
        """Give the addresses that are never to be used again, each after its channel."""
        ...


class OpenAlerts(Protocol):
    """Where the alerts that are open now can be asked for."""

    def open_alerts(self) -> Iterable[tuple[Alert, Vessel]]:
        """Give every open alert of the yard, each with the valid record of its vessel."""
        ...


def notice_id(call: str, kind: NoticeKind, at_ms: int, number: int, channel: str, address: str) -> str:
    """Give the id of a notice: twenty-four hexadecimal digits, the same whenever it is planned.

    Args:
        call: id of the call; a digest has none, and is told apart by its time.
        kind: why it is sent.
        at_ms: event time.
        number: how many messages of this call went before it to the same address.
        channel: the channel's kind.
        address: where it goes.

    >>> notice_id("1281b2d0c7b6eac3", NoticeKind.NEW, 7, 0, "email", "yard@example.org")
    'b4c29e6303608dea90233aed'
    """
    parts = (call, kind.value, str(at_ms), str(number), channel, address)
    return hashlib.sha256("\0".join(parts).encode()).hexdigest()[:24]
