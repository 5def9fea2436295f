"""From what stands to the alert: it opens, rises, clears, latches and ends, by the table of `monitor.alert_states`."""

from monitor.alert_states import Trigger
from monitor.alerting.moves import WATCH, Aside, Doer, after, come_back, end, move, must_confirm, put_aside, unsee
from monitor.alerting.tracks import Track
from monitor.alerting.water import turned_to_water
from monitor.model.alert import Alert, AlertChange, AlertEvent, alert_id
from monitor.model.finding import Finding
from monitor.model.scale import AlertState, Priority

WATER = "there is water at its float or its high mark that was not known of when it was put aside"
"""Why an alert that somebody put aside comes back before its time."""


def settle(
    track: Track, vessel: str, rule: str, subject: str, now_ms: int, aside: Aside | None = None
) -> list[AlertEvent]:
    """Bring a track's alert to what stands now, and say what happened to it.

    Args:
        track: the track, its delays brought to ``now_ms``.
        vessel: vessel id.
        rule: rule of the key.
        subject: subject of the key.
        now_ms: event time.
        aside: what all of the vessel is put aside for now, None where for nothing.
    """
    alert, standing = track.alert, track.standing
    if standing is None:
        track.known_water.clear()  # it has gone: what comes now is another flood
    if alert is None:
        if standing is None or track.finding is None or track.finding.over:
            # What was told under another's alert, and had cleared before that one did, opens none of its own.
            return []
        alert = track.alert = _new(track.finding, vessel, rule, subject, standing, now_ms)
        _take(alert, track.finding, standing)
        return [_stand(alert, AlertChange.OPENED, standing, now_ms, aside)]
    if track.finding is not None:
        _take(alert, track.finding, standing)
    if standing is None:
        return _clear(track, alert, now_ms)
    events = _follow(alert, standing, now_ms, aside)
    if turned_to_water(track.known_water, alert, track.finding, now_ms):
        return [*events, come_back(track, alert, now_ms, aside, Doer(WATCH, WATER))]
    rose = alert.state is AlertState.SHELVED and standing > (track.shelved_at or alert.priority)
    if rose or (alert.state is AlertState.SUPPRESSED and (aside is None or alert.finding.always_told)):
        events.append(come_back(track, alert, now_ms, aside))
    return events


def suppress(track: Track, aside: Aside, now_ms: int) -> list[AlertEvent]:
    """Put a track's alert aside for what is done aboard, where it stands and is not told all the same."""
    alert = track.alert
    if alert is None or alert.finding.always_told:
        return []
    if alert.state not in {AlertState.UNACKNOWLEDGED, AlertState.ACKNOWLEDGED, AlertState.SUPPRESSED}:
        return []
    put_aside(alert, aside)
    return [move(alert, AlertChange.SUPPRESSED, after(alert, Trigger.SUPPRESS), now_ms, aside.doer)]


def _take(alert: Alert, finding: Finding, standing: Priority | None) -> None:
    alert.finding = finding
    if finding.latches and not finding.over and standing is not None and standing >= finding.priority:
        # What has not outlasted its on-delay has not been: nobody has to go aboard for it.
        alert.latching = True


def _follow(alert: Alert, standing: Priority, now_ms: int, aside: Aside | None) -> list[AlertEvent]:
    """Follow a condition that stands: it is back, its priority is another, or nothing is new."""
    if alert.returned_ms is not None:
        alert.returned_ms = None
        if not alert.state.is_aside:
            unsee(alert)
        return [_stand(alert, AlertChange.REOPENED, standing, now_ms, aside)]
    if standing == alert.priority:
        return []
    state = alert.state
    if standing > alert.priority:
        state = after(alert, Trigger.RISES)
        unsee(alert)
    return [move(alert, AlertChange.PRIORITY, state, now_ms, priority=standing)]


def _stand(alert: Alert, change: AlertChange, standing: Priority, now_ms: int, aside: Aside | None) -> AlertEvent:
    told = not alert.state.is_aside
    alert.state = after(alert, Trigger.STANDS)
    if told and aside is not None and not alert.finding.always_told:
        put_aside(alert, aside)
        alert.state = after(alert, Trigger.SUPPRESS)
    return move(alert, change, alert.state, now_ms, priority=standing)


def _clear(track: Track, alert: Alert, now_ms: int) -> list[AlertEvent]:
    if alert.returned_ms is not None:
        return []
    latches = must_confirm(alert)
    state = after(alert, Trigger.CLEARS_UNCONFIRMED if latches else Trigger.CLEARS)
    alert.returned_ms = now_ms
    if state is AlertState.NORMAL:
        return [end(track, alert, now_ms)]
    change = AlertChange.LATCHED if state is AlertState.LATCHED else AlertChange.RETURNED
    return [move(alert, change, state, now_ms)]


def _new(finding: Finding, vessel: str, rule: str, subject: str, standing: Priority, now_ms: int) -> Alert:
    return Alert(
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
