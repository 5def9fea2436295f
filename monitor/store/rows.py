"""How alerts and their events stand in the journal's rows, and back."""

import hashlib
import json
from collections.abc import Iterable

from pydantic import TypeAdapter

from monitor.model.alert import Alert, AlertChange, AlertEvent
from monitor.model.finding import Finding
from monitor.model.scale import AlertState, Priority

# Marks of a reading, summed in reading.mark.
LATE, CLOCK_FAULT, NOT_NEWS = 1, 2, 4

ReadingRow = tuple[int, int, int, int, int, float, int, int]
"""A reading as its row: series, stated_ms, seq, event_ms, arrived_ms, value, flag and mark."""

ALERT_COLUMNS = (
    "id, vessel, rule, subject, state, priority, highest, opened_ms, returned_ms, ended_ms, acknowledged_ms,"
    " acknowledged_by, latching, confirmed_ms, confirmed_by, has_it, offered_to, aside_by, aside_why, aside_until_ms,"
    " finding"
)
ALERT_CHANGES = tuple(
    name
    for name in ALERT_COLUMNS.replace(",", " ").split()
    if name not in {"id", "vessel", "rule", "subject", "opened_ms"}
)
"""The columns of an alert that change in its life."""

finding_json: TypeAdapter[Finding] = TypeAdapter(Finding)
findings_json: TypeAdapter[list[Finding]] = TypeAdapter(list[Finding])


EVENT_COLUMNS = "alert, vessel, at_ms, change, state, priority, was, actor, note"


def event_row(seq: int, place: int, event: AlertEvent) -> tuple[int | str | None, ...]:
    """Lay an event out as its row: seq, place, `EVENT_COLUMNS`; without the hash."""
    return (
        seq,
        place,
        event.alert,
        event.vessel,
        event.at_ms,
        event.change.value,
        event.state.value,
        event.priority.word,
        None if event.was is None else event.was.word,
        event.actor,
        event.note,
    )


def chained(before: str, seq: int, place: int, event: AlertEvent) -> str:
    """Give the hash of an event's row that covers the hash before it (SHA-256, hexadecimal)."""
    return hashlib.sha256(json.dumps([before, *event_row(seq, place, event)]).encode()).hexdigest()


def alert_row(alert: Alert, seq: int) -> tuple[object, ...]:
    """Lay an alert out as its row."""
    return (
        alert.id,
        alert.vessel,
        alert.rule,
        alert.subject,
        alert.state.value,
        alert.priority.word,
        alert.highest.word,
        alert.opened_ms,
        alert.returned_ms,
        alert.ended_ms,
        alert.acknowledged_ms,
        alert.acknowledged_by,
        int(alert.latching),
        alert.confirmed_ms,
        alert.confirmed_by,
        alert.has_it,
        alert.offered_to,
        alert.aside_by,
        alert.aside_why,
        alert.aside_until_ms,
        finding_json.dump_json(alert.finding).decode(),
        seq,
    )


def alert_from_row(row: Iterable[object]) -> Alert:
    """Make an alert from its row, in the order of `ALERT_COLUMNS`."""
    key, vessel, rule, subject, state, priority, highest, opened, returned, ended, acked, by, *life, finding = row
    latching, confirmed, confirmed_by, has_it, offered_to, aside_by, aside_why, aside_until = life
    return Alert(
        id=str(key),
        vessel=str(vessel),
        rule=str(rule),
        subject=str(subject),
        state=AlertState(str(state)),
        priority=Priority[str(priority).upper()],
        highest=Priority[str(highest).upper()],
        opened_ms=whole(opened) or 0,
        finding=finding_json.validate_json(str(finding)),
        returned_ms=whole(returned),
        ended_ms=whole(ended),
        acknowledged_ms=whole(acked),
        acknowledged_by=text_of(by),
        latching=bool(latching),
        confirmed_ms=whole(confirmed),
        confirmed_by=text_of(confirmed_by),
        has_it=text_of(has_it),
        offered_to=text_of(offered_to),
        aside_by=text_of(aside_by),
        aside_why=str(aside_why),
        aside_until_ms=whole(aside_until),
    )


def event_from_row(row: Iterable[object]) -> AlertEvent:
    """Make an event from its row, in the order of `EVENT_COLUMNS`."""
    alert, vessel, at_ms, change, state, priority, was, actor, note = row
    return AlertEvent(
        alert=str(alert),
        vessel=str(vessel),
        at_ms=whole(at_ms) or 0,
        change=AlertChange(str(change)),
        state=AlertState(str(state)),
        priority=Priority[str(priority).upper()],
        actor=str(actor),
        note=str(note),
        was=None if was is None else Priority[str(was).upper()],
    )


def whole(value: object) -> int | None:
    """Give what a column of whole numbers holds."""
    return value if isinstance(value, int) else None


def text_of(value: object) -> str | None:
    """Give what a column of text holds."""
    return None if value is None else str(value)
