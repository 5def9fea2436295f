"""An alert: a finding with a life of its own, and the events of that life."""

import hashlib
from dataclasses import dataclass, field
from enum import StrEnum

from monitor.model.finding import Finding
from monitor.model.scale import AlertState, Priority


class AlertChange(StrEnum):
    """What can happen to an alert."""

    OPENED = "opened"
    PRIORITY = "priority"
    ACKNOWLEDGED = "acknowledged"
    RETURNED = "returned"
    REOPENED = "reopened"
    LATCHED = "latched"
    CONFIRMED = "confirmed"
    HANDED_OVER = "handed over"
    ACCEPTED = "accepted"
    SHELVED = "shelved"
    SUPPRESSED = "suppressed"
    OUT_OF_SERVICE = "out of service"
    BACK = "back"
    ENDED = "ended"


@dataclass(slots=True)
class Alert:
    """One situation on one vessel, from when it opened to when it ended.

    Attributes:
        id: hash of the finding's key and the opening time (see `alert_id`).
        vessel: vessel id.
        rule: rule that found it.
        subject: thing in the record it is about.
        state: ISA-18.2 state.
        priority: the priority in force.
        highest: the highest priority it has had.
        opened_ms: event time it opened.
        returned_ms: event time the condition last cleared, None while it holds.
        ended_ms: event time it ended, None while it is open.
        acknowledged_ms: event time of the last acknowledgement, None where there is none in force.
        acknowledged_by: who acknowledged it.
        finding: the latest finding behind it.
        latching: whether it stays, its condition cleared, until somebody who was aboard has confirmed it.
        confirmed_ms: event time at which somebody who was aboard last confirmed it, None where nobody has since it
            opened, came back or rose.
        confirmed_by: who that was.
        has_it: who has it now, by name; None where nobody has.
        offered_to: to whom it has been handed over who has not accepted it yet; None where it is not under way.
        aside_by: who put it aside (shelved, suppressed, out of service), None where nobody has.
        aside_why: their reason.
        aside_until_ms: event time at which it comes back by itself, None where it does not.
    """

    id: str
    vessel: str
    rule: str
    subject: str
    state: AlertState
    priority: Priority
    highest: Priority
    opened_ms: int
    finding: Finding
    returned_ms: int | None = None
    ended_ms: int | None = None
    acknowledged_ms: int | None = None
    acknowledged_by: str | None = None
    latching: bool = False
    confirmed_ms: int | None = None
    confirmed_by: str | None = None
    has_it: str | None = None
    offered_to: str | None = None
    aside_by: str | None = None
    aside_why: str = ""
    aside_until_ms: int | None = None

    @property
    def is_open(self) -> bool:
        """Whether it still wants something of somebody: an acknowledgement, or the condition to clear."""
        return self.ended_ms is None


@dataclass(frozen=True, slots=True)
class AlertEvent:
    """One entry of an alert's log.

    Attributes:
        alert: alert id.
        vessel: vessel id.
        at_ms: event time.
        change: what happened.
        state: the state after it.
        priority: the priority after it.
        actor: who did it: a person's name, or ``watch``.
        note: what the person said, empty where nothing.
        was: the priority before it, None where the alert has just opened.
        finding: the finding behind it at that time, for whoever plans what is told; it is not kept in the log.
        to: to whom it was handed over, empty where it was not; not kept in the log, whose note says it.
        until_ms: event time at which it comes back by itself where it is put aside, None where it is not, or without an
            end; not kept in the log.
    """

    alert: str
    vessel: str
    at_ms: int
    change: AlertChange
    state: AlertState
    priority: Priority
    actor: str
    note: str = ""
    was: Priority | None = None
    finding: Finding | None = field(default=None, compare=False, repr=False)
    to: str = field(default="", compare=False)
    until_ms: int | None = field(default=None, compare=False)


def alert_id(vessel: str, rule: str, subject: str, opened_ms: int) -> str:
    """Give the id of an alert: sixteen hexadecimal digits that the key and the opening time decide.

    >>> alert_id("tern", "frost", "raw-water", 1_700_000_000_000)
    '1281b2d0c7b6eac3'
    """
    return hashlib.sha256(f"{vessel}\0{rule}\0{subject}\0{opened_ms}".encode()).hexdigest()[:16]
