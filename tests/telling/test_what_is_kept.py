"""What telling keeps is bounded, is written only where something changed, and begins with what is open."""

import json
from dataclasses import replace

import pytest
from telling.yard_told import ANNA, HOUR, T0, Told, people

from monitor.model.alert import AlertChange
from monitor.model.batch import Batch
from monitor.model.inputs import Aboard, Suppress
from monitor.model.people import Channel, ChannelKind
from monitor.model.scale import AlertState, Priority

ALARM, WARNING = Priority.ALARM, Priority.WARNING
OPENED, ENDED, SEEN = AlertChange.OPENED, AlertChange.ENDED, AlertChange.ACKNOWLEDGED


def test_clocks_alone_write_nothing_after_the_first() -> None:
    told = Told()
    for minute in range(50):
        told.clock(minute)
    assert [batch.telling is not None for batch in told.fed] == [True] + [False] * 49


def test_what_was_open_and_seen_at_a_first_start_was_told_already_and_worse_is_told() -> None:
    before = Told()
    before.event(0, OPENED, "bilge/bilge", WARNING)
    before.event(1, AlertChange.ACKNOWLEDGED, "bilge/bilge", WARNING, actor="Anna")
    told = Told()
    told.alerts = {key: replace(alert) for key, alert in before.alerts.items()}
    told.telling.adopt(before.alerts.values())
    told.clock(300)
    assert told.notices == []
    assert told.kept is not None
    told.event(301, AlertChange.PRIORITY, "bilge/bilge", ALARM)
    assert told.lines() == ["301 Anna new", "301 Anna new!"]


def test_a_boat_drawn_into_an_event_leaves_nothing_behind() -> None:
    told = Told(boats=3)
    told.event(0, OPENED, "battery/house")
    told.event(1, OPENED)
    told.clock(12)
    told.event(13, ENDED, "battery/house")
    told.event(14, OPENED, vessel="boat-2")
    told.event(14, OPENED, vessel="boat-3")
    told.clock(30)
    kept = json.loads(told.kept or "")
    assert [call["about"] for call in kept["calls"].values()] == ["frost"]
    assert kept.get("vessel_of", {}) == {}


def test_who_was_aboard_is_forgotten_with_the_next_who_is() -> None:
    told = Told()
    told.aboard(0, "Ben", 60)
    later = Suppress("boat-2", T0 + HOUR, "Anna", Aboard.PEOPLE, T0 + 2 * HOUR)
    told.feed(Batch(inputs=[(told.seq + 1, later)]))
    assert list(json.loads(told.kept or "")["aboard"]) == ["boat-2"]


@pytest.mark.parametrize("how", [AlertChange.CONFIRMED, AlertChange.ACCEPTED])
def test_who_confirms_or_accepts_it_has_it(how: AlertChange) -> None:
    told = Told()
    told.event(0, OPENED, "bilge/bilge", ALARM)
    told.event(5, how, "bilge/bilge", ALARM, actor="Ben", state=AlertState.ACKNOWLEDGED)
    told.clock(300)
    assert told.lines() == ["0 Anna new", "0 Anna new!", "5 Owner 1 new"]


@pytest.mark.parametrize(
    ("priority", "lines"), [(WARNING, ["25 Owner 1 new"]), (ALARM, ["15 Owner 1 new", "15 Owner 1 new!"])]
)
def test_an_owner_is_rung_for_an_alarm_only(priority: Priority, lines: list[str]) -> None:
    rings = Channel(kind=ChannelKind.WEBHOOK, address="https://hooks.example/owner", rings=True)
    changes = {"id": "olga", "name": "Owner 1", "email": "owner-1@example.org", "channels": (rings,)}
    told = Told(everybody=(*people(), ANNA.model_copy(update=changes)))
    told.event(0, OPENED, "bilge/bilge", priority)
    told.clock(40)
    assert told.lines(owners=True) == lines


def test_quiet_hours_of_duty_do_not_count_till_a_warning_rings() -> None:
    told = Told(everybody=people(anna=("11:00", "13:00")))
    told.event(0, OPENED)  # told at 09:10; awake for 4 h at 15:10
    told.clock(6 * 60 + 11)
    assert [line for line in told.lines(owners=False) if "!" in line] == ["370 Anna new!"]


def test_everybody_who_was_told_of_an_event_hears_once_that_it_is_over() -> None:
    told = Told(boats=3)
    for boat in (1, 2, 3):
        told.event(0, OPENED, vessel=f"boat-{boat}")
    told.clock(30)
    for boat in (1, 2, 3):
        told.event(60, ENDED, vessel=f"boat-{boat}")
    told.clock(300)
    over = [line for line in told.lines() if "over" in line]
    assert over == ["70 Anna over", "70 Owner 1 over", "70 Owner 2 over", "70 Owner 3 over"]


def test_what_is_put_aside_is_not_told_as_gone() -> None:
    told = Told()
    told.event(0, OPENED)
    told.clock(12)
    told.event(13, SEEN, actor="Ben")
    told.event(20, AlertChange.SHELVED, actor="Ben", until_min=300)
    told.clock(40)
    assert told.lines() == ["10 Anna new", "13 Owner 1 new", "30 Anna aside", "30 Owner 1 aside"]
    assert told.notices[-2].reason == "you were told of it: put aside by Ben until 14:00"
    assert told.notices[-1].reason == "she is yours, and you were told of it: put aside by Ben until 14:00"


def test_whoever_put_it_aside_hears_nothing_of_it_but_hears_once_it_is_over() -> None:
    told = Told()
    told.event(0, OPENED)
    told.clock(12)
    told.event(20, AlertChange.SHELVED, actor="anna", until_min=24 * 60 + 1)
    told.clock(40)
    assert told.lines() == ["10 Anna new"]
    told.event(60, ENDED)
    told.clock(80)
    assert told.lines() == ["10 Anna new", "70 Anna over"]


def test_what_is_put_aside_without_an_end_is_told_so() -> None:
    told = Told()
    told.event(0, OPENED)
    told.clock(12)
    told.event(20, AlertChange.OUT_OF_SERVICE, actor="Carl")
    told.clock(40)
    assert told.notices[-1].reason == "you were told of it: put aside by Carl until somebody brings it back"
