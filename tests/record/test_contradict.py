"""What a visit says it found, held against what was read by hand and against alerts in force."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import pytest
from boats import HOUR, LAID_UP_MS, boat

from monitor.model.alert import Alert
from monitor.model.finding import Figure, Finding
from monitor.model.scale import AlertState, Priority, Sure
from monitor.model.visit import Found, Read
from monitor.record.contradict import Contradiction, Odd, Said, contradictions

DIP, VOLTS = (Read.DIP, "bilge"), (Read.VOLTS, "house")
FLAT, FULL = Figure(11.9, 12.2, "V"), Figure(15.1, 14.8, "V")


def alert(rule: str = "bilge", subject: str = "bilge", figure: Figure | None = None, **changes: Any) -> Alert:
    priority = changes.pop("priority", Priority.ALARM)
    shown = Figure(140.0, 100.0, "mm") if figure is None else figure
    finding = Finding(rule, subject, "high", priority, shown, None, Sure.CERTAIN, (), (), ())
    name = f"{rule}-{subject}"
    made = Alert(name, "tern", rule, subject, AlertState.UNACKNOWLEDGED, priority, priority, LAID_UP_MS, finding)
    return replace(made, **changes)


def odd(
    found: Found,
    *alerts: Alert,
    read: Mapping[tuple[Read, str], float] | None = None,
    nothing_wrong: Mapping[str, bool] | None = None,
    note: bool = False,
) -> list[Contradiction]:
    return contradictions(Said(found, read or {}, nothing_wrong or {}, note), boat(), alerts)


def kinds(found: list[Contradiction]) -> list[Odd]:
    return [one.odd for one in found]


# Her high mark is 100 mm.
@pytest.mark.parametrize(
    ("found", "dip_m", "instead"),
    [
        (Found.WELL, 0.099, None),
        (Found.WELL, 0.1, Found.NOT_TOLD),
        (Found.FALSE_CALL, 0.14, Found.NOT_TOLD),
        (Found.AS_TOLD, 0.14, Found.NOT_TOLD),
        (Found.NOT_TOLD, 0.14, None),
    ],
)
def test_a_dip_over_the_high_mark_is_not_all_well(found: Found, dip_m: float, instead: Found | None) -> None:
    said = odd(found, read={DIP: dip_m}, note=True)
    assert [one.instead for one in said] == ([] if instead is None else [instead])
    assert all(one.odd is Odd.MARK and one.limit == 0.1 for one in said)


def test_a_dip_over_the_high_mark_of_which_an_alert_told_is_as_told() -> None:
    assert [o.instead for o in odd(Found.FALSE_CALL, alert(), read={DIP: 0.14})] == [Found.AS_TOLD]
    cleared = alert(returned_ms=LAID_UP_MS + HOUR)
    assert [o.instead for o in odd(Found.FALSE_CALL, cleared, read={DIP: 0.14})] == [Found.AS_TOLD]
    assert odd(Found.AS_TOLD, cleared, read={DIP: 0.14}) == []
    denied = odd(Found.AS_TOLD, cleared, alert("frost", "pipes"), read={DIP: 0.14}, nothing_wrong={"bilge-bilge": True})
    assert kinds(denied) == [Odd.DENIED]


def test_water_that_no_alert_told_of_is_not_as_told_because_of_another_alert() -> None:
    (one,) = odd(Found.AS_TOLD, alert("frost", "pipes"), read={DIP: 0.14}, note=True)
    assert (one.odd, one.instead) == (Odd.MARK, Found.NOT_TOLD)


@pytest.mark.parametrize("priority", [Priority.WARNING, Priority.ALARM])
@pytest.mark.parametrize("rule", ["bilge", "frost", "silence"])
def test_nothing_wants_doing_is_not_so_while_something_is_told_that_nobody_looked_into(
    rule: str, priority: Priority
) -> None:
    (one,) = odd(Found.WELL, alert(rule, priority=priority))
    assert (one.odd, one.instead) == (Odd.STANDS, Found.AS_TOLD)


@pytest.mark.parametrize(
    "changes",
    [
        {"priority": Priority.CAUTION},
        {"returned_ms": LAID_UP_MS + HOUR},
        {"returned_ms": LAID_UP_MS + HOUR, "latching": True, "state": AlertState.LATCHED},
        {"state": AlertState.SHELVED},
    ],
)
def test_what_has_cleared_or_is_put_aside_or_can_wait_speaks_against_nothing(changes: dict[str, Any]) -> None:
    assert odd(Found.WELL, alert(**changes)) == []


def test_all_well_stands_beside_an_alarm_of_which_nothing_is_wrong_where_a_note_says_what_was_seen() -> None:
    assert odd(Found.WELL, alert(), nothing_wrong={"bilge-bilge": True}, note=True) == []
    assert kinds(odd(Found.WELL, alert(), nothing_wrong={"bilge-bilge": True})) == [Odd.UNSAID]
    assert kinds(odd(Found.WELL, alert(), nothing_wrong={"bilge-bilge": False}, note=True)) == [Odd.AS_TOLD]


def test_every_alert_in_force_is_named() -> None:
    two = odd(Found.WELL, alert(), alert("frost", "closed-cooling"))
    assert [one.alert.id for one in two if one.alert is not None] == ["bilge-bilge", "frost-closed-cooling"]


@pytest.mark.parametrize(
    ("figure", "volts", "kind"),
    [
        (FLAT, 12.1, Odd.LOW),
        (FLAT, 12.2, None),
        (FULL, 14.9, Odd.OVER),
        (FULL, 14.8, None),
        (Figure(None, None, "V"), 9.0, None),
        (Figure(20.0, 30.0, "d"), 9.0, None),
    ],
)
def test_volts_as_an_alert_told_are_not_nothing_of_what_was_told(
    figure: Figure, volts: float, kind: Odd | None
) -> None:
    told = alert("battery", "house", figure)
    assert kinds(odd(Found.FALSE_CALL, told, read={VOLTS: volts})) == ([] if kind is None else [kind])


@pytest.mark.parametrize("found", [Found.AS_TOLD, Found.NOT_TOLD])
def test_an_alert_that_a_hand_reading_proves_cannot_be_called_nothing(found: Found) -> None:
    both = [alert(), alert("battery", "house", FLAT)]
    said = odd(
        found,
        *both,
        read={DIP: 0.14, VOLTS: 11.8},
        nothing_wrong={"bilge-bilge": True, "battery-house": False},
        note=True,
    )
    assert [(one.odd, one.alert) for one in said] == [(Odd.DENIED, both[0])]


def test_as_told_is_not_so_where_nothing_was_wrong_with_any_of_them() -> None:
    two = [alert(), alert("frost", "closed-cooling")]
    every = {"bilge-bilge": True, "frost-closed-cooling": True}
    (one,) = odd(Found.AS_TOLD, *two, nothing_wrong=every)
    assert (one.odd, one.instead) == (Odd.NOTHING, Found.FALSE_CALL)
    assert odd(Found.AS_TOLD, *two, nothing_wrong={"bilge-bilge": True}) == []
    assert odd(Found.AS_TOLD) == []


def test_what_nobody_told_of_wants_a_word() -> None:
    assert kinds(odd(Found.NOT_TOLD)) == [Odd.UNTOLD]
    assert odd(Found.NOT_TOLD, note=True) == []
