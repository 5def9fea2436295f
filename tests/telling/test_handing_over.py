"""Whoever is to accept what is handed over is told, and whoever handed it over hears what came of it."""

from typing import Any

import pytest
from telling.yard_told import ANNA, BEN, CARL, Told

from monitor.model.alert import AlertChange
from monitor.model.people import Channel, ChannelKind
from monitor.model.scale import AlertState, Priority

ALARM, WARNING, CAUTION = Priority.ALARM, Priority.WARNING, Priority.CAUTION
OPENED, SEEN, HANDED, ACCEPTED = (
    AlertChange.OPENED,
    AlertChange.ACKNOWLEDGED,
    AlertChange.HANDED_OVER,
    AlertChange.ACCEPTED,
)
WATER = "bilge/bilge"
RINGS = Channel(kind=ChannelKind.WEBHOOK, address="https://hooks.example/ben", rings=True)
RUNG_BEN = BEN.model_copy(update={"channels": (RINGS,)})


def seen(priority: Priority = ALARM, everybody: Any = (ANNA, RUNG_BEN, CARL), boats: int = 1) -> Told:
    """Water that Anna has; what was told till then is forgotten."""
    told = Told(boats=boats, everybody=everybody)
    for n in range(1, boats + 1):
        told.event(0, OPENED, WATER, priority, vessel=f"boat-{n}")
    told.clock(12)
    for n in range(1, boats + 1):
        told.event(13, SEEN, WATER, priority, vessel=f"boat-{n}", actor="Anna")
    told.notices.clear()
    return told


@pytest.mark.parametrize(("priority", "lines"), [(ALARM, ["Ben handed", "Ben handed!"]), (WARNING, ["Ben handed"])])
@pytest.mark.parametrize("to", ["Ben", "ben"])
def test_whoever_is_to_accept_it_is_told_and_rung_of_an_alarm(priority: Priority, lines: list[str], to: str) -> None:
    told = seen(priority)
    told.event(20, HANDED, WATER, priority, actor="Anna", to=to)
    told.clock(21)
    assert [line.partition(" ")[2] for line in told.lines(owners=False)] == lines
    assert {n.reason for n in told.notices if n.person == "Ben"} == {"Anna hands it to you: accept it"}
    (call,) = told.calls
    assert ("Ben", "handed", "Anna hands it to you: accept it") in [
        tuple(line[1:]) for line in told.telling.trace(call)
    ]


def test_whoever_handed_it_over_and_her_owner_hear_who_has_accepted_it() -> None:
    told = seen()
    told.event(20, HANDED, WATER, ALARM, actor="Anna", to="Ben")
    told.event(25, ACCEPTED, WATER, ALARM, actor="Ben")
    told.clock(60)
    assert [(n.person, n.kind, n.channel) for n in told.notices] == [
        ("Ben", "handed", "email"),
        ("Ben", "handed", "webhook"),
        ("Owner 1", "taken", "email"),
        ("Anna", "taken", "email"),
    ]
    assert [n.reason for n in told.notices[-2:]] == [
        "she is yours, and Ben has it",
        "Ben has accepted what you handed over",
    ]
    assert [call.accepted_by for call in told.calls.values()] == ["Ben"]


def test_whoever_handed_it_over_hears_that_it_is_not_accepted_and_that_they_have_it_still() -> None:
    told = seen()
    told.event(20, HANDED, WATER, ALARM, actor="Anna", to="Ben")
    told.clock(300)
    assert told.lines(owners=False)[2:] == ["35 Anna unaccepted", "35 Anna unaccepted!"]
    why = "Ben, to whom you handed it, has not accepted it for 15 minutes: you have it still"
    assert told.notices[-1].reason == why


def test_what_nobody_has_is_not_said_to_be_theirs_who_handed_it_over() -> None:
    told = Told()
    told.event(0, OPENED, WATER, ALARM)
    told.event(1, HANDED, WATER, ALARM, actor="Carl", to="Ben")
    told.clock(20)
    (late,) = [n for n in told.notices if n.kind == "unaccepted"]
    assert late.reason == "Ben, to whom you handed it, has not accepted it for 15 minutes"


@pytest.mark.parametrize("to", ["Nobody Known", "Mute"])
def test_where_they_cannot_be_told_whoever_handed_it_over_hears_so_at_once(to: str) -> None:
    mute = BEN.model_copy(update={"id": "mute", "name": "Mute", "email": None})
    told = seen(WARNING, everybody=(ANNA, mute))
    told.event(20, HANDED, WATER, WARNING, actor="Anna", to=to)
    told.clock(300)
    told_of_it = [n for n in told.notices if not n.owner]
    assert [(n.person, n.kind, n.reason) for n in told_of_it] == [
        ("Anna", "unaccepted", f"{to}, to whom you handed it, cannot be told of it")
    ]
    (call,) = told.calls
    assert (to, "not told") in [(who, what) for _, who, what, _ in told.telling.trace(call)]


@pytest.mark.parametrize(
    ("change", "priority", "state"),
    [
        (AlertChange.PRIORITY, ALARM, AlertState.UNACKNOWLEDGED),
        (AlertChange.SHELVED, WARNING, None),
        (AlertChange.ENDED, WARNING, None),
        (HANDED, WARNING, None),
    ],
)
def test_what_is_theirs_to_accept_no_more_is_not_said_to_be(
    change: AlertChange, priority: Priority, state: AlertState | None
) -> None:
    told = seen(WARNING)
    told.event(20, HANDED, WATER, WARNING, actor="Anna", to="Ben")
    told.event(20.1, change, WATER, priority, actor="Anna", to="Carl" if change is HANDED else "", state=state)
    told.clock(100)
    named = [n.person for n in told.notices if n.kind == "handed"]
    assert named == (["Carl"] if change is HANDED else [])
    assert len([n for n in told.notices if n.kind == "unaccepted"]) == (change is HANDED)


def test_a_caution_can_be_handed_over_too() -> None:
    told = Told()
    told.event(0, OPENED, "maintenance/visit", CAUTION)
    told.event(5, HANDED, "maintenance/visit", CAUTION, actor="Anna", to="Ben")
    told.event(9, ACCEPTED, "maintenance/visit", CAUTION, actor="Ben")
    told.clock(60)
    assert [line.partition(" ")[2] for line in told.lines()] == ["Ben handed", "Anna taken"]


def test_many_boats_handed_over_one_after_another_are_one_message() -> None:
    told = seen(boats=5)
    for n in range(1, 6):
        told.event(20 + n / 60, HANDED, WATER, ALARM, vessel=f"boat-{n}", actor="Anna", to="Ben")
    told.clock(21)
    assert [(n.person, n.kind, len(n.alerts)) for n in told.notices if not n.owner and n.channel == "email"] == [
        ("Ben", "handed", 5)
    ]


def test_what_was_handed_over_before_it_went_into_an_event_is_told_all_the_same() -> None:
    told = Told(boats=3)
    told.event(0, OPENED, WATER, WARNING, vessel="boat-1")
    told.event(0.05, HANDED, WATER, WARNING, vessel="boat-1", actor="Anna", to="Ben")
    for n in (2, 3):
        told.event(0.1, OPENED, WATER, WARNING, vessel=f"boat-{n}")
    told.clock(5)
    (notice,) = [n for n in told.notices if n.kind == "handed"]
    assert told.calls[notice.call].ended_ms is None


def test_an_owner_to_whom_it_is_handed_is_told_as_her_owner() -> None:
    told = seen()
    told.event(20, HANDED, WATER, ALARM, actor="Anna", to="owner  1")
    told.clock(21)
    (notice,) = told.notices
    assert (notice.person, notice.kind, notice.owner, notice.vessel) == ("Owner 1", "handed", True, "boat-1")
    assert notice.reason == "Anna hands it to you: accept it"
    told.event(25, ACCEPTED, WATER, ALARM, actor="Owner 1")
    told.clock(60)
    assert ("Anna", "taken") in [(n.person, n.kind) for n in told.notices]
    assert [call.accepted_by for call in told.calls.values()] == ["Owner 1"]


def test_an_owner_of_one_boat_of_an_event_is_handed_that_boat_alone() -> None:
    told = seen(boats=3)
    told.event(20, HANDED, WATER, ALARM, vessel="boat-2", actor="Anna", to="Owner 2")
    told.event(20, HANDED, WATER, ALARM, vessel="boat-1", actor="Anna", to="Owner 2")
    told.clock(21)
    (notice,) = told.notices
    assert (notice.alerts, notice.vessel) == ((told.alerts[f"boat-2/{WATER}"].id,), "boat-2")
