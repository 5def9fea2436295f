"""A notice: one message to one address, kept in the journal until it is told."""

from dataclasses import dataclass
from enum import StrEnum


class NoticeKind(StrEnum):
    """Why somebody is told."""

    NEW = "new"
    """The call is new to them."""
    WORSE = "worse"
    """Another alert has joined it, one is back, or its priority rose."""
    AGAIN = "again"
    """Nobody has it yet, and they were told before."""
    ESCALATED = "escalated"
    """Nobody has it, and they are next."""
    TAKEN = "taken"
    """Somebody has it now."""
    OVER = "over"
    """All of it has cleared or ended."""
    DIGEST = "digest"
    """What stands and can wait, once a day."""


@dataclass(frozen=True, slots=True)
class Notice:
    """One message to one address.

    Attributes:
        id: the same however often it is planned; an e-mail's Message-ID and a webhook's id are made of it.
        channel: a `ChannelKind`'s value.
        address: where it goes, in the channel's own form.
        person: who reads it.
        call: id of the call it is about, empty for a digest.
        kind: why it is sent.
        alerts: ids of the alerts it tells of, in the order in which they are told.
        at_ms: event time.
        reason: why it goes to them, for whoever asks later.
        vessel: id of the vessel it is about, None for a fleet event or a digest.
        owner: whether it goes to them as her owner, who is told who has it and not to board.
        language: the language they read.
    """

    id: str
    channel: str
    address: str
    person: str
    call: str
    kind: NoticeKind
    alerts: tuple[str, ...]
    at_ms: int
    reason: str
    vessel: str | None = None
    owner: bool = False
    language: str = "en"


@dataclass(frozen=True, slots=True)
class Delivery:
    """What came of trying to send a notice.

    Attributes:
        notice: notice id.
        sent: whether it was taken.
        at_ms: wall time of the attempt.
        next_ms: when to try again, None where it is done or given up.
        error: what went wrong, empty where nothing.
        disabled: whether its address is never to be used again (a webhook that answered 410 Gone).
    """

    notice: str
    sent: bool
    at_ms: int
    next_ms: int | None
    error: str = ""
    disabled: bool = False
