"""From findings to alerts: delays in time, then the states of ISA-18.2. Pure: a track in, its events out."""

from dataclasses import dataclass, field
from typing import Self

from monitor.model.alert import Alert, AlertChange, AlertEvent, alert_id
from monitor.model.finding import Finding
from monitor.model.scale import AlertState, Priority

WATCH = "watch"


@dataclass(slots=True)
class Track:
    """One key's way from finding to alert.

    Attributes:
        finding: the latest finding of the key, None where the rule has nothing to say on it.
        rising: for each priority, since when the finding has had it or a higher one.
        falling: for each priority the alert has, since when the finding has had less.
        alert: the alert of this key that is open, None where there is none.
        standing: the priority in force by the delays, None where the condition is clear.
    """

    finding: Finding | None = None
    rising: dict[Priority, int] = field(default_factory=dict)
    falling: dict[Priority, int] = field(default_factory=dict)
    alert: Alert | None = None
    standing: Priority | None = None
    on_delay_ms: int = 0
    off_delay_ms: int = 0

    @classmethod
    def of(cls, alert: Alert) -> Self:
        """Make the track of an alert that is known only from the journal."""
        standing = None if alert.returned_ms is not None else alert.priority
        rising = {p: alert.opened_ms for p in Priority if standing is not None and p <= standing}
        return cls(finding=alert.finding, rising=rising, alert=alert, standing=standing)


def follow(track: Track, finding: Finding | None, now_ms: int) -> None:
    """Take a key's latest finding (None: nothing to say) into its delays."""
    graded = 0 if finding is None else int(finding.priority)
    track.finding = finding
    if finding is not None:
        track.on_delay_ms, track.off_delay_ms = finding.on_delay_ms, finding.off_delay_ms
    standing = track.standing
    for priority in Priority:
        if graded >= priority:
            track.rising.setdefault(priority, now_ms)
            track.falling.pop(priority, None)
        else:
            track.rising.pop(priority, None)
            if standing is not None and standing >= priority:
                track.falling.setdefault(priority, now_ms)
    risen = [p for p, since in track.rising.items() if now_ms - since >= track.on_delay_ms]
    kept = [
        p
        for p in Priority
        if standing is not None
        and p <= standing
        and (p not in track.falling or now_ms - track.falling[p] < track.off_delay_ms)
    ]
    track.standing = max(risen + kept, default=None)
    if track.standing is None:
        track.falling.clear()


def next_change(track: Track) -> int | None:
    """Give the time at which the delays alone would change what stands, None where nothing is under way."""
    standing = track.standing or 0
    times = [since + track.on_delay_ms for p, since in track.rising.items() if p > standing]
    times += [since + track.off_delay_ms for p, since in track.falling.items() if p <= standing]
    return min(times, default=None)


def settle(track: Track, vessel: str, rule: str, subject: str, now_ms: int) -> list[AlertEvent]:
    """Bring a track's alert to what stands now, and say what happened to it.

    The transitions (ISA-18.2 / IEC 62682, by name): normal to unacknowledged when the condition stands;
    unacknowledged to returned unacknowledged, and acknowledged to normal, when it has cleared; returned unacknowledged
    to unacknowledged when it stands again. A priority that rises must be seen again: acknowledged to unacknowledged.
    """
    alert, standing = track.alert, track.standing
    if alert is None:
        if standing is None or track.finding is None:
            # What was told under another's alert, and had cleared before that one did, opens none of its own.
            return []
        return [_open(track, track.finding, vessel, rule, subject, standing, now_ms)]
    if track.finding is not None:
        alert.finding = track.finding
    if standing is None:
        return _clear(track, alert, now_ms)
    if alert.state is AlertState.RETURNED_UNACKNOWLEDGED:
        alert.returned_ms = None
        return [_move(alert, AlertChange.REOPENED, AlertState.UNACKNOWLEDGED, now_ms, priority=standing)]
    if standing == alert.priority:
        return []
    rose = standing > alert.priority
    if rose:
        alert.acknowledged_ms, alert.acknowledged_by = None, None
    state = AlertState.UNACKNOWLEDGED if rose else alert.state
    return [_move(alert, AlertChange.PRIORITY, state, now_ms, priority=standing)]


def acknowledge(track: Track, now_ms: int, actor: str, note: str) -> list[AlertEvent]:
    """Note that somebody has seen the alert: unacknowledged to acknowledged, returned unacknowledged to normal."""
    alert = track.alert
    if alert is None or alert.state not in {AlertState.UNACKNOWLEDGED, AlertState.RETURNED_UNACKNOWLEDGED}:
        return []
    alert.acknowledged_ms, alert.acknowledged_by = now_ms, actor
    if alert.state is AlertState.UNACKNOWLEDGED:
        return [_move(alert, AlertChange.ACKNOWLEDGED, AlertState.ACKNOWLEDGED, now_ms, actor, note)]
    track.alert, alert.ended_ms = None, now_ms
    return [_move(alert, AlertChange.ENDED, AlertState.NORMAL, now_ms, actor, note)]


def _open(
    track: Track, finding: Finding, vessel: str, rule: str, subject: str, standing: Priority, now_ms: int
) -> AlertEvent:
    track.alert = Alert(
        id=alert_id(vessel, rule, subject, now_ms),
        vessel=vessel,
        rule=rule,
        subject=subject,
        state=AlertState.NORMAL,
        priority=standing,
        highest=standing,
        opened_ms=now_ms,
        finding=finding,
    )
    return _move(track.alert, AlertChange.OPENED, AlertState.UNACKNOWLEDGED, now_ms)


def _clear(track: Track, alert: Alert, now_ms: int) -> list[AlertEvent]:
    if alert.state is AlertState.RETURNED_UNACKNOWLEDGED:
        return []
    alert.returned_ms = now_ms
    if alert.state is AlertState.UNACKNOWLEDGED:
        return [_move(alert, AlertChange.RETURNED, AlertState.RETURNED_UNACKNOWLEDGED, now_ms)]
    track.alert, alert.ended_ms = None, now_ms
    return [_move(alert, AlertChange.ENDED, AlertState.NORMAL, now_ms)]


def _move(
    alert: Alert,
    change: AlertChange,
    state: AlertState,
    at_ms: int,
    actor: str = WATCH,
    note: str = "",
    priority: Priority | None = None,
) -> AlertEvent:
    was = None if change is AlertChange.OPENED else alert.priority
    alert.state = state
    if priority is not None:
        alert.priority, alert.highest = priority, max(alert.highest, priority)
    return AlertEvent(alert.id, alert.vessel, at_ms, change, state, alert.priority, actor, note, was)
