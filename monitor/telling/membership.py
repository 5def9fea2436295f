"""Which call an alert is told in: her vessel's, or one of the fleet where the same befalls many at once."""

import hashlib

from monitor.model.call import CallKind, FleetCause
from monitor.model.people import Ladder
from monitor.telling.index import Index, cause_of
from monitor.telling.limits import JOINS_WITHIN_MS, MINUTE_MS
from monitor.telling.standing import Standing
from monitor.telling.state import Handing, OpenCall, OwnerOf


def call_id(kind: CallKind, about: str, opened_ms: int, first: str) -> str:
    """Give the id of a call: sixteen hexadecimal digits, decided by its first alert too.

    A vessel's call that went into one of the fleet may be followed by another in the same millisecond.

    >>> call_id(CallKind.VESSEL, "tern", 1_700_000_000_000, "1281b2d0c7b6eac3")
    'f0fcd4f0e13fda25'
    """
    return hashlib.sha256(f"{kind}\0{about}\0{opened_ms}\0{first}".encode()).hexdigest()[:16]


def join(index: Index, alert: Standing, ladder: Ladder, now_ms: int) -> OpenCall:
    """Give the call that an alert is told in; it is made where there is none."""
    call = index.state.calls.get(alert.call)
    if call is not None:
        return call
    cause = cause_of(alert)
    fleet = None if cause is None else _fleet(index, alert, cause, ladder, now_ms)
    return _enter(index, alert, fleet or _of_vessel(index, alert, now_ms), now_ms)


def join_vessel(index: Index, alert: Standing, now_ms: int) -> OpenCall:
    """Give the call that an alert is told in, her vessel's where it is in none."""
    call = index.state.calls.get(alert.call)
    return call or _enter(index, alert, _of_vessel(index, alert, now_ms), now_ms)


def _enter(index: Index, alert: Standing, call: OpenCall, now_ms: int) -> OpenCall:
    with index.changing(alert):
        alert.call, call.joined_ms = call.id, now_ms
    return call


def _of_vessel(index: Index, alert: Standing, now_ms: int) -> OpenCall:
    return index.of_vessel(alert.vessel) or _open(index, CallKind.VESSEL, alert.vessel, now_ms, alert.id)


def _fleet(index: Index, alert: Standing, cause: FleetCause, ladder: Ladder, now_ms: int) -> OpenCall | None:
    for call in index.of_fleet(cause):
        if now_ms - call.joined_ms <= JOINS_WITHIN_MS:
            return call
    since_ms = now_ms - round(ladder.fleet_within_min * MINUTE_MS)
    alike = [
        other
        for other in index.of_cause(cause)
        if other is not alert and other.is_told and other.arrived_ms is not None and other.arrived_ms >= since_ms
    ]
    if len({alert.vessel, *(other.vessel for other in alike)}) < ladder.fleet_from:
        return None
    call = _open(index, CallKind.FLEET, cause.value, now_ms, alert.id)
    for other in sorted(alike, key=lambda one: (one.opened_ms, one.id)):
        _draw_in(index, other, call, now_ms)
    return call


def _draw_in(index: Index, alert: Standing, call: OpenCall, now_ms: int) -> None:
    """Take an alert out of its vessel's call into one of the fleet; her owner is told of it once all the same."""
    before = index.state.calls.get(alert.call)
    with index.changing(alert):
        alert.call, alert.told = call.id, False
    if before is None:
        return
    owner = before.owners.get(alert.vessel)
    if owner is not None:
        # What she was told of may have been another of her alerts, which stays where it was.
        told = owner.told if alert.ever_told and owner.due_ms is None else None
        made = OwnerOf(owner.due_ms, told, owner.told_ms, owner.knows_who, unreached=owner.unreached)
        other = call.owners.setdefault(alert.vessel, made)
        if other.due_ms is None:
            other.due_ms = made.due_ms
        other.told = None if made.told is None else other.told
        left = max((other.priority for other in index.members(before) if other.is_told), default=None)
        if left is None or (owner.told is not None and left <= owner.told and not owner.over):
            owner.due_ms = None
    knew = [key for key, reader in before.readers.items() if not reader.owner]
    call.knew = list(dict.fromkeys([*call.knew, *before.knew, *knew]))
    call.rang_ms = max((at for at in (call.rang_ms, before.rang_ms) if at is not None), default=None)
    _hand_on(before, call, alert.id)
    index.leave(before)
    if not index.members(before):
        index.close(before)
        for key in before.over:
            index.state.vessel_of.pop(key, None)
        before.ended_ms = now_ms
        index.state.ended.append(before)


def _hand_on(before: OpenCall, call: OpenCall, alert: str) -> None:
    """Take what is to be told of an alert that was handed over into the call that it is drawn into."""
    for one in [one for one in before.handings if alert in one.alerts]:
        one.alerts.remove(alert)
        call.handings.append(Handing(one.kind, one.person, one.other, one.due_ms, [alert], one.note))
    before.handings = [one for one in before.handings if one.alerts]


def _open(index: Index, kind: CallKind, about: str, now_ms: int, first: str) -> OpenCall:
    call = OpenCall(id=call_id(kind, about, now_ms, first), kind=kind, about=about, opened_ms=now_ms, joined_ms=now_ms)
    index.open(call)
    return call
