"""Who has a call, said from its alerts as they stand: a call's page and an alert's never contradict each other."""

from collections.abc import Callable, Sequence
from itertools import pairwise

from monitor.model.alert import Alert, AlertEvent
from monitor.model.call import Call
from monitor.model.scale import AlertState, Priority
from monitor.web.clock import YardClock

Log = Callable[[str], list[AlertEvent]]
_IN_FORCE = frozenset({AlertState.UNACKNOWLEDGED, AlertState.ACKNOWLEDGED})


def who_has(call: Call, alerts: Sequence[Alert], log: Log, clock: YardClock) -> str:
    """Say who has a call, and since when.

    Args:
        call: the call.
        alerts: its open alerts.
        log: gives what happened to an alert, oldest first; asked only where nobody has any of it.
        clock: the yard's clock.
    """
    if call.ended_ms is not None:
        return f"over since {clock.at(call.ended_ms)}"
    standing = [alert for alert in alerts if alert.state in _IN_FORCE]
    if not standing:
        return _nothing_stands(alerts)
    told = [alert for alert in standing if alert.priority >= Priority.WARNING] or standing
    having = [holder(alert) for alert in told]
    names = list(dict.fromkeys(name for name in having if name is not None))
    if not names:
        # From when the first of it opened, as the yard's page has it: its call may have opened later, or long before.
        opened_ms = min(alert.opened_ms for alert in told)
        return f"nobody has had it since {clock.at(max(opened_ms, _freed_ms(told, log)))}"
    listed, has = _listed(names), "has" if len(names) == 1 else "have"
    if None in having:
        return f"{listed} {has} some of it; nobody has the rest"
    if call.accepted_ms is None:
        return f"{listed} {has} it"
    return f"{listed} {has} had it since {clock.at(call.accepted_ms)}"


def holder(alert: Alert) -> str | None:
    """Give who has an alert: nobody has one that is news again, whoever once had it."""
    return None if alert.state is AlertState.UNACKNOWLEDGED else alert.has_it or alert.acknowledged_by


def _nothing_stands(alerts: Sequence[Alert]) -> str:
    if any(alert.state is AlertState.LATCHED for alert in alerts):
        return "it has cleared, and somebody must go aboard"
    if any(alert.state.is_aside for alert in alerts):
        return "what is left of it is put aside"
    return "it has cleared"


def _freed_ms(alerts: Sequence[Alert], log: Log) -> int:
    """Give when the last of them that somebody had became news again, 0 where nobody ever had any."""
    return max(
        (
            then.at_ms
            for alert in alerts
            for before, then in pairwise(log(alert.id))
            if before.state is not AlertState.UNACKNOWLEDGED and then.state is AlertState.UNACKNOWLEDGED
        ),
        default=0,
    )


def _listed(names: list[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
