"""An open alert, as telling knows it."""

from dataclasses import dataclass

from monitor.model.finding import Finding
from monitor.model.notice import NoticeKind
from monitor.model.scale import AlertState, Priority

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
        told_at: the priority it had when duty was last told of it.
        news: what it is to whoever was told of its call before: NEW where it has joined it, WORSE or BACK.
        since_ms: when it last opened, came back, rose or was put aside.
        arrived_ms: when it last became something to tell of; None before.
        retry_ms: when it is tried again to tell duty of it, None where nothing failed.
        rings_ms: when, unacknowledged, it is to be told as an alarm is; None for what is none or rings already.
        rings: whether it is told as an alarm is.
        seen_by: who has it: whoever was first to see it, or accepted it from them.
        handed_by: who handed it over to somebody who has not accepted it yet.
        aside_by: who put it aside, None where nobody has.
        aside_until_ms: when it comes back by itself, None where it does not.
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
    told_at: Priority | None = None
    news: NoticeKind = NoticeKind.NEW
    since_ms: int | None = None
    arrived_ms: int | None = None
    retry_ms: int | None = None
    rings_ms: int | None = None
    rings: bool = False
    seen_by: str | None = None
    handed_by: str | None = None
    aside_by: str | None = None
    aside_until_ms: int | None = None

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

    @property
    def wakes(self) -> bool:
        """Whether it wakes who sleeps."""
        return self.rings or self.priority is Priority.ALARM


def harm_at(finding: Finding, at_ms: int) -> int | None:
    """Give the event time of the low estimate of harm of a finding as of a time, None where it cannot be said."""
    return None if finding.harm is None else at_ms + round(1000 * finding.harm.low_s)
