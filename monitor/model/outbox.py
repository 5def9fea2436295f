"""The notice outbox, seen from whoever sends: what waits, and the identity of a notice."""

import hashlib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Protocol

from monitor.model.alert import Alert, AlertChange
from monitor.model.notice import Notice
from monitor.model.vessel import Vessel


@dataclass(frozen=True, slots=True)
class Waiting:
    """A notice that is due, and everything its message is made of, as it stands now.

    Attributes:
        notice: what is to be told to whom.
        alert: the alert it is about, in its latest form.
        vessel: the vessel's record that is valid now.
        tries: how often it was tried before.
    """

    notice: Notice
    alert: Alert
    vessel: Vessel
    tries: int


class Outbox(Protocol):
    """Notices that wait to be sent."""

    def waiting(self, channel: str, now_ms: int, limit: int) -> Sequence[Waiting]:
        """Give the notices of a channel that are due, oldest first.

        Of one alert and address only the oldest that is not done comes, so that none overtakes another.
        """
        ...

    def next_due_ms(self, channel: str) -> int | None:
        """Give when the next notice of a channel is due (wall time, ms UTC), None where none waits."""
        ...


class OpenAlerts(Protocol):
    """Where the alerts that are open now can be asked for."""

    def open_alerts(self) -> Iterable[tuple[Alert, Vessel]]:
        """Give every open alert of the yard, each with the valid record of its vessel."""
        ...


def notice_id(alert: str, change: AlertChange, seq: int, place: int, address: str) -> str:
    """Give the id of a notice: twenty-four hexadecimal digits, the same whenever it is planned.

    An alert opens once, so the notice of its opening is named by the alert and the address alone: later messages can
    name it as the one they follow.

    >>> notice_id("1281b2d0c7b6eac3", AlertChange.OPENED, 7, 0, "yard@example.org")
    '65f781494f2a4548a1364c78'
    """
    where = () if change is AlertChange.OPENED else (str(seq), str(place))
    return hashlib.sha256("\0".join((alert, change.value, *where, address)).encode()).hexdigest()[:24]
