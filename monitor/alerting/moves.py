"""One move of an alert, with its entry in the log."""

from dataclasses import dataclass

from monitor.alert_states import Trigger, step
from monitor.alerting.tracks import Track
from monitor.model.alert import Alert, AlertChange, AlertEvent
from monitor.model.scale import AlertState, Priority

WATCH = "watch"


@dataclass(frozen=True, slots=True)
class Doer:
    """Who moves an alert, and what they say."""

    actor: str = WATCH
    note: str = ""


BY_WATCH = Doer()


@dataclass(frozen=True, slots=True)
class Aside:
    """By whom, why and until when (ms UTC, None without an end) alerts are put aside."""

    by: str
    why: str
    until_ms: int | None
    note: str = ""

    @property
    def doer(self) -> Doer:
        """Who did it, and what stands in the log of it."""
        return Doer(self.by, f"{self.why}: {self.note}" if self.note else self.why)


def after(alert: Alert, trigger: Trigger) -> AlertState:
    """Give the state that a trigger takes an alert to, which must be one of the table's moves."""
    state, refused = step(alert.state, trigger)
    if state is None:
        raise ValueError(f"alert {alert.id} is {alert.state} and was told that {trigger}: {refused}")
    return state


def move(
    alert: Alert,
    change: AlertChange,
    state: AlertState,
    at_ms: int,
    doer: Doer = BY_WATCH,
    priority: Priority | None = None,
) -> AlertEvent:
    """Bring an alert to a state, and give the entry in its log."""
    was = None if change is AlertChange.OPENED else alert.priority
    alert.state = state
    if priority is not None:
        alert.priority, alert.highest = priority, max(alert.highest, priority)
    to = alert.offered_to or "" if change is AlertChange.HANDED_OVER else ""
    return AlertEvent(
        alert=alert.id,
        vessel=alert.vessel,
        at_ms=at_ms,
        change=change,
        state=state,
        priority=alert.priority,
        actor=doer.actor,
        note=doer.note,
        was=was,
        finding=alert.finding,
        to=to,
        until_ms=alert.aside_until_ms if state.is_aside else None,
    )


def end(track: Track, alert: Alert, at_ms: int, doer: Doer = BY_WATCH) -> AlertEvent:
    """End an alert."""
    track.alert, alert.ended_ms = None, at_ms
    return move(alert, AlertChange.ENDED, AlertState.NORMAL, at_ms, doer)


def see(alert: Alert, at_ms: int, actor: str) -> None:
    """Note that somebody has seen an alert, and has it where nobody else does."""
    alert.acknowledged_ms, alert.acknowledged_by = at_ms, actor
    alert.has_it = alert.has_it or actor


def unsee(alert: Alert) -> None:
    """Forget who has seen and confirmed an alert, and who has it or is to have it: it is news again, and nobody's."""
    alert.acknowledged_ms = alert.acknowledged_by = None
    alert.confirmed_ms = alert.confirmed_by = None
    alert.has_it = alert.offered_to = None


def must_confirm(alert: Alert) -> bool:
    """Whether somebody has still to go aboard before it may end."""
    return alert.latching and alert.confirmed_ms is None


def put_aside(alert: Alert, aside: Aside) -> None:
    """Note by whom, why and until when an alert is put aside."""
    alert.aside_by, alert.aside_why, alert.aside_until_ms = aside.by, aside.why, aside.until_ms


def come_back(track: Track, alert: Alert, at_ms: int, aside: Aside | None, doer: Doer = BY_WATCH) -> AlertEvent:
    """Bring an alert back from where it was put aside, as its condition is now.

    Args:
        track: its track.
        alert: the alert, put aside.
        at_ms: event time.
        aside: what else all of the vessel is put aside for now: it goes there where its condition stands.
        doer: who brings it back.
    """
    track.shelved_at, track.known_water = None, {}
    alert.aside_by, alert.aside_why, alert.aside_until_ms = None, "", None
    if alert.returned_ms is not None:
        if must_confirm(alert):
            return move(alert, AlertChange.LATCHED, after(alert, Trigger.BACK_UNCONFIRMED), at_ms, doer)
        return end(track, alert, at_ms, doer)
    state = after(alert, Trigger.BACK)
    unsee(alert)
    if aside is None or alert.finding.always_told:
        return move(alert, AlertChange.BACK, state, at_ms, doer)
    alert.state = state
    put_aside(alert, aside)
    return move(alert, AlertChange.SUPPRESSED, after(alert, Trigger.SUPPRESS), at_ms, aside.doer)
