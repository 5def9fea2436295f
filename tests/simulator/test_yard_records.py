"""The yard: twelve invented boats whose records are whole, and faults that each lie in one boat alone."""

from pathlib import Path
from typing import Any

import pytest

from monitor.model.document import read_vessel, write_vessel
from monitor.model.equipment import SystemState
from monitor.model.vessel import Mode, Vessel
from monitor.record.commission import wants_of, watch_state
from monitor.record.commission_check import Heard, prove, wants_hand
from simulator.bilge import BilgePlan, Sump
from simulator.boat import BoatPlan
from simulator.yard import YARD, record_paths, yard_plan, yard_vessels

FINE = {"quiet-tuesday", "oat-harvest", "morning-loaf"}


def _records() -> dict[str, Vessel]:
    return {v.id: v for v in yard_vessels()}


def test_there_are_twelve_boats_ashore_and_afloat() -> None:
    records = _records()
    assert len(records) == 12
    assert {v.mode for v in records.values()} == {Mode.ASHORE_BUNG_OUT, Mode.AFLOAT_LAID_UP}


@pytest.mark.parametrize("path", record_paths(), ids=lambda p: p.stem)
def test_a_record_is_of_its_file_and_yard_and_is_written_back_equal(path: Path) -> None:
    record = read_vessel(path.read_text(encoding="utf-8"), path.name)
    assert (record.id, record.yard) == (path.stem, YARD)
    assert read_vessel(write_vessel(record), "again") == record


@pytest.mark.parametrize("record", yard_vessels(), ids=lambda v: v.id)
def test_a_record_is_complete(record: Vessel) -> None:
    assert 6 <= len(record.sensors) <= 8
    assert len(record.liquid_systems) == 4
    assert record.batteries
    assert record.bilges
    assert record.spaces
    assert record.seacocks
    assert record.open_items
    assert record.owner is not None
    assert record.owner.email is not None
    assert record.owner.email.endswith("@example.org")  # reserved for examples (RFC 2606)


@pytest.mark.parametrize("record", yard_vessels(), ids=lambda v: v.id)
def test_every_sensor_is_proved_by_what_the_check_would_take_and_the_watch_is_taken_on(record: Vessel) -> None:
    assert watch_state(record).is_whole
    taken = record.watch_taken_on
    assert taken is not None
    assert taken.place == record.place
    for want in wants_of(record):
        proof = want.proof
        assert proof is not None
        assert proof.at < taken.at < record.laid_up
        at_ms = round(proof.at.timestamp() * 1000)
        heard = Heard(proof.said, at_ms, proof.said - 10.0)
        hand = proof.wanted if wants_hand(record, want) else None
        again = prove(record, want, heard, hand, proof.by, at_ms, str)
        assert again.wanted == proof.wanted


def test_every_boat_afloat_has_her_seacocks_shut_and_a_float_switch() -> None:
    for record in _records().values():
        if record.mode is Mode.AFLOAT_LAID_UP:
            assert not record.open_seacocks
            assert record.bilges[0].float_sensor is not None


def test_every_boat_was_laid_up_shortly_before_the_winter_begins() -> None:
    begins = yard_plan().begins
    for record in _records().values():
        assert 0 < (begins - record.laid_up).total_seconds() < 86_400


def test_sensors_are_recorded_to_report_at_the_cadence_asked_for() -> None:
    assert {s.interval_s for v in yard_vessels(600) for s in v.sensors} == {600.0}


@pytest.mark.parametrize("record", yard_vessels(), ids=lambda v: v.id)
def test_a_dip_table_is_that_of_the_bilge_as_it_is(record: Vessel) -> None:
    plans = {p.vessel: p for p in yard_plan().boats}
    bilge = record.bilges[0]
    sump = Sump(plans.get(record.id, BoatPlan(vessel=record.id)).bilges.get(bilge.id, BilgePlan()))
    for metres, litres in bilge.dip_table:
        # A bilge is dipped with a bucket and a rule: within a fifth (common practice).
        assert litres == pytest.approx(sump.litres_at(metres), rel=0.2)


def test_nine_boats_have_one_fault_each_and_three_have_none() -> None:
    faults = yard_plan().faults
    assert len(faults) == len({f.vessel for f in faults}) == 9
    assert set(_records()) - {f.vessel for f in faults} == FINE


def test_the_faults_are_those_the_issue_asks_for() -> None:
    found: dict[str, Any] = {f.kind: f for f in yard_plan().faults}
    assert set(found) == {
        "weak coolant",
        "water left in pipes",
        "gland drip",
        "seacock passing, hose off",
        "hidden load",
        "charger trips",
        "dehumidifier stops",
        "gateway silent",
        "sensor sticks",
    }
    assert found["gland drip"].drops_per_min == 20
    assert 60 <= found["hidden load"].load_ma <= 100


def test_faults_begin_when_sensors_have_had_three_weeks_to_be_known_or_stand_in_the_record_from_the_start() -> None:
    plan = yard_plan()
    for fault in plan.faults:
        days = (fault.begins - plan.begins).days
        assert days == 0 if fault.expected_rules == ("frost",) else days >= 21


def test_only_the_two_boats_with_frost_faults_are_weak_or_wet() -> None:
    weak = {
        (v.id, s.id)
        for v in _records().values()
        for s in v.liquid_systems
        if s.state in {SystemState.WET, SystemState.NOT_PROVEN}
        or (s.tested_freeze_degc is not None and s.tested_freeze_degc > -25)
    }
    assert weak == {("copper-wren", "closed-cooling"), ("barley-moon", "fresh-water")}


def test_a_seacock_that_passes_is_recorded_shut_and_the_boat_has_no_pump() -> None:
    record = _records()["saltwhistle"]
    assert not record.open_seacocks
    assert record.bilges[0].pump_lph is None
