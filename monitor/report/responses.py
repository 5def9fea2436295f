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
    """An alert and the first of each answer to it; None where there was none."""

    alert: Alert
    seen: Answered | None
    confirmed: Answered | None
    cleared: Answered | None
    ended: Answered | None


def response(alert: Alert, events: Sequence[AlertEvent]) -> Response:
    """Find the answers."""

    def first(*changes: AlertChange) -> Answered | None:
        found = next((e for e in events if e.change in changes), None)
        return None if found is None else Answered(found.at_ms, found.actor, found.at_ms - alert.opened_ms)

    return Response(
        alert,
        # Whoever confirms or takes it has seen it by that.
        first(AlertChange.ACKNOWLEDGED, AlertChange.CONFIRMED, AlertChange.ACCEPTED),
        first(AlertChange.CONFIRMED),
        first(AlertChange.RETURNED, AlertChange.LATCHED),
        first(AlertChange.ENDED),
    )
