"""What came of a winter, as the data that the demo and the replay print."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import UTC, datetime
from typing import Any

from monitor.cli.heard import Heard, Said
from monitor.cli.told import Telling, lasting
from monitor.model.alert import Alert
from monitor.model.surroundings import YardCalendar
from monitor.model.vessel import Vessel
from simulator.truth import Cause, Harm, TruthLog
from simulator.winter import Winter

CALENDAR = YardCalendar(zone="America/New_York")
"""The demo yard's. The winter is that of New York's coast, and its nights must fall at night."""


def alerts_of(alerts: Iterable[Alert], said: Mapping[str, Sequence[Said]] | None = None) -> list[dict[str, Any]]:
    """Give alerts as data, oldest first, with what happened to each where that is given by its id.

    ``ended`` is when the condition cleared; an alert may stay on the pages after it until somebody has seen it.
    """
    ordered = sorted(alerts, key=lambda a: (a.opened_ms, a.rule, a.subject))
    return [
        {
            "rule": alert.rule,
            "subject": alert.subject,
            "priority": alert.highest.word,
            "opened": iso(alert.opened_ms),
            "ended": iso(alert.returned_ms if alert.ended_ms is None else alert.ended_ms),
            **({} if said is None else {"events": [_event(s) for s in said.get(alert.id, ())]}),
        }
        for alert in ordered
    ]


def vessels_of(
    vessels: Iterable[str],
    faults: Mapping[str, Sequence[Mapping[str, Any]]],
    alerts: Iterable[Alert],
    said: Iterable[Said] | None = None,
) -> dict[str, Any]:
    """Give each vessel with what befell her and the alerts she had, with what happened to them where that is known."""
    events: dict[str, list[Said]] = {}
    for one in said or ():
        events.setdefault(one.event.alert, []).append(one)
    by_vessel: dict[str, list[Alert]] = {}
    for alert in alerts:
        by_vessel.setdefault(alert.vessel, []).append(alert)

    def told(vessel: str) -> list[dict[str, Any]]:
        return alerts_of(by_vessel.get(vessel, ()), None if said is None else events)

    return {v: {"faults": list(faults.get(v, ())), "alerts": told(v)} for v in vessels}


def truth_of(winter: Winter, log: TruthLog, heard: Heard) -> dict[str, dict[str, list[dict[str, Any]]]]:
    """Give what truly befell each vessel as data: causes, harms with how long before each was told, and marks."""
    found: dict[str, dict[str, list[dict[str, Any]]]] = {}
    for record in winter.vessels:
        telling = Telling(record, heard, winter.plan.begins_ms, winter.plan.ends_ms)
        found[record.id] = {
            "causes": [_cause(c) for c in log.causes if c.vessel == record.id],
            "harms": [_harm(h, telling) for h in log.harms if h.vessel == record.id],
            "marks": [
                {"kind": m.kind, "subject": m.subject, "at": iso(m.at_ms)} for m in log.marks if m.vessel == record.id
            ],
        }
    return found


def place_of(record: Vessel) -> str:
    """Name a vessel and say where she is."""
    return f"{record.name} ({record.id}), {record.place}"


def print_vessels(records: Iterable[Vessel], told: Mapping[str, Mapping[str, Any]]) -> None:
    """Print what befell each vessel and the alerts she had, to read."""
    for record in records:
        found = told[record.id]
        faults = "; ".join(f"{f['kind']} ({f['subject']}) from {f['begins'][:10]}" for f in found["faults"]) or "fine"
        print(f"{record.name}, {record.place}: {faults}")
        for harm in found.get("harms", ()):
            ended = harm["ended"][:16] if harm["ended"] else "the end"
            print(f"   harm     {harm['kind']} ({harm['subject']}) {harm['begins'][:16]} to {ended}{_told(harm)}")
        for alert in found["alerts"]:
            ended = alert["ended"][:16] if alert["ended"] else "still standing"
            key = f"{alert['rule']}/{alert['subject']}"
            print(f"   {alert['priority']:8} {key:28} {alert['opened'][:16]} to {ended}")


def _told(harm: Mapping[str, Any]) -> str:
    if not harm["asked"]:
        return ""
    before = harm["told_before_s"]
    return ", NOT TOLD" if before is None else f", told {lasting(before)} before"


def _cause(cause: Cause) -> dict[str, Any]:
    times = {"begins": iso(cause.begins_ms), "ends": iso(cause.ends_ms)}
    return {"kind": cause.kind, "subject": cause.subject, **times, "facts": cause.facts}


def _harm(harm: Harm, telling: Telling) -> dict[str, Any]:
    return {
        "kind": harm.kind.value,
        "subject": harm.subject,
        "begins": iso(harm.at_ms),
        "ended": iso(harm.ended_ms),
        "asked": bool(telling.keys(harm)),
        "told_before_s": telling.before_s(harm),
    }


def _event(said: Said) -> dict[str, Any]:
    event = said.event
    return {
        "at": iso(event.at_ms),
        "change": event.change.value,
        "priority": event.priority.word,
        "kind": said.finding.kind,
    }


def iso(at_ms: int | None) -> str | None:
    """Write a time as ISO 8601, UTC."""
    return None if at_ms is None else datetime.fromtimestamp(at_ms / 1000, UTC).isoformat().replace("+00:00", "Z")
