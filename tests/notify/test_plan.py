"""Who is told of what."""

from dataclasses import replace

import pytest
from boats import LAID_UP_MS, boat

from monitor.model.alert import Alert, AlertChange, AlertEvent
from monitor.model.finding import Figure, Finding
from monitor.model.notice import Notice
from monitor.model.outbox import notice_id
from monitor.model.scale import AlertState, Priority, Sure
from monitor.model.vessel import Person, Vessel
from monitor.notify.plan import judge, plan

OWNER = Person(name="Anna", email="anna@example.org")
DUTY = Person(name="Per", email="duty@yard.example")
CAUTION, WARNING, ALARM = Priority.CAUTION, Priority.WARNING, Priority.ALARM
UNSEEN, SEEN = AlertState.UNACKNOWLEDGED, AlertState.ACKNOWLEDGED


def alert(priority: Priority = WARNING, highest: Priority | None = None) -> Alert:
    found = Finding("frost", "s", "margin", priority, Figure(1.0, 2.0, "K"), None, Sure.LIKELY, (), (), ())
    return Alert("a1", "tern", "frost", "s", UNSEEN, priority, highest or priority, LAID_UP_MS, found)


def event(
    change: AlertChange, priority: Priority = WARNING, state: AlertState = UNSEEN, was: Priority | None = None
) -> AlertEvent:
    return AlertEvent("a1", "tern", LAID_UP_MS + 5, change, state, priority, "watch", was=was)


def planned(
    *events: AlertEvent,
    of: Alert | None = None,
    people: tuple[Person, ...] = (DUTY,),
    vessel: Vessel | None = None,
    seq: int = 7,
) -> list[Notice]:
    record = vessel or boat(owner=OWNER)
    numbered = [(seq, place, e) for place, e in enumerate(events)]
    return plan(numbered, {"a1": of or alert()}, lambda _: record, people)


def test_duty_and_owner_are_told_that_a_warning_opened_and_why() -> None:
    notices = planned(event(AlertChange.OPENED))
    assert [(n.person, n.address, n.channel) for n in notices] == [
        ("Per", "duty@yard.example", "email"),
        ("Anna", "anna@example.org", "email"),
    ]
    assert [n.reason for n in notices] == [
        "a new alert opened, and you are the yard's duty",
        "a new alert opened, and you are her owner",
    ]
    assert {(n.alert, n.vessel, n.change, n.at_ms) for n in notices} == {("a1", "tern", "opened", LAID_UP_MS + 5)}


@pytest.mark.parametrize(
    ("change", "priority", "state", "highest", "told"),
    [
        (AlertChange.OPENED, CAUTION, UNSEEN, CAUTION, False),
        (AlertChange.OPENED, WARNING, UNSEEN, WARNING, True),
        (AlertChange.OPENED, ALARM, UNSEEN, ALARM, True),
        (AlertChange.ACKNOWLEDGED, ALARM, SEEN, ALARM, False),
        (AlertChange.RETURNED, CAUTION, UNSEEN, CAUTION, False),
        (AlertChange.RETURNED, CAUTION, UNSEEN, WARNING, True),
        (AlertChange.REOPENED, CAUTION, UNSEEN, WARNING, False),
        (AlertChange.REOPENED, WARNING, UNSEEN, WARNING, True),
        (AlertChange.ENDED, CAUTION, UNSEEN, CAUTION, False),
        (AlertChange.ENDED, CAUTION, UNSEEN, ALARM, True),
    ],
)
def test_what_is_mailed_and_what_is_not(
    change: AlertChange, priority: Priority, state: AlertState, highest: Priority, *, told: bool
) -> None:
    happened, about = event(change, priority, state), alert(priority, highest)
    verdict = judge(happened, about)
    assert verdict.told is told
    assert verdict.reason
    assert bool(planned(happened, of=about)) is told


@pytest.mark.parametrize(
    ("was", "now", "told"),
    [
        (CAUTION, WARNING, True),
        (WARNING, ALARM, True),
        (ALARM, WARNING, False),
        (WARNING, CAUTION, False),
        (ALARM, CAUTION, False),
    ],
)
def test_a_priority_that_rises_is_mailed_and_one_that_falls_is_not(was: Priority, now: Priority, *, told: bool) -> None:
    assert judge(event(AlertChange.PRIORITY, now, was=was), alert(now, ALARM)).told is told


def test_the_same_person_is_told_once_a_change() -> None:
    same = Person(name="Anna at the yard", email="Anna@EXAMPLE.org")
    assert [n.person for n in planned(event(AlertChange.OPENED), people=(same, DUTY))] == ["Anna at the yard", "Per"]


def test_nobody_without_an_address_is_told_and_nobody_at_all_is_no_error() -> None:
    nameless = Person(name="Per")
    assert planned(event(AlertChange.OPENED), people=(nameless,), vessel=boat()) == []


def test_planning_twice_gives_the_same_ids() -> None:
    assert planned(event(AlertChange.PRIORITY)) == planned(event(AlertChange.PRIORITY))


def test_every_change_and_address_has_its_own_id() -> None:
    changes = [event(change) for change in AlertChange]
    first, second = planned(*changes, seq=7), planned(*changes, seq=8)
    ids = [n.id for n in first]
    assert len(set(ids)) == len(ids)
    assert {n.id for n in first} & {n.id for n in second} == {n.id for n in first if n.change == "opened"}


def test_the_opening_is_named_by_alert_and_address_alone() -> None:
    notices = planned(event(AlertChange.OPENED), seq=123)
    assert [n.id for n in notices] == [notice_id("a1", AlertChange.OPENED, 0, 0, n.address) for n in notices]


def test_an_event_whose_alert_or_vessel_is_not_known_is_no_error() -> None:
    assert plan([(1, 0, event(AlertChange.OPENED))], {}, lambda _: None, (DUTY,)) == []
    told = plan([(1, 0, replace(event(AlertChange.OPENED)))], {"a1": alert()}, lambda _: None, (DUTY,))
    assert [n.person for n in told] == ["Per"]
