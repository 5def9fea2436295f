"""Findings and alerts to put into words."""

from dataclasses import replace
from typing import Any
from zoneinfo import ZoneInfo

from boats import DAY, HOUR, LAID_UP_MS, boat

from monitor.messages.mail import Letterhead
from monitor.model.alert import Alert, AlertChange
from monitor.model.finding import Figure, Finding, TimeToHarm
from monitor.model.notice import Notice
from monitor.model.outbox import notice_id
from monitor.model.reading import Seen
from monitor.model.scale import AlertState, Priority, Sure

ZONE = ZoneInfo("America/New_York")
NOW = LAID_UP_MS + 70 * DAY + 9 * HOUR  # Friday 10 January 2014, 13:00 in New York
TERN = boat()
HEAD = Letterhead(
    sender="watch@yard.example", name="Quay Yard", page=lambda v: f"http://127.0.0.1:8080/vessels/{v}", zone=ZONE
)


def finding(**changes: Any) -> Finding:
    weak = Finding(
        rule="frost",
        subject="closed-cooling",
        kind="margin",
        priority=Priority.ALARM,
        figure=Figure(-20.4, -20.0, "degC"),
        harm=TimeToHarm(6 * 3600.0, 14 * 3600.0),
        sure=Sure.LIKELY,
        causes=("coolant_weak", "cold_night"),
        first=("retest_coolant", "strengthen_coolant"),
        never=("no_start_if_slush", "no_portable_heater"),
        rests_on=(Seen("engine-space", NOW - HOUR // 6, -20.4),),
        facts={
            "name": "Closed cooling",
            "how": "treated",
            "t_degc": -20.4,
            "protected_to_degc": -20.0,
            "margin_k": -1.9,
            "error_k": 1.5,
            "foretold_degc": -21.0,
            "carried_h": 6.0,
            "frozen": True,
        },
    )
    return replace(weak, **changes)


def alert(**changes: Any) -> Alert:
    opened = Alert(
        id="1281b2d0c7b6eac3",
        vessel="tern",
        rule="frost",
        subject="closed-cooling",
        state=AlertState.UNACKNOWLEDGED,
        priority=Priority.ALARM,
        highest=Priority.ALARM,
        opened_ms=NOW,
        finding=finding(),
    )
    return replace(opened, **changes)


def notice(change: AlertChange = AlertChange.OPENED, seq: int = 7, **changes: Any) -> Notice:
    made = Notice(
        id=notice_id("1281b2d0c7b6eac3", change, seq, 0, "anna@example.org"),
        channel="email",
        address="anna@example.org",
        person="Anna",
        alert="1281b2d0c7b6eac3",
        vessel="tern",
        change=change.value,
        at_ms=NOW,
        reason="a new alert opened, and you are her owner",
    )
    return replace(made, **changes)
