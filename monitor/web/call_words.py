"""Calls in words: what many boats have at once, or all that is wrong with one; who has it, and since when."""

from dataclasses import dataclass

from monitor.model.call import Call, CallKind, FleetCause
from monitor.web import sight
from monitor.web.clock import YardClock
from monitor.web.deps import Deps
from monitor.web.sight import Viewer

CAUSES = {
    FleetCause.FROST.value: "Frost",
    FleetCause.POWER.value: "Shore power off",
    FleetCause.WATER.value: "Water",
    FleetCause.SILENCE.value: "Not heard",
}
RUNGS = (
    "Nobody on duty has been told yet.",
    "Whoever has the duty was told.",
    "The first and the second on duty were told.",
    "The duty and the manager were told.",
)


@dataclass(frozen=True, slots=True)
class CallLine:
    """A call in a line: what it is of, and who has it."""

    call: Call
    title: str
    who: str


def may_see_call(call: Call, viewer: Viewer) -> bool:
    """Say whether this viewer may see anything of a call: one that is over names no vessels any more."""
    if call.vessels:
        return bool(seen_vessels(call, viewer))
    return sight.may_see(viewer, call.about if call.kind is CallKind.VESSEL else None)


def seen_vessels(call: Call, viewer: Viewer) -> tuple[str, ...]:
    """Give the ids of a call's vessels that this viewer may see."""
    return tuple(vessel for vessel in call.vessels if sight.may_see(viewer, vessel))


def call_lines(deps: Deps, viewer: Viewer, clock: YardClock, vessel_id: str | None = None) -> list[CallLine]:
    """Give the open calls of the fleet, the oldest last; or those of one vessel, her own among them."""
    calls = deps.calls.calls(open_only=True)
    if vessel_id is None:
        wanted = [c for c in calls if c.kind is CallKind.FLEET and may_see_call(c, viewer)]
    else:
        wanted = [c for c in calls if vessel_id in c.vessels and sight.may_see(viewer, vessel_id)]
    return [CallLine(call, call_title(deps, viewer, call), who_has(call, clock)) for call in wanted]


def call_title(deps: Deps, viewer: Viewer, call: Call) -> str:
    """Say what a call is of: ``Frost: 41 boats, first at plot A1``, or a vessel's name."""
    if call.kind is CallKind.VESSEL:
        stored = deps.records.record(call.about)
        return call.about if stored is None else stored.vessel.name
    cause, vessels = CAUSES.get(call.about, call.about), seen_vessels(call, viewer)
    if not vessels:
        return cause
    stored = deps.records.record(vessels[0])
    first = "" if stored is None else f", first at {stored.vessel.place}"
    return f"{cause}: {len(vessels)} {'boat' if len(vessels) == 1 else 'boats'}{first}"


def who_has(call: Call, clock: YardClock) -> str:
    """Say who has a call, and since when."""
    if call.ended_ms is not None:
        return f"over since {clock.at(call.ended_ms)}"
    if call.accepted_by is not None:
        since = "" if call.accepted_ms is None else f" since {clock.at(call.accepted_ms)}"
        return f"{call.accepted_by} has it{since}"
    return f"nobody has it since {clock.at(call.opened_ms)}"


def rung_words(call: Call) -> str:
    """Say how far the ladder has come."""
    return RUNGS[min(max(call.rung, 0), len(RUNGS) - 1)]
