"""Calls in words: on which boat and where, what is wrong, how soon, and who has it."""

from collections.abc import Mapping
from dataclasses import dataclass

from monitor.messages.words import title_of
from monitor.model.alert import Alert
from monitor.model.call import Call, CallKind, FleetCause
from monitor.web import sight
from monitor.web.call_having import who_has
from monitor.web.clock import YardClock
from monitor.web.deps import Deps
from monitor.web.ranks import Rank, rank_of, urgency
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
    """A call in a line.

    Attributes:
        title: the boat's name, or what many boats have.
        place: where she stands, empty for many boats.
        trouble: what is worst; empty where it is not known any more.
        rank: how soon, None where it is over.
        who: who has it, and since when.
    """

    call: Call
    title: str
    place: str
    trouble: str
    rank: Rank | None
    who: str


def may_see_call(call: Call, viewer: Viewer) -> bool:
    """Say whether this viewer may see anything of a call: one that is over names no vessels any more."""
    if call.vessels:
        return bool(seen_vessels(call, viewer))
    return sight.may_see(viewer, call.about if call.kind is CallKind.VESSEL else None)


def seen_vessels(call: Call, viewer: Viewer) -> tuple[str, ...]:
    """Give the ids of a call's vessels that this viewer may see."""
    return tuple(vessel for vessel in call.vessels if sight.may_see(viewer, vessel))


def call_alerts(deps: Deps, viewer: Viewer, call: Call, known: Mapping[str, Alert] | None = None) -> list[Alert]:
    """Give a call's open alerts in its order, as far as this viewer may see their boats.

    Args:
        deps: where they are read.
        viewer: who looks.
        call: the call.
        known: every open alert that is wanted, by id, where they have been read already: an event of the fleet has
            hundreds.
    """
    look_up = deps.alerts.alert if known is None else known.get
    found = [look_up(key) for key in call.alerts]
    return [a for a in found if a is not None and sight.may_see(viewer, a.vessel)]


def told_alerts(deps: Deps, viewer: Viewer, call: Call) -> list[Alert]:
    """Give the alerts that people were told of in a call, as far as this viewer may see their boats.

    A call that is over has no alerts of its own any more: its messages still name them.
    """
    ids = dict.fromkeys(key for line in deps.calls.notices(call.id) for key in line.notice.alerts)
    found = [deps.alerts.alert(key) for key in ids]
    return [a for a in found if a is not None and sight.may_see(viewer, a.vessel)]


def call_lines(
    deps: Deps,
    viewer: Viewer,
    clock: YardClock,
    vessel_id: str | None = None,
    known: Mapping[str, Alert] | None = None,
) -> list[CallLine]:
    """Give the open calls of the fleet, the oldest last; or those of one vessel, and who has what is hers of them."""
    calls = deps.calls.calls(open_only=True)
    if vessel_id is None:
        wanted = [c for c in calls if c.kind is CallKind.FLEET and may_see_call(c, viewer)]
    else:
        wanted = [c for c in calls if vessel_id in c.vessels and sight.may_see(viewer, vessel_id)]
    return [call_line(deps, viewer, clock, call, known, vessel_id) for call in wanted]


def call_line(
    deps: Deps,
    viewer: Viewer,
    clock: YardClock,
    call: Call,
    known: Mapping[str, Alert] | None = None,
    vessel_id: str | None = None,
) -> CallLine:
    """Put a call into a line; of a vessel, only what is hers of it."""
    is_over = call.ended_ms is not None
    alerts = told_alerts(deps, viewer, call) if is_over else call_alerts(deps, viewer, call, known)
    alerts = [alert for alert in alerts if vessel_id in {None, alert.vessel}]
    # Of what presses alike, the first of the call's own order: as its title says and as it is walked.
    worst = min(alerts, key=lambda alert: (not alert.is_open, urgency(alert)[:2]), default=None)
    return CallLine(
        call=call,
        title=call_title(deps, viewer, call),
        place=_place(deps, call),
        trouble="" if worst is None else _trouble(deps, call, worst, alerts, clock),
        rank=None if worst is None or is_over else rank_of(worst),
        who=who_has(call, alerts, deps.alerts.events, clock),
    )


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


def rung_words(call: Call) -> str:
    """Say how far the ladder has come."""
    return RUNGS[min(max(call.rung, 0), len(RUNGS) - 1)]


def _place(deps: Deps, call: Call) -> str:
    stored = deps.records.record(call.about) if call.kind is CallKind.VESSEL else None
    return "" if stored is None else stored.vessel.place


def _trouble(deps: Deps, call: Call, worst: Alert, alerts: list[Alert], clock: YardClock) -> str:
    stored = deps.records.record(worst.vessel)
    if stored is None:
        return ""
    title = title_of(worst.finding, stored.vessel, clock.zone, clock.now_ms)
    if call.kind is CallKind.FLEET:
        return f"{stored.vessel.name}: {title}"
    return title if len(alerts) == 1 else f"{title}, and {len(alerts) - 1} more"
