"""What is put aside, what comes back, and how the daily list says both; more, worse and back are told apart."""

from telling.yard_told import HOUR, T0, Told

from monitor.model.alert import AlertChange
from monitor.model.notice import Notice
from monitor.model.scale import AlertState, Priority

ALARM, WARNING, CAUTION = Priority.ALARM, Priority.WARNING, Priority.CAUTION
OPENED, SEEN, SHELVED, BACK = (
    AlertChange.OPENED,
    AlertChange.ACKNOWLEDGED,
    AlertChange.SHELVED,
    AlertChange.BACK,
)
DAY_MIN = 24 * 60
VISIT = "maintenance/visit"


def digests(told: Told) -> list[Notice]:
    return [n for n in told.notices if n.kind == "digest"]


def test_a_caution_that_was_put_aside_is_listed_as_such_and_again_once_it_is_back() -> None:
    told = Told()
    told.event(0, OPENED, VISIT, CAUTION)
    told.clock(DAY_MIN)  # listed as new
    told.event(DAY_MIN, SHELVED, VISIT, CAUTION, actor="Anna", until_min=3 * DAY_MIN)
    told.clock(2 * DAY_MIN)  # listed as put aside
    told.clock(3 * DAY_MIN)  # nothing new
    told.event(3 * DAY_MIN, BACK, VISIT, CAUTION)
    told.clock(5 * DAY_MIN)  # listed as back, once
    assert [(n.at_ms - T0) / HOUR for n in digests(told)] == [23, 47, 95]


def test_what_is_put_aside_stands_last_in_a_list_that_goes_out() -> None:
    told = Told(boats=2)
    told.event(0, OPENED, "frost/heads", ALARM)
    told.event(0, AlertChange.OUT_OF_SERVICE, "frost/heads", ALARM, actor="Carl")
    told.clock(DAY_MIN)
    told.event(DAY_MIN, OPENED, VISIT, CAUTION, vessel="boat-2")
    told.clock(2 * DAY_MIN)
    aside, opened = told.alerts["boat-1/frost/heads"].id, told.alerts[f"boat-2/{VISIT}"].id
    assert [n.alerts for n in digests(told)] == [(aside,), (opened, aside)]


def test_water_that_somebody_put_aside_is_listed_each_day() -> None:
    told = Told()
    told.event(0, OPENED, "bilge/bilge", ALARM, water=True)
    told.event(1, AlertChange.OUT_OF_SERVICE, "bilge/bilge", ALARM, actor="Carl", water=True)
    told.clock(4 * DAY_MIN)
    assert len(digests(told)) == 4


def kinds(told: Told) -> list[str]:
    return [n.kind for n in told.notices if n.person == "Anna" and n.channel == "email"]


def test_more_worse_and_back_are_told_apart() -> None:
    told = Told()
    told.event(0, OPENED)
    told.clock(12)
    told.event(20, OPENED, "damp/cabin")
    told.clock(40)
    told.event(41, SEEN, actor="Ben")
    told.event(42, SHELVED, actor="Ben", until_min=60)
    told.event(60, BACK)
    told.clock(75)
    told.event(80, AlertChange.PRIORITY, "damp/cabin", ALARM)
    assert kinds(told) == ["new", "more", "back", "worse"]


def test_what_comes_back_with_a_higher_priority_than_was_told_is_worse() -> None:
    told = Told()
    told.event(0, OPENED)
    told.clock(12)
    told.event(20, SHELVED, actor="Ben", until_min=100)
    told.event(30, AlertChange.PRIORITY, priority=ALARM, state=AlertState.SHELVED)
    told.event(30, BACK, priority=ALARM)
    assert kinds(told) == ["new", "aside", "worse"]


def test_of_more_and_back_in_one_moment_more_is_said_and_of_worse_and_more_worse() -> None:
    told = Told()
    told.event(0, OPENED)
    told.clock(12)
    told.event(20, AlertChange.RETURNED)
    told.event(21, AlertChange.REOPENED)
    told.event(22, OPENED, "damp/cabin")
    told.clock(40)
    told.event(41, OPENED, "power/charger")
    told.event(41, AlertChange.PRIORITY, "damp/cabin", ALARM)
    assert kinds(told) == ["new", "more", "worse"]


def test_somebody_aboard_is_no_end_of_it() -> None:
    told = Told()
    told.event(0, OPENED)
    told.clock(12)
    told.event(20, AlertChange.SUPPRESSED, actor="Ben", until_min=120)
    told.clock(60)
    assert told.notices[-1].kind == "aside" or told.notices[-2].kind == "aside"
    assert not [n for n in told.notices if n.kind == "over"]
