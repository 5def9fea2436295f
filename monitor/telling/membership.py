"""Which call an alert is told in: her vessel's, or one of the fleet where the same befalls many at once."""

import hashlib

from monitor.model.call import CallKind, FleetCause
from monitor.model.people import Ladder
from monitor.telling.limits import JOINS_WITHIN_MS, MINUTE_MS
from monitor.telling.state import OpenCall, OwnerOf, Standing, State


def cause_of(alert: Standing) -> FleetCause | None:
    """Say which trouble of many boats an alert may be of, None where it is hers alone."""
    match alert.rule, alert.subject:
        case "frost", _:
            return FleetCause.FROST
        case "bilge", _:
            return FleetCause.WATER
        case "power", "shore-power":
            return FleetCause.POWER
        case "silence", "gateway":
            return FleetCause.SILENCE
    return None


def call_id(kind: CallKind, about: str, opened_ms: int, first: str) -> str:
    """Give the id of a call: sixteen hexadecimal digits, decided by its first alert too.

    A vessel's call that went into one of the fleet may be followed by another in the same millisecond.

    >>> call_id(CallKind.VESSEL, "tern", 1_700_000_000_000, "1281b2d0c7b6eac3")
    'f0fcd4f0e13fda25'
    """
    return hashlib.sha256(f"{kind}\0{about}\0{opened_ms}\0{first}".encode()).hexdigest()[:16]


def members(state: State, call: OpenCall) -> list[Standing]:
    """Give the open alerts of a call."""
    return [alert for alert in state.alerts.values() if alert.call == call.id]


def join(state: State, alert: Standing, ladder: Ladder, now_ms: int) -> OpenCall:
    """Give the call that an alert is told in; it is made where there is none."""
    call = state.calls.get(alert.call)
    if call is not None:
        return call
    cause = cause_of(alert)
    fleet = None if cause is None else _fleet(state, alert, cause, ladder, now_ms)
    call = fleet or _of_vessel(state, alert, now_ms)
    alert.call, call.joined_ms = call.id, now_ms
    return call


def _of_vessel(state: State, alert: Standing, now_ms: int) -> OpenCall:
    for call in state.calls.values():
        if call.kind is CallKind.VESSEL and call.about == alert.vessel:
            return call
    return _open(state, CallKind.VESSEL, alert.vessel, now_ms, alert.id)


def _fleet(state: State, alert: Standing, cause: FleetCause, ladder: Ladder, now_ms: int) -> OpenCall | None:
    for call in state.calls.values():
        if call.is_fleet and call.about == cause and now_ms - call.joined_ms <= JOINS_WITHIN_MS:
            return call
    since_ms = now_ms - round(ladder.fleet_within_min * MINUTE_MS)
    alike = [
        other
        for other in state.alerts.values()
        if other is not alert
        and cause_of(other) is cause
        and other.is_told
        and other.arrived_ms is not None
        and other.arrived_ms >= since_ms
    ]
    if len({alert.vessel, *(other.vessel for other in alike)}) < ladder.fleet_from:
        return None
    call = _open(state, CallKind.FLEET, cause.value, now_ms, alert.id)
    for other in alike:
        _draw_in(state, other, call, now_ms)
    return call


def _draw_in(state: State, alert: Standing, call: OpenCall, now_ms: int) -> None:
    """Take an alert out of its vessel's call into one of the fleet; her owner is told of it once all the same."""
    before = state.calls.get(alert.call)
    alert.call, alert.told = call.id, False
    if before is None:
        return
    owner = before.owners.get(alert.vessel)
    if owner is not None:
        call.owners[alert.vessel] = OwnerOf(owner.due_ms, owner.told, owner.knows_who)
    if not members(state, before):
        del state.calls[before.id]
        for key in before.over:
            state.vessel_of.pop(key, None)
        before.ended_ms = now_ms
        state.ended.append(before)


def _open(state: State, kind: CallKind, about: str, now_ms: int, first: str) -> OpenCall:
    call = OpenCall(id=call_id(kind, about, now_ms, first), kind=kind, about=about, opened_ms=now_ms, joined_ms=now_ms)
    state.calls[call.id] = call
    return call
