"""What people do with an alert: whether they can, and what comes of it."""

from monitor.alert_states import Trigger, step
from monitor.alerting.limits import LIMITS
from monitor.alerting.moves import Aside, Doer, after, come_back, end, move, put_aside, see
from monitor.alerting.tracks import Track
from monitor.alerting.water import known_of
from monitor.model.alert import Alert, AlertChange, AlertEvent
from monitor.model.inputs import Accept, Acknowledge, AlertCommand, BringBack, Confirm, HandOver, Shelve, TakeOut
from monitor.model.scale import AlertState, Priority
from monitor.rules.rule import HOUR_MS

_TRIGGERS: dict[type[AlertCommand], Trigger] = {
    Acknowledge: Trigger.ACKNOWLEDGE,
    Confirm: Trigger.CONFIRM,
    HandOver: Trigger.HAND_OVER,
    Accept: Trigger.ACCEPT,
    Shelve: Trigger.SHELVE,
    TakeOut: Trigger.TAKE_OUT,
    BringBack: Trigger.BACK,
}


def refusal(alert: Alert, command: AlertCommand, now_ms: int) -> str:
    """Say in words why somebody cannot do this with an alert now; empty where they can.

    Args:
        alert: the alert.
        command: what is asked for.
        now_ms: the time it is done at.
    """
    if not command.actor.strip():
        return "nobody is named who does it: give a name"
    refused = step(alert.state, _TRIGGERS[type(command)]).refused
    if not refused:
        return _lacks(alert, command, now_ms)
    seen = isinstance(command, Acknowledge) and alert.state is AlertState.ACKNOWLEDGED
    return f"{alert.acknowledged_by} has seen it already" if seen and alert.acknowledged_by else refused


def _lacks(alert: Alert, command: AlertCommand, now_ms: int) -> str:
    lacks = ""
    if isinstance(command, Acknowledge) and alert.acknowledged_ms is not None:
        lacks = f"{alert.acknowledged_by} has seen it already"
    elif isinstance(command, Confirm) and not (command.note.strip() or command.nothing_wrong):
        lacks = "nothing is said of what was found aboard: write what it was, or that nothing was wrong"
    elif isinstance(command, HandOver) and not command.to.strip():
        lacks = "nobody is named to hand it over to: give a name"
    elif isinstance(command, HandOver) and command.to == alert.has_it:
        lacks = f"{command.to} has it already"
    elif isinstance(command, (Shelve, TakeOut)) and not command.reason.strip():
        lacks = "no reason is given: say why it is put aside"
    elif isinstance(command, Shelve):
        limit = "shelf_most_alarm" if alert.priority is Priority.ALARM else "shelf_most"
        lacks = refused_end(command.until_ms, now_ms, limit)
    elif isinstance(command, BringBack) and alert.state is AlertState.SUPPRESSED:
        lacks = "it is put aside while something is done aboard: say that this is over instead"
    return lacks


def refused_end(until_ms: int, now_ms: int, limit: str) -> str:
    """Say why something cannot be put aside until a time; empty where it can.

    Args:
        until_ms: that time.
        now_ms: from when.
        limit: the row of `LIMITS` it is held to.
    """
    row = LIMITS.rows[limit]
    if until_ms <= now_ms:
        return "the time until which it is put aside is past: name one to come"
    if until_ms - now_ms > LIMITS.ms(limit):
        asked_h, unit = (until_ms - now_ms) / HOUR_MS, "days" if row.unit == "d" else "hours"
        most = "an alarm" if limit == "shelf_most_alarm" else "it"
        return f"{most} may be put aside for {row.value:g} {unit} at most, not {asked_h:.1f} hours: {row.do}"
    return ""


def act(track: Track, command: AlertCommand, now_ms: int, aside: Aside | None = None) -> list[AlertEvent]:
    """Do what somebody asked for with a track's alert; what is refused does nothing.

    Args:
        track: the track; nothing is done where it has no alert.
        command: what is asked for.
        now_ms: the time it is done at.
        aside: what all of the vessel is put aside for now, None where for nothing.
    """
    alert = track.alert
    if alert is None or refusal(alert, command, now_ms):
        return []
    if isinstance(command, BringBack):
        return [come_back(track, alert, now_ms, aside, Doer(command.actor, command.note))]
    state = after(alert, _TRIGGERS[type(command)])
    if isinstance(command, Shelve):
        track.shelved_at, track.known_water = alert.priority, known_of(alert)
        put_aside(alert, Aside(command.actor, command.reason, command.until_ms))
        return [move(alert, AlertChange.SHELVED, state, now_ms, Doer(command.actor, command.reason))]
    if isinstance(command, TakeOut):
        track.shelved_at, track.known_water = None, known_of(alert)
        put_aside(alert, Aside(command.actor, command.reason, None))
        return [move(alert, AlertChange.OUT_OF_SERVICE, state, now_ms, Doer(command.actor, command.reason))]
    return _take_in_hand(track, alert, command, state, now_ms)


def _take_in_hand(
    track: Track,
    alert: Alert,
    command: Acknowledge | Confirm | HandOver | Accept,
    state: AlertState,
    now_ms: int,
) -> list[AlertEvent]:
    doer, actor = Doer(command.actor, command.note), command.actor
    if isinstance(command, HandOver):
        alert.offered_to = command.to
        told = Doer(actor, f"{command.to}: {command.note}" if command.note else command.to)
        return [move(alert, AlertChange.HANDED_OVER, state, now_ms, told)]
    change = AlertChange.ACKNOWLEDGED
    if isinstance(command, Confirm):
        change, alert.confirmed_ms, alert.confirmed_by = AlertChange.CONFIRMED, now_ms, actor
    elif isinstance(command, Accept):
        change, alert.has_it, alert.offered_to = AlertChange.ACCEPTED, actor, None
    if isinstance(command, Confirm) or not alert.state.is_aside:
        see(alert, now_ms, actor)
    if state is AlertState.NORMAL and change is AlertChange.ACKNOWLEDGED:
        return [end(track, alert, now_ms, doer)]
    done = move(alert, change, state, now_ms, doer)
    return [done] if state is not AlertState.NORMAL else [done, end(track, alert, now_ms, Doer(actor))]
