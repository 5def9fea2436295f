"""What is kept of who was told of what. It is bounded by what is open, and is written as JSON with each batch."""

from dataclasses import dataclass, field

from monitor.model.call import CallKind
from monitor.model.notice import NoticeKind
from monitor.model.scale import Priority
from monitor.telling.limits import TRACE_KEPT
from monitor.telling.standing import Standing


@dataclass(slots=True)
class Reader:
    """An address that was told of a call.

    Attributes:
        person: id of the person.
        name: their name.
        channel: a `ChannelKind`'s value.
        address: where it goes.
        language: what they read.
        owner: whether they are told as an owner.
        rings: whether the channel rings.
        count: how many messages of the call went there.
        over: whether they were told that it is over or put aside, and not since that it is back.
        told_ms: when the last of them went there.
    """

    person: str
    name: str
    channel: str
    address: str
    language: str
    owner: bool
    rings: bool
    count: int = 0
    over: bool = False
    told_ms: int | None = None


@dataclass(slots=True)
class OwnerOf:
    """How far the owner of a vessel in a call has come to be told.

    Attributes:
        due_ms: when they are told though nobody has it; None where nothing is to be told.
        told: the highest priority they were told of, None where of nothing.
        told_ms: when they were last told of what stands.
        knows_who: whether they were told who has it.
        over: whether they were told that it is over or put aside, and not since that it is back.
        unreached: whether duty was told that they cannot be reached.
    """

    due_ms: int | None = None
    told: Priority | None = None
    told_ms: int | None = None
    knows_who: bool = False
    over: bool = False
    unreached: bool = False


@dataclass(slots=True)
class Handing:
    """What is to be told of alerts that somebody handed over.

    Attributes:
        kind: HANDED, TAKEN or UNACCEPTED.
        person: who is told, as the command named them.
        other: who handed it to them, or to whom they handed it.
        due_ms: when they are told.
        alerts: ids of the alerts.
        note: what was said with it.
    """

    kind: NoticeKind
    person: str
    other: str
    due_ms: int
    alerts: list[str] = field(default_factory=list)
    note: str = ""


@dataclass(frozen=True, slots=True)
class Trace:
    """Why somebody was told, or was not."""

    at_ms: int
    who: str
    what: str
    reason: str


@dataclass(slots=True)
class OpenCall:
    """A call that is open.

    Attributes:
        id: see `Call`.
        kind: see `Call`.
        about: see `Call`.
        opened_ms: see `Call`.
        joined_ms: when an alert last joined it.
        rung: see `Call`.
        told_ms: when duty was last told of it, None where not yet.
        rang_ms: when duty was last rung of it, or of a boat before she was drawn into it.
        held: until when a person's quiet hours hold what waits for them, by person id.
        climb_ms: when the ladder last began to climb, None while it stands.
        agains: how often all were told again in this climb.
        accepted_ms: see `Call`.
        accepted_by: see `Call`.
        readers: who was told, by address.
        knew: addresses that were told of a boat of it before she was drawn into it.
        owners: by vessel id.
        handings: what is to be told of alerts that were handed over.
        ended_ms: see `Call`.
        over_ms: when those who were told of it hear that nothing of it stands any more, None while something does.
        over: ids of alerts that were told of and have ended.
        trace: the latest reasons.
    """

    id: str
    kind: CallKind
    about: str
    opened_ms: int
    joined_ms: int
    rung: int = 0
    told_ms: int | None = None
    rang_ms: int | None = None
    held: dict[str, int] = field(default_factory=dict)
    climb_ms: int | None = None
    agains: int = 0
    accepted_ms: int | None = None
    accepted_by: str | None = None
    readers: dict[str, Reader] = field(default_factory=dict)
    knew: list[str] = field(default_factory=list)
    owners: dict[str, OwnerOf] = field(default_factory=dict)
    handings: list[Handing] = field(default_factory=list)
    ended_ms: int | None = None
    over_ms: int | None = None
    over: list[str] = field(default_factory=list)
    trace: list[Trace] = field(default_factory=list)

    @property
    def is_fleet(self) -> bool:
        """Whether it is of the fleet."""
        return self.kind is CallKind.FLEET

    @property
    def vessel(self) -> str | None:
        """The vessel it is of, None where it is of the fleet."""
        return None if self.is_fleet else self.about

    def note(self, at_ms: int, who: str, what: str, reason: str) -> None:
        """Keep why somebody was told, or was not."""
        self.trace = [*self.trace[1 - TRACE_KEPT :], Trace(at_ms, who, what, reason)]


@dataclass(frozen=True, slots=True)
class SomebodyAboard:
    """A person of the yard who is aboard until a time."""

    person: str
    until_ms: int


@dataclass(slots=True)
class State:
    """All that is kept.

    Attributes:
        now_ms: the highest event time seen; None before the first.
        digest_ms: when the next digest is due.
        digested_ms: when the last one was.
        alerts: the open alerts, by id.
        calls: the open calls, by id.
        aboard: who is aboard which vessel.
        ended: calls that have ended since the last batch.
        vessel_of: the vessels of alerts that have ended and are still to be named as over.
    """

    now_ms: int | None = None
    digest_ms: int | None = None
    digested_ms: int | None = None
    alerts: dict[str, Standing] = field(default_factory=dict)
    calls: dict[str, OpenCall] = field(default_factory=dict)
    aboard: dict[str, SomebodyAboard] = field(default_factory=dict)
    ended: list[OpenCall] = field(default_factory=list)
    vessel_of: dict[str, str] = field(default_factory=dict)
