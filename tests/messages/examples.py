"""Findings, alerts and notices to put into words."""

from dataclasses import replace
from typing import Any
from zoneinfo import ZoneInfo

from boats import DAY, HOUR, LAID_UP_MS, boat

from monitor.messages.letterhead import Letterhead, Picture
from monitor.messages.phrases import raw_words
from monitor.model.alert import Alert
from monitor.model.call import Call, CallKind
from monitor.model.finding import Figure, Finding, TimeToHarm
from monitor.model.notice import Notice, NoticeKind
from monitor.model.outbox import Waiting, notice_id
from monitor.model.reading import Seen
from monitor.model.scale import AlertState, Priority, Sure
from monitor.model.vessel import Vessel

ZONE = ZoneInfo("America/New_York")
NOW = LAID_UP_MS + 70 * DAY + 9 * HOUR  # Friday 10 January 2014, 13:00 in New York
TERN = boat()
CALL = "c0ffee0123456789"
CARD = {"keys": "Yard office, hook 9", "isolator": "Under the steps", "instructions": "No shoes below, please"}
RETEST = raw_words("frost", "en")["first"]["retest_coolant"]  # the example's first step, however it is worded
PNG = b"\x89PNG\r\n\x1a\n0000"
HEAD = Letterhead(
    sender="watch@yard.example",
    name="Quay Yard",
    page=lambda v: f"http://127.0.0.1:8080/vessels/{v}",
    zone=ZONE,
    call_page=lambda c: f"http://127.0.0.1:8080/calls/{c}",
    acknowledge=lambda n: f"http://127.0.0.1:8080/seen/{n}.token",
    picture=lambda _vessel, _alert, _now_ms: Picture(PNG, "Temperatures. Engine space: cold.", "Temperatures"),
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


def notice(kind: NoticeKind = NoticeKind.NEW, number: int = 0, **changes: Any) -> Notice:
    made = Notice(
        id=notice_id(CALL, kind, NOW, number, "email", "anna@example.org"),
        channel="email",
        address="anna@example.org",
        person="Anna",
        call=CALL,
        kind=kind,
        alerts=("1281b2d0c7b6eac3",),
        at_ms=NOW,
        reason="a new alert opened, and you have the duty",
        vessel="tern",
    )
    return replace(made, **changes)


def call(**changes: Any) -> Call:
    made = Call(CALL, CallKind.VESSEL, "tern", NOW, Priority.ALARM, ("1281b2d0c7b6eac3",), ("tern",))
    return replace(made, **changes)


def waiting(told: Notice | None = None, *alerts: tuple[Alert, Vessel], about: Call | None = None) -> Waiting:
    """A notice that is due: of an alarm on one boat to whoever has the duty, unless told otherwise."""
    told = told or notice()
    opening = notice_id(CALL, NoticeKind.NEW, NOW, 0, "email", "anna@example.org")
    of = None if told.kind is NoticeKind.DIGEST else about or call()
    return Waiting(told, of, alerts or ((alert(), TERN),), opening, 0)


def fleet(boats: int, cause: str = "frost", told: Notice | None = None, **changes: Any) -> Waiting:
    """A notice of one trouble of many boats."""
    told = told or notice(vessel=None)
    alerts = tuple(
        (alert(id=f"{n:016x}", vessel=f"boat-{n}", **changes), boat(id=f"boat-{n}", name=f"Boat {n}", plot=f"A{n}"))
        for n in range(1, boats + 1)
    )
    about = call(kind=CallKind.FLEET, about=cause, vessels=tuple(v.id for _, v in alerts))
    return waiting(told, *alerts, about=about)
