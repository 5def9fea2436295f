"""Between two starts people go, lose their address or the duty, and others come: nothing held for them goes astray."""

from collections.abc import Sequence

import pytest
from telling.yard_told import ANNA, BEN, CARL, ROTA, Told, people

from monitor.model.alert import AlertChange
from monitor.model.people import Duty, QuietHours, Rota, YardPerson
from monitor.model.roster import Roster
from monitor.model.scale import AlertState, Priority

ALARM, WARNING = Priority.ALARM, Priority.WARNING
OPENED, HANDED = AlertChange.OPENED, AlertChange.HANDED_OVER
ANNABEL = YardPerson(id="annabel", name="Annabel Berg", email="annabel@yard.example")
TEN_AT_NIGHT, SEVEN = 780, 1320
NIGHT = ("20:00", "07:00")
ASLEEP = people(anna=NIGHT)
BENS = Rota(usual=Duty(first=("ben",), manager=("carl",)))


def started_anew(told: Told, everybody: Sequence[YardPerson], rota: Rota) -> Told:
    """Start with other settings from what is kept."""
    told.roster = Roster(tuple(everybody), rota)
    told.telling = told.made(told.kept)
    return told


def held(everybody: Sequence[YardPerson] = ASLEEP, rota: Rota = ROTA) -> Told:
    """A warning of ten at night that is held until seven."""
    told = Told(everybody=everybody, rota=rota)
    told.event(TEN_AT_NIGHT, OPENED, "damp/saloon", WARNING)
    told.clock(TEN_AT_NIGHT + 20)
    assert told.notices == []
    return told


@pytest.mark.parametrize(
    ("everybody", "rota", "who"),
    [
        ((BEN, CARL), BENS, "Ben"),
        ((BEN, CARL, ANNABEL), BENS, "Ben"),
        (ASLEEP, BENS, "Ben"),
        ((ASLEEP[0].model_copy(update={"email": None, "channels": ()}), BEN, CARL), ROTA, "Ben"),
        ((BEN.model_copy(update={"id": "anna"}), CARL), ROTA, "Ben"),
    ],
    ids=["gone", "begins another's name", "another has the duty", "no address", "another of that id"],
)
def test_what_was_held_is_told_to_whoever_has_the_duty_once_it_is_let_go(
    everybody: Sequence[YardPerson], rota: Rota, who: str
) -> None:
    told = started_anew(held(), everybody, rota)
    told.clock(SEVEN - 1)
    assert told.notices == []
    told.clock(SEVEN + 14)
    assert told.lines() == [f"{SEVEN} {who} new"]


def test_what_was_held_is_held_again_from_who_has_the_duty_now_and_sleeps_longer() -> None:
    late = BEN.model_copy(update={"quiet": QuietHours.model_validate({"begins": "20:00", "ends": "08:30"})})
    told = started_anew(held(), (late, CARL), BENS)
    told.clock(1600)
    assert [line for line in told.lines(owners=False) if "digest" not in line][:1] == ["1410 Ben new"]


def test_of_two_it_was_held_for_one_who_is_gone_leaves_it_to_the_other_once() -> None:
    both = Rota(usual=Duty(first=("anna", "ben"), manager=("carl",)))
    told = started_anew(held(people(anna=NIGHT, ben=NIGHT), both), people(ben=NIGHT)[1:], BENS)
    told.clock(SEVEN + 14)
    assert told.lines() == [f"{SEVEN} Ben new"]


def test_where_another_of_duty_was_awake_nobody_is_told_twice() -> None:
    both = Rota(usual=Duty(first=("anna", "ben"), manager=("carl",)))
    told = Told(everybody=ASLEEP, rota=both)
    told.event(TEN_AT_NIGHT, OPENED, "damp/saloon", WARNING)
    told.clock(TEN_AT_NIGHT + 20)
    started_anew(told, (BEN, CARL), BENS).clock(SEVEN + 14)
    assert [line for line in told.lines(owners=False) if line.endswith("new")] == [f"{TEN_AT_NIGHT + 10} Ben new"]


def test_what_is_seen_meanwhile_is_told_to_nobody() -> None:
    told = started_anew(held(), (BEN, CARL), BENS)
    told.event(900, AlertChange.ACKNOWLEDGED, "damp/saloon", WARNING, actor="Carl")
    told.clock(SEVEN + 14)
    assert told.lines(owners=False) == []


def test_harm_that_comes_close_is_not_held_for_who_is_gone() -> None:
    told = started_anew(held(), (BEN, CARL), BENS)
    told.event(900, HANDED, "damp/saloon", WARNING, actor="Carl", to="Ben", harm_h=1, state=AlertState.UNACKNOWLEDGED)
    told.clock(905)
    assert "900 Ben new" in told.lines(owners=False)


def test_what_is_handed_to_who_is_gone_goes_to_nobody_whose_name_begins_so() -> None:
    told = Told()
    told.event(0, OPENED, "power/shore-power", ALARM)
    told.event(1, HANDED, "power/shore-power", ALARM, actor="Ben", to="Anna")
    started_anew(told, (BEN, CARL, ANNABEL), BENS)
    told.clock(20)
    after = [(n.person, n.kind, n.reason) for n in told.notices if n.kind in {"handed", "unaccepted"}]
    assert after == [("Ben", "unaccepted", "Anna, to whom you handed it, cannot be told of it")]


def test_who_is_aboard_is_found_by_the_whole_name() -> None:
    told = Told(everybody=(ANNA, BEN, CARL, ANNABEL))
    told.aboard(0, "Annabel B", 100)
    told.event(1, OPENED, "bilge/bilge", ALARM, water=True)
    assert {n.person for n in told.notices} == {"Anna"}
