"""An alert is handed over: whoever is to accept it is told, and whoever handed it over hears what came of it."""

from monitor.model.alert import AlertChange, AlertEvent
from monitor.model.notice import NoticeKind
from monitor.telling.limits import HANDING_GATHERS_MS, MINUTE_MS
from monitor.telling.membership import join_vessel
from monitor.telling.scene import Scene, ms
from monitor.telling.standing import Standing
from monitor.telling.state import Handing, OpenCall
from monitor.telling.written import Word

HANDED, TAKEN, UNACCEPTED = NoticeKind.HANDED, NoticeKind.TAKEN, NoticeKind.UNACCEPTED
_NOT_OFFERED_ANY_MORE = frozenset(
    {
        AlertChange.REOPENED,
        AlertChange.BACK,
        AlertChange.SHELVED,
        AlertChange.SUPPRESSED,
        AlertChange.OUT_OF_SERVICE,
        AlertChange.ENDED,
    }
)


def follow(scene: Scene, alert: Standing, event: AlertEvent, now_ms: int) -> None:
    """Plan what is to be told of an alert that is handed over or accepted, or is nobody's to accept any more."""
    call = scene.state.calls.get(alert.call)
    if event.change is AlertChange.HANDED_OVER and event.to:
        call = join_vessel(scene.index, alert, now_ms)
        scene.touched.add(call.id)
        _drop(call, alert.id)
        alert.handed_by, alert.ever_told = event.actor, True
        note = event.note.removeprefix(event.to).removeprefix(": ")
        _put(call, Handing(HANDED, event.to, event.actor, now_ms + HANDING_GATHERS_MS, note=note), alert.id)
        late_ms = now_ms + ms(scene.ladder.second_after_min)
        _put(call, Handing(UNACCEPTED, event.actor, event.to, late_ms), alert.id)
        scene.timers.lower(call, due_ms(call))
    elif call is not None and alert.handed_by is not None:
        by = alert.handed_by
        if event.change is AlertChange.ACCEPTED:
            alert.handed_by = None
            _drop(call, alert.id)
            if by.casefold() != event.actor.casefold():
                _put(call, Handing(TAKEN, by, event.actor, now_ms + HANDING_GATHERS_MS), alert.id)
                scene.timers.lower(call, due_ms(call))
        elif event.change in _NOT_OFFERED_ANY_MORE or _rose(event):
            alert.handed_by = None
            _drop(call, alert.id)


def due_ms(call: OpenCall) -> int | None:
    """Give when something of it is to be told next, None where nothing is."""
    return min((one.due_ms for one in call.handings), default=None)


def due(scene: Scene, call: OpenCall, now_ms: int) -> None:
    """Tell what is to be told by now."""
    for one in [one for one in call.handings if one.due_ms <= now_ms]:
        if one not in call.handings:
            continue  # taken out by the one before it
        call.handings.remove(one)
        told = _tell(scene, call, one, _reason(scene, call, one), now_ms)
        if not told and one.kind is HANDED:
            # Whoever handed it over believes that they are told.
            late = Handing(UNACCEPTED, one.other, one.person, now_ms, one.alerts)
            for alert in one.alerts:
                _drop(call, alert)
            _tell(scene, call, late, f"{one.person}, to whom you handed it, cannot be told of it", now_ms)


def try_later(call: OpenCall, later_ms: int) -> None:
    """Put off what failed by an error of ours."""
    for one in call.handings:
        one.due_ms = max(one.due_ms, later_ms)


def _rose(event: AlertEvent) -> bool:
    return event.change is AlertChange.PRIORITY and event.was is not None and event.priority > event.was


def _put(call: OpenCall, made: Handing, alert: str) -> None:
    """Put an alert to what waits to be told to the same person with it."""
    for one in call.handings:
        alike = (one.kind, one.person, one.other) == (made.kind, made.person, made.other)
        if alike and made.due_ms - HANDING_GATHERS_MS <= one.due_ms <= made.due_ms:
            one.alerts.append(alert)
            return
    made.alerts.append(alert)
    call.handings.append(made)


def _drop(call: OpenCall, alert: str) -> None:
    """Let go of what was to be told of an alert's being handed over."""
    for one in call.handings:
        if one.kind is not TAKEN and alert in one.alerts:
            one.alerts.remove(alert)
    call.handings = [one for one in call.handings if one.alerts]


def _reason(scene: Scene, call: OpenCall, one: Handing) -> str:
    if one.kind is HANDED:
        return f"{one.other} hands it to you: accept it{f' ({one.note})' if one.note else ''}"
    if one.kind is TAKEN:
        return f"{one.other} has accepted what you handed over"
    minutes = round(scene.ladder.second_after_min * ms(1) / MINUTE_MS)
    mine = any(alert.seen_by == one.person for alert in scene.index.members(call) if alert.id in one.alerts)
    still = ": you have it still" if mine else ""
    return f"{one.other}, to whom you handed it, has not accepted it for {minutes} minutes{still}"


def _tell(scene: Scene, call: OpenCall, one: Handing, why: str, now_ms: int) -> bool:
    alerts = [scene.state.alerts[key] for key in one.alerts if key in scene.state.alerts]
    person = scene.roster.whole(one.person)
    if person is None:
        return _tell_owner(scene, call, one, alerts, why, now_ms)
    ring = one.kind is not TAKEN and any(alert.in_force and alert.wakes for alert in alerts)
    told = scene.ranked(alerts) or tuple(one.alerts)
    return scene.written.tell(call, person, Word(one.kind, told, now_ms, why, ring, call.vessel))


def _tell_owner(scene: Scene, call: OpenCall, one: Handing, alerts: list[Standing], why: str, now_ms: int) -> bool:
    """Tell the owner of boats whose name it is, of those boats alone."""
    name, theirs = one.person.casefold().split(), list[Standing]()
    person = None
    for alert in alerts:
        record = scene.record(alert.vessel)
        if record is not None and record.owner is not None and record.owner.name.casefold().split() == name:
            person = scene.roster.owner(record.owner)
            theirs.append(alert)
    if person is None:
        call.note(now_ms, one.person, "not told", f"nobody in the settings is of that name: {why}")
        return False
    vessels = {alert.vessel for alert in theirs}
    ring = one.kind is not TAKEN and any(alert.in_force and alert.wakes for alert in theirs)
    vessel = theirs[0].vessel if len(vessels) == 1 else None
    return scene.written.tell(call, person, Word(one.kind, scene.ranked(theirs), now_ms, why, ring, vessel, owner=True))
