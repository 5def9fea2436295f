"""A notice: one message to one address, kept in the journal until it is told."""

from dataclasses import dataclass
from enum import StrEnum


class NoticeKind(StrEnum):
    """Why somebody is told."""

    NEW = "new"
    """The call is new to them."""
    MORE = "more"
    """They were told before, and something has joined it: an alert of the boat, or a boat of the event."""
    WORSE = "worse"
    """They were told before, and it has got worse: a priority rose, or a warning that nobody saw is told as an alarm
    is. Where something has joined it in the same moment, this is said."""
    BACK = "back"
    """They were told before, and something of it is back, neither more nor worse: it had cleared, or was put aside."""
    AGAIN = "again"
    """Nobody has it yet, and they were told before."""
    ESCALATED = "escalated"
    """Nobody has it, and they are next."""
    TAKEN = "taken"
    """Somebody has it now: told to an owner, and to whoever handed it over once it is accepted."""
    HANDED = "handed"
    """Somebody hands it to them, and they are to accept it: until then they do not have it. The reason says who."""
    UNACCEPTED = "unaccepted"
    """They handed it over, and it has not been accepted: whoever had it has it still. The reason says to whom, and that
    it is they who have it where it is so."""
    ASIDE = "aside"
    """They were told of it, and nothing of it is told any more since it was put aside: it has not cleared. The reason
    says by whom and until when."""
    UNREACHED = "unreached"
    """Told to duty: an owner cannot be reached by any channel, and has to be told by somebody. The reason says who."""
    OVER = "over"
    """All of it has cleared or ended."""
    DIGEST = "digest"
    """What stands and can wait, once a day."""
    TEST = "test"
    """Nothing is wrong: somebody tries whether they can be reached. The reason says who, and for which boat."""


@dataclass(frozen=True, slots=True)
class Notice:
    """One message to one address.

    Attributes:
        id: the same however often it is planned; an e-mail's Message-ID and a webhook's id are made of it.
        channel: a `ChannelKind`'s value.
        address: where it goes, in the channel's own form.
        person: who reads it.
        call: id of the call it is about, empty for a digest; a test has one that is no call's.
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
