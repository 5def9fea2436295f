"""How soon people answered each alert, from the log of its events."""

from collections.abc import Sequence
from dataclasses import dataclass

from monitor.model.alert import Alert, AlertChange, AlertEvent


@dataclass(frozen=True, slots=True)
class Answered:
    """Something somebody did, who, and how long after the alert opened (ms)."""

    at_ms: int
    by: str
    after_ms: int


@dataclass(frozen=True, slots=True)
class Response:
    """An alert and the first of each answer to it; None where there was none.

    It has cleared when it did so last: what came back ``reopened`` times had not. Where it stands, None.
    """

    alert: Alert
    seen: Answered | None
    confirmed: Answered | None
    cleared: Answered | None
    ended: Answered | None
    reopened: int = 0


def response(alert: Alert, events: Sequence[AlertEvent]) -> Response:
    """Find the answers."""
    back = [number for number, event in enumerate(events) if event.change is AlertChange.REOPENED]
    since_back = events[back[-1] + 1 :] if back else events

    def first(*changes: AlertChange, among: Sequence[AlertEvent] = events) -> Answered | None:
        found = next((e for e in among if e.change in changes), None)
        return None if found is None else Answered(found.at_ms, found.actor, found.at_ms - alert.opened_ms)

    return Response(
        alert,
        # Whoever confirms or takes it has seen it by that.
        first(AlertChange.ACKNOWLEDGED, AlertChange.CONFIRMED, AlertChange.ACCEPTED),
        first(AlertChange.CONFIRMED),
        first(AlertChange.RETURNED, AlertChange.LATCHED, among=since_back),
        first(AlertChange.ENDED),
        len(back),
    )
