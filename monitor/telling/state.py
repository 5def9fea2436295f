"""What is kept of who was told of what. It is bounded by what is open, and is written as JSON with each batch."""

from dataclasses import dataclass, field

from pydantic import TypeAdapter

from monitor.model.call import CallKind
from monitor.model.finding import Finding
from monitor.model.scale import AlertState, Priority
from monitor.telling.limits import TRACE_KEPT

IN_FORCE = frozenset({AlertState.UNACKNOWLEDGED, AlertState.ACKNOWLEDGED})


@dataclass(slots=True)
class Standing:
    """An open alert, as telling knows it.

    Attributes:
        id: alert id.
        vessel: vessel id.
        rule: rule that found it.
        subject: thing in the record it is about.
        state: its state.
        priority: the priority in force.
        opened_ms: event time.
        harm_ms: event time of the low estimate of harm, None where it cannot be said.
        water: whether it is water at a float or a high mark.
        call: the call it is told in.
        told: whether duty has been told of it as it is now.
        ever_told: whether anybody was told of it at all.
        arrived_ms: when it last became something to tell of; None before.
        rings_ms: when, unacknowledged, it is to be told as an alarm is; None for what is none or rings already.
        rings: whether it is told as an alarm is.
        seen_by: who last said that they have seen it.
    """

    id: str
    vessel: str
    rule: str
    subject: str
    state: AlertState
    priority: Priority
    opened_ms: int
    harm_ms: int | None = None
    water: bool = False
    call: str = ""
    told: bool = False
    ever_told: bool = False
    arrived_ms: int | None = None
    rings_ms: int | None = None
    rings: bool = False
    seen_by: str | None = None

    @property
    def in_force(self) -> bool:
        """Whether its condition holds and nobody has put it aside."""
        return self.state in IN_FORCE

    @property
    def is_told(self) -> bool:
        """Whether it is of the kind that is told at once or within the hour: in force, and no mere caution."""
        return self.in_force and self.priority >= Priority.WARNING

    @property
    def wants_somebody(self) -> bool:
        """Whether it is told of and nobody has it."""
        return self.is_told and self.state is AlertState.UNACKNOWLEDGED


def harm_at(finding: Finding, at_ms: int) -> int | None:
    """Give the event time of the low estimate of harm of a finding as of a time, None where it cannot be said."""
    return None if finding.harm is None else at_ms + round(1000 * finding.harm.low_s)


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
        over: whether they were told that it is over, and not since that it is back.
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
        knows_who: whether they were told who has it.
        over: whether they were told that it is over, and not since that it is back.
    """

    due_ms: int | None = None
    told: Priority | None = None
    knows_who: bool = False
    over: bool = False


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
        due_ms: when duty is told what waits to be gathered, None where nothing waits.
        held: until when a person's quiet hours hold what waits for them, by person id.
        climb_ms: when the ladder last began to climb, None while it stands.
        climbed: whether it ever began.
        agains: how often all were told again in this climb.
        accepted_ms: see `Call`.
        accepted_by: see `Call`.
        readers: who was told, by address.
        owners: by vessel id.
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
    due_ms: int | None = None
    held: dict[str, int] = field(default_factory=dict)
    climb_ms: int | None = None
    climbed: bool = False
    agains: int = 0
    accepted_ms: int | None = None
    accepted_by: str | None = None
    readers: dict[str, Reader] = field(default_factory=dict)
    owners: dict[str, OwnerOf] = field(default_factory=dict)
    ended_ms: int | None = None
    over_ms: int | None = None
    over: list[str] = field(default_factory=list)
    trace: list[Trace] = field(default_factory=list)

    @property
    def is_fleet(self) -> bool:
        """Whether it is of the fleet."""
        return self.kind is CallKind.FLEET

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


_STATE = TypeAdapter(State)


def write_state(state: State) -> str:
    """Write the state as JSON."""
    return _STATE.dump_json(state).decode()


def read_state(text: str) -> State:
    """Read what `write_state` wrote."""
    return _STATE.validate_json(text)
