"""A notice: one thing to be told to one address, kept in the journal until it is told."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Notice:
    """One message to one address about one change of one alert.

    Attributes:
        id: the same for the same alert, change and address, so that it is planned once however often it is planned.
        channel: ``email`` now; later ones beside it.
        address: where it goes, in the channel's own form.
        person: who reads it.
        alert: alert id.
        vessel: vessel id.
        change: what happened to the alert.
        at_ms: event time of the change.
        reason: why it is sent, for whoever asks later.
    """

    id: str
    channel: str
    address: str
    person: str
    alert: str
    vessel: str
    change: str
    at_ms: int
    reason: str


@dataclass(frozen=True, slots=True)
class Delivery:
    """What came of trying to send a notice.

    Attributes:
        notice: notice id.
        sent: whether it was taken.
        at_ms: wall time of the attempt.
        next_ms: when to try again, None where it is done or given up.
        error: what went wrong, empty where nothing.
    """

    notice: str
    sent: bool
    at_ms: int
    next_ms: int | None
    error: str = ""
