"""What a frost mail asks for first: what somebody in the yard can do tonight with what is aboard by the record."""

from typing import Any
from zoneinfo import ZoneInfo

import pytest
from aboard import Aboard, At
from boats import boat

from monitor.messages.words import Words, put_into_words
from monitor.model.equipment import LiquidSystem
from monitor.rules.frost import Frost
from monitor.rules.frost_advice import RUNS_THROUGH, Advice, advice_on
from monitor.rules.frost_point import system_point

ZONE = ZoneInfo("America/New_York")
TESTED = {
    "liquid": "propylene glycol",
    "tested_freeze_degc": -20,
    "tester": "refractometer",
    "tested": "2013-10-12",
}
DRAINS = [{"name": "galley tap", "probed": True}, {"name": "calorifier", "probed": False}]
KINDS = ("closed cooling", "raw water", "fresh water", "heads", "heating", "waste water")
STATES = ("treated", "wet", "not proven", "drained")


def system(kind: str = "fresh water", state: str = "wet", **more: Any) -> dict[str, Any]:
    needs = TESTED if state == "treated" else {"drains": DRAINS} if state == "drained" else {}
    return {"id": "it", "name": "It", "kind": kind, "state": state, "sensor": "engine-space", **needs, **more}


def advice(kind: str = "fresh water", state: str = "wet", record: dict[str, Any] | None = None, **more: Any) -> Advice:
    it = system(kind, state, **more)
    point = system_point(LiquidSystem.model_validate(it))
    assert point is not None
    vessel = boat(**({"liquid_systems": [it]} | (record or {})))
    return advice_on(vessel, vessel.liquid_systems[0], point[0])


def _holds(degc: float) -> At:
    return lambda _: degc


def words(degc: float, then_degc: float | None = None, record: dict[str, Any] | None = None, **more: Any) -> Words:
    vessel = boat(**({"liquid_systems": [system(**more)], "batteries": []} | (record or {})))
    aboard = Aboard(vessel, Frost).live(24, {"engine-space": lambda _: 8.0, "outside": lambda _: 6.0})
    for at in (degc, then_degc):
        if at is not None:
            aboard.live(8, dict.fromkeys(("engine-space", "outside"), _holds(at)))
    return put_into_words(aboard.findings()["it"], vessel, ZONE, aboard.now_ms, strict=True)


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("state", STATES)
def test_every_system_however_left_has_something_for_tonight_and_ends_with_whom_to_tell(kind: str, state: str) -> None:
    said = advice(kind, state)
    assert said.ahead[-1] == "tell_owner"
    assert len(said.ahead) > 3
    assert said.frozen[-1] == said.thawed[-1] == "tell_owner_frozen"
    assert "no_portable_heater" in said.never


def test_a_wet_system_is_drained_at_the_drains_that_its_record_names() -> None:
    first = words(0.4, state="wet", drains=DRAINS).first
    assert any("Drain it tonight at: galley tap, calorifier." in step for step in first)


def test_one_with_no_drain_on_record_is_drained_at_its_lowest() -> None:
    assert any("Drain it tonight at its lowest drain." in step for step in words(0.4).first)


def test_of_one_drained_without_proof_the_drains_that_nobody_probed_come_first() -> None:
    first = words(0.4, state="drained").first
    assert "Open and probe the drains that nobody probed: calorifier." in first[1]


def test_an_engine_is_drained_by_its_makers_book_and_fresh_water_with_its_heater_off() -> None:
    assert "drain_by_book" in advice("raw water").ahead
    fresh = advice("fresh water").ahead
    assert fresh.index("water_heater_off") < fresh.index("drain_system") < fresh.index("pink_where_wet")


def test_what_sea_water_comes_to_has_its_seacock_shut_before_it_is_drained_and_none_is_forced() -> None:
    said = advice("raw water")
    assert said.ahead.index("shut_seacock_first") < said.ahead.index("drain_by_book")
    assert "no_forcing_seacock" in said.never


@pytest.mark.parametrize("kind", ["fresh water", "heads", "waste water", "raw water"])
def test_no_engine_antifreeze_goes_where_the_pink_kind_belongs(kind: str) -> None:
    assert "no_engine_antifreeze" in advice(kind).never


@pytest.mark.parametrize(
    ("heater", "code"),
    [
        (None, "warmth_attended"),
        ({"on": True, "note": "tubes"}, "see_heater_runs"),
        ({"on": False}, "heater_attended"),
    ],
)
def test_warmth_goes_by_the_heater_on_record_and_is_never_left_alone(heater: dict[str, Any] | None, code: str) -> None:
    assert code in advice(record={"heater": heater}).ahead
    step = next(s for s in words(0.4, record={"heater": heater}).first if "eater" in s and "water heater" not in s)
    assert "stay" in step


@pytest.mark.parametrize("state", STATES)
@pytest.mark.parametrize("kind", KINDS)
def test_nothing_is_run_through_a_system_that_froze_before_it_was_looked_at(kind: str, state: str) -> None:
    said = advice(kind, state)
    assert not RUNS_THROUGH & {*said.frozen, *said.thawed}


def test_before_the_next_night_a_system_that_froze_is_looked_at_and_gets_no_pressure() -> None:
    said = words(-2.6, 3.0)
    assert "It froze once already" in said.what
    assert not any("antifreeze through" in step for step in said.first)
    assert any("Put no pressure and no water on it" in step for step in said.never)


def test_a_battery_goes_ashore_and_is_never_charged_where_it_may_be_frozen() -> None:
    vessel = boat()
    said = advice_on(vessel, vessel.batteries[0], "battery")
    assert said.ahead == ("recharge_battery_ashore", "or_loads_off", "tell_owner")
    assert "no_charging_frozen" in said.never
    assert said.frozen[0] == "leave_frozen_battery"


def test_a_battery_that_feeds_the_bilge_pump_afloat_is_not_taken_away_before_another_stands_in_its_place() -> None:
    bilge = boat().bilges[0].model_dump() | {"pump_lph": 2000.0}
    afloat = boat(mode="afloat laid up", plot=None, berth="A7", bilges=[bilge])
    ashore = boat(bilges=[bilge])
    assert advice_on(afloat, afloat.batteries[0], "battery").ahead[0] == "feed_pump_first"
    assert "feed_pump_first" not in advice_on(ashore, ashore.batteries[0], "battery").ahead
