"""Owners: of several boats one message, out of reach it is duty who hears so."""

import pytest
from telling.yard_told import Told

from monitor.model.alert import AlertChange
from monitor.model.batch import Batch
from monitor.model.scale import Priority
from monitor.model.vessel import Person

ALARM, WARNING = Priority.ALARM, Priority.WARNING
OPENED, SEEN, ENDED = AlertChange.OPENED, AlertChange.ACKNOWLEDGED, AlertChange.ENDED
FROST = "frost/heads"


def owned(told: Told, owner: Person, *boats: str) -> Told:
    for boat in boats:
        told.vessels[boat] = told.vessels[boat].model_copy(update={"owner": owner})
    return told


def of_all(told: Told, at_min: float, change: AlertChange) -> Batch:
    """Let the same happen to every boat, in one batch."""
    batches = []
    for vessel in told.vessels:
        told.seq += 1
        about = (FROST, WARNING, vessel, None, "watch")
        batches.append(told.batch_of(at_min, change, *about, water=False, state=None))
    alerts = {key: alert for batch in batches for key, alert in batch.alerts.items()}
    return Batch(events=[event for batch in batches for event in batch.events], alerts=alerts)


TWO = Person(name="Olga", email="olga@example.org")
MUTE = Person(name="Mute")


def test_an_owner_of_two_boats_of_an_event_has_one_message_naming_both() -> None:
    told = owned(Told(boats=4), TWO, "boat-2", "boat-4")
    for n in range(1, 5):
        told.event(n, OPENED, FROST, vessel=f"boat-{n}")
    told.clock(60)
    for n in range(1, 5):
        told.event(70, ENDED, FROST, vessel=f"boat-{n}")
    told.clock(100)
    mine = [n for n in told.notices if n.person == "Olga"]
    assert [(n.kind, len(n.alerts), n.vessel, n.owner) for n in mine] == [
        ("new", 2, None, True),
        ("over", 2, None, True),
    ]
    assert mine[0].reason == ("Boat 2 and Boat 4 are yours, and the yard has been told, and nobody has answered yet")
    others = [n for n in told.notices if n.owner and n.person != "Olga" and n.kind == "new"]
    assert [n.vessel for n in others] == ["boat-1", "boat-3"]


def test_an_owners_second_boat_that_joins_later_is_one_more_message_of_her_alone() -> None:
    told = owned(Told(boats=4), TWO, "boat-2", "boat-4")
    for n in range(1, 4):
        told.event(n, OPENED, FROST, vessel=f"boat-{n}")
    told.clock(60)
    told.event(61, OPENED, FROST, vessel="boat-4")
    told.clock(200)
    assert [(n.kind, n.vessel) for n in told.notices if n.person == "Olga"] == [("new", "boat-2"), ("more", "boat-4")]


@pytest.mark.parametrize("answered", [True, False])
def test_where_an_owner_cannot_be_reached_duty_hears_so_once(answered: bool) -> None:
    told = owned(Told(), MUTE, "boat-1")
    told.event(0, OPENED, "bilge/bilge", ALARM)
    told.clock(16)
    if answered:
        told.event(17, SEEN, "bilge/bilge", ALARM, actor="Anna")
    told.event(20, OPENED, FROST)
    told.clock(300)
    unreached = [n for n in told.notices if n.kind == "unreached"]
    assert [(n.person, n.channel) for n in unreached] == [("Anna", "email")]
    assert unreached[0].reason == "the owner of Boat 1 cannot be reached by any channel: somebody has to tell them"
    assert told.lines(owners=True) == []
    (call,) = told.calls
    why = [(who, what) for _, who, what, _ in told.telling.trace(call)]
    assert why.count(("Mute", "not told")) == 1


def test_owners_who_cannot_be_reached_in_an_event_are_one_message() -> None:
    told = owned(Told(boats=8), MUTE, *(f"boat-{n}" for n in range(1, 9)))
    for n in range(1, 9):
        told.event(0, OPENED, FROST, vessel=f"boat-{n}")
    told.clock(60)
    (notice,) = [n for n in told.notices if n.kind == "unreached"]
    assert "Boat 5 and 3 more cannot be reached" in notice.reason
    assert (len(notice.alerts), notice.vessel) == (8, None)


def test_every_owner_of_a_large_event_hears_that_it_is_over() -> None:
    told = Told(boats=1_200)
    told.feed(of_all(told, 0, OPENED))
    told.clock(60)
    told.feed(of_all(told, 70, ENDED))
    told.clock(100)
    assert len({n.address for n in told.notices if n.owner and n.kind == "over"}) == 1_200


def test_an_owner_who_can_be_reached_again_is_told() -> None:
    told = owned(Told(), MUTE, "boat-1")
    told.event(0, OPENED, "bilge/bilge", WARNING)
    told.clock(60)
    owned(told, TWO, "boat-1")
    told.event(61, SEEN, "bilge/bilge", WARNING, actor="Anna")
    told.clock(70)
    assert told.lines(owners=True) == ["61 Olga new"]
