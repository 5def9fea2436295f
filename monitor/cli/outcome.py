"""What came of a winter, as the data that the demo and the replay print."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import UTC, datetime
from typing import Any

from monitor.model.alert import Alert
from monitor.model.surroundings import YardCalendar
from monitor.model.vessel import Vessel

CALENDAR = YardCalendar(zone="America/New_York")
"""The demo yard's. The winter is that of New York's coast, and its nights must fall at night."""


def alerts_of(alerts: Iterable[Alert]) -> list[dict[str, Any]]:
    """Give alerts as data, oldest first.

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
        }
        for alert in ordered
    ]


def vessels_of(
    vessels: Iterable[str], faults: Mapping[str, Sequence[Mapping[str, Any]]], alerts: Iterable[Alert]
) -> dict[str, Any]:
    """Give each vessel with what befell her and the alerts she had."""
    by_vessel: dict[str, list[Alert]] = {}
    for alert in alerts:
        by_vessel.setdefault(alert.vessel, []).append(alert)
    return {v: {"faults": list(faults.get(v, ())), "alerts": alerts_of(by_vessel.get(v, ()))} for v in vessels}


def print_vessels(records: Iterable[Vessel], told: Mapping[str, Mapping[str, Any]]) -> None:
    """Print what befell each vessel and the alerts she had, to read."""
    for record in records:
        found = told[record.id]
        faults = "; ".join(f"{f['kind']} ({f['subject']}) from {f['begins'][:10]}" for f in found["faults"]) or "fine"
        print(f"{record.name}, {record.place}: {faults}")
        for alert in found["alerts"]:
            ended = alert["ended"][:16] if alert["ended"] else "still standing"
            key = f"{alert['rule']}/{alert['subject']}"
            print(f"   {alert['priority']:8} {key:28} {alert['opened'][:16]} to {ended}")


def iso(at_ms: int | None) -> str | None:
    """Write a time as ISO 8601, UTC."""
    return None if at_ms is None else datetime.fromtimestamp(at_ms / 1000, UTC).isoformat().replace("+00:00", "Z")
