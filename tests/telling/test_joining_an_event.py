"""A boat that joins a fleet event is told in time: at once where somebody has it, and not too late where nobody has."""

import pytest
from telling.yard_told import MINUTE, T0, Told

from monitor.model.alert import AlertChange
from monitor.model.scale import Priority

ALARM, WARNING = Priority.ALARM, Priority.WARNING
OPENED, SEEN, ENDED = AlertChange.OPENED, AlertChange.ACKNOWLEDGED, AlertChange.ENDED
FROST, WATER, SILENT = "frost/heads", "bilge/bilge", "silence/gateway"


def event(what: str = FROST, *, seen_at: float | None = 4.5) -> Told:
    """Three boats by minute 3, told at 4, and seen or not; what was told till then is forgotten."""
    told = Told(boats=6)
    for n in (1, 2, 3):
        told.event(n, OPENED, what, ALARM, vessel=f"boat-{n}", harm_h=1, water=what == WATER)
    told.clock(4)
    for n in (1, 2, 3) if seen_at is not None else ():
        told.event(seen_at or 0, SEEN, what, ALARM, vessel=f"boat-{n}", actor="Anna", water=what == WATER)
    told.notices.clear()
    return told


def yard(told: Told) -> list[str]:
    return [line for line in told.lines(owners=False) if not line.endswith("!")]


@pytest.mark.parametrize("what", [FROST, WATER, SILENT])
def test_an_alarm_that_joins_what_somebody_has_rings_at_once_and_climbs(what: str) -> None:
    told = event(what)
    told.event(6, OPENED, what, ALARM, vessel="boat-4", harm_h=0.2, water=what == WATER)
    told.clock(80)
    assert yard(told) == ["6 Anna more", "21 Ben escalated", "36 Carl escalated"]


def test_alarms_that_join_what_somebody_has_within_a_minute_of_a_ring_ring_once_after_it() -> None:
    told = event()
    told.event(4.6, OPENED, FROST, ALARM, vessel="boat-4")
    told.event(4.8, OPENED, FROST, ALARM, vessel="boat-5")
    told.clock(10)
    assert yard(told) == ["5 Anna more"]


def test_a_warning_that_somebody_has_and_that_rises_rings_at_once() -> None:
    told = event()
    told.event(5, OPENED, FROST, WARNING, vessel="boat-4", harm_h=20)
    told.event(6, SEEN, FROST, WARNING, vessel="boat-4", actor="Anna")
    told.event(10, AlertChange.PRIORITY, FROST, ALARM, vessel="boat-4", harm_h=0.2)
    told.clock(20)
    assert yard(told) == ["10 Anna more"]


def test_water_rings_at_once_while_nobody_has_the_event() -> None:
    told = event(WATER, seen_at=None)
    told.event(5, OPENED, WATER, ALARM, vessel="boat-4", water=True)
    told.event(5.5, OPENED, WATER, ALARM, vessel="boat-5", water=True)
    told.clock(15)
    assert yard(told) == ["5 Anna more", "6 Anna more"]


def test_water_in_doubt_is_told_as_soon_as_any_warning() -> None:
    told = event(WATER)
    told.event(6, OPENED, WATER, WARNING, vessel="boat-4", water=True)
    told.clock(60)
    assert yard(told) == ["16 Anna more"]


@pytest.mark.parametrize(("harm_h", "at_min"), [(None, 34), (6.0, 34), (2.4, 29), (0.2, 14)])
def test_while_nobody_has_it_what_joins_is_gathered_no_longer_than_there_is_time(
    harm_h: float | None, at_min: int
) -> None:
    told = event(seen_at=None)
    told.event(5, OPENED, FROST, ALARM, vessel="boat-4", harm_h=harm_h)
    told.clock(40)
    assert [line for line in yard(told) if line.endswith("more")] == [f"{at_min} Anna more"]


def test_what_waits_beside_what_somebody_has_just_seen_waits_no_longer() -> None:
    told = event(seen_at=None)
    told.event(5, OPENED, FROST, ALARM, vessel="boat-4")
    for n in (1, 2, 3):
        told.event(8, SEEN, FROST, ALARM, vessel=f"boat-{n}", actor="Anna")
    told.clock(40)
    assert yard(told) == ["8 Anna more", "23 Ben escalated", "38 Carl escalated"]


@pytest.mark.parametrize(("joins_min", "climbs"), [(200, False), (371, True)])
def test_a_boat_that_joins_when_the_climb_is_near_its_end_begins_it_anew(joins_min: float, *, climbs: bool) -> None:
    told = event(seen_at=None)
    told.clock(joins_min - 1)
    told.notices.clear()
    told.event(joins_min, OPENED, FROST, ALARM, vessel="boat-4", harm_h=0.2)
    told.clock(1000)
    again = ["Ben escalated", "Carl escalated"] if climbs else []
    assert [line.partition(" ")[2] for line in yard(told) if line.endswith("escalated")] == again
    last = max((n.at_ms - T0) / MINUTE for n in told.notices if n.kind == "again")
    assert last == (joins_min + 30 + 6 * 60 if climbs else 394)


def test_a_warning_that_nobody_sees_rings_though_the_climb_of_another_alert_was_at_its_end() -> None:
    told = Told(repeat_at_most=1)
    told.event(0, OPENED, "power/shore-power", ALARM)
    told.clock(999)
    told.notices.clear()
    told.event(1000, OPENED, "damp/saloon", WARNING)
    told.clock(1300)
    assert "1250 Anna worse!" in told.lines()
