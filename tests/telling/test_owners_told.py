"""Owners: of several boats one message, out of reach it is duty who hears so."""

import pytest
from telling.yard_told import BEN, Told

from monitor.model.alert import AlertChange
from monitor.model.batch import Batch
from monitor.model.people import Duty, Rota
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


def night(told: Told, at_min: float, change: AlertChange, actor: str = "watch") -> None:
    for n, boat in enumerate(told.vessels):
        told.event(at_min + n / 10, change, FROST, ALARM, vessel=boat, actor=actor)


def test_whoever_heard_that_an_event_is_over_hears_that_it_is_back() -> None:
    told = Told(boats=3)
    night(told, 0, OPENED)
    told.clock(30)
    night(told, 31, SEEN, "Anna")
    night(told, 400, AlertChange.LATCHED)
    told.clock(420)
    night(told, 1440, AlertChange.REOPENED)
    told.clock(1444)
    night(told, 1445, SEEN, "Anna")
    told.clock(1500)
    night(told, 1600, AlertChange.LATCHED)
    told.clock(1700)
    assert [n.kind for n in told.notices if n.person == "Owner 2"] == ["new", "over", "back", "over"]


@pytest.mark.parametrize("change", [AlertChange.LATCHED, ENDED])
def test_a_boat_that_is_back_in_an_event_that_is_over_is_told_to_her_owner(change: AlertChange) -> None:
    told = Told(boats=4)
    night(told, 0, OPENED)
    told.clock(30)
    night(told, 31, SEEN, "Anna")
    for n in range(1, 5):
        told.event(300, change if n == 1 else AlertChange.LATCHED, FROST, ALARM, vessel=f"boat-{n}")
    told.clock(320)
    told.event(600, OPENED if change is ENDED else AlertChange.REOPENED, FROST, ALARM, vessel="boat-1")
    told.clock(700)
    assert [n.kind for n in told.notices if n.person == "Owner 1"] == ["new", "over", "back"]
    assert [n.kind for n in told.notices if n.person == "Owner 2"] == ["new", "over"]


def test_of_an_event_that_goes_on_an_owner_hears_again_where_all_of_hers_had_ended() -> None:
    told = Told(boats=4)
    night(told, 0, OPENED)
    told.clock(30)
    night(told, 31, SEEN, "Anna")
    told.event(300, ENDED, FROST, ALARM, vessel="boat-1")
    told.event(300, OPENED, "frost/raw-water", ALARM, vessel="boat-2")
    told.event(600, OPENED, FROST, ALARM, vessel="boat-1")
    told.clock(700)
    assert told.lines(owners=True)[-1] == "615 Owner 1 more"
    assert [n.kind for n in told.notices if n.person == "Owner 2"] == ["new"]


def test_where_nobody_of_the_yard_can_be_reached_her_owner_is_told_so_and_not_that_they_were_told() -> None:
    told = Told(everybody=(BEN.model_copy(update={"email": None}),), rota=Rota(usual=Duty(first=("ben",))))
    told.event(0, OPENED, FROST, ALARM)
    told.clock(40)
    (notice,) = told.notices
    assert notice.reason == "she is yours, and nobody at the yard could be reached yet"


def test_a_boat_whose_frost_goes_into_an_event_keeps_what_is_known_of_her_battery() -> None:
    told = Told(boats=3)
    told.event(0, OPENED, "battery/house", WARNING)
    told.event(1, SEEN, "battery/house", WARNING, actor="Anna")
    for boat in told.vessels:
        told.event(2, OPENED, FROST, ALARM, vessel=boat)
    told.clock(60)
    assert [line for line in told.lines(owners=True) if "Owner 1" in line] == ["1 Owner 1 new", "17 Owner 1 new"]
    (hers,) = [call for call in told.calls.values() if call.about == "boat-1"]
    assert (hers.accepted_by, hers.ended_ms) == ("Anna", None)
    told.event(70, ENDED, "battery/house", WARNING)
    told.clock(100)
    assert told.lines(owners=True)[-1] == "80 Owner 1 over"


def test_a_boat_whose_frost_goes_into_an_event_is_told_of_her_battery_that_nobody_has() -> None:
    told = Told(boats=3)
    told.event(0, OPENED, "battery/house", WARNING)
    told.clock(11)
    for boat in told.vessels:
        told.event(12, OPENED, FROST, ALARM, vessel=boat)
    told.clock(60)
    mine = [n for n in told.notices if n.person == "Owner 1"]
    assert sorted(len(n.alerts) for n in mine) == [1, 1]
    assert len({n.call for n in mine}) == 2  # the event's, and her own
