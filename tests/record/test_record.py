from datetime import date

import pytest
from boats import boat

from monitor.model.vessel import Mode
from monitor.record.blind import blind_spots
from monitor.record.standing import standing_items


def test_tagged_items_stand_until_they_are_closed() -> None:
    items = [
        {"tag": 2, "what": "Impeller on the bench", "due": "before lift"},
        {"tag": 1, "what": "Log paddle out", "due": "in the slings"},
        {"tag": 3, "what": "Flag halyard off", "due": "after launch", "closed": date(2014, 3, 1), "closed_by": "R. I."},
    ]
    assert [(i.tag, i.what) for i in standing_items(boat(open_items=items))] == [
        (2, "Impeller on the bench"),
        (1, "Log paddle out"),
    ]


def test_the_record_implies_what_nobody_tagged() -> None:
    record = boat(
        mode="ashore bung out",
        seacocks=[
            {"id": "galley", "name": "Galley drain", "open": True, "reason": "drains the cockpit"},
            {"id": "heads", "name": "Heads intake", "open": False},
        ],
        liquid_systems=[
            {"id": "fresh", "name": "Fresh water", "kind": "fresh water", "state": "wet", "liquid": "fresh water"},
            {"id": "heads", "name": "Heads", "kind": "heads", "state": "not proven"},
            {
                "id": "raw",
                "name": "Raw water",
                "kind": "raw water",
                "state": "drained",
                "drains": [{"name": "strainer", "probed": False}],
            },
        ],
    )
    said = [item.what for item in standing_items(record)]
    assert said == [
        "Drain bung is out",
        "Galley drain seacock is open: drains the cockpit",
        "Fresh water was left wet: drain or treat it",
        "Heads is not proven: find out how it was left",
        "Raw water is not proven: find out how it was left",
    ]


def test_a_boat_without_sensors_is_said_to_be_unwatched() -> None:
    bare = boat(sensors=[], outside_sensor=None, liquid_systems=[], bilges=[], batteries=[])
    assert blind_spots(bare) == ["No sensors are recorded: nothing aboard is watched."]


def test_afloat_without_a_float_switch_is_part_known() -> None:
    record = boat(
        mode="afloat laid up",
        plot=None,
        berth="N2",
        bilges=[{"id": "bilge", "name": "Bilge", "level_sensor": "bilge-level"}],
    )
    assert "Bilge: no float switch, so a fast leak is seen only at the next reading of the level." in blind_spots(
        record
    )


@pytest.mark.parametrize("mode", [m for m in Mode if not m.is_laid_up and m is not Mode.FIRST_24_H_AFLOAT])
def test_whoever_is_left_in_a_mode_in_which_people_are_about_is_said_to_be_watched_less(mode: Mode) -> None:
    said = [line for line in blind_spots(boat(mode=mode.value)) if "rising water is told only" in line]
    assert len(said) == 1
    assert said[0].startswith("By her record she is ")


@pytest.mark.parametrize("mode", [m for m in Mode if m.is_laid_up or m is Mode.FIRST_24_H_AFLOAT])
def test_of_whoever_lies_still_nothing_of_that_is_said(mode: Mode) -> None:
    lies = {"plot": "B1", "berth": None} if mode.is_ashore else {"plot": None, "berth": "N2"}
    assert not [line for line in blind_spots(boat(mode=mode.value, **lies)) if "rising water is told only" in line]


def test_what_no_thermometer_stands_near_is_said() -> None:
    systems = [{"id": "heads", "name": "Heads", "kind": "heads", "state": "not proven"}]
    assert any("the outside air stands in" in line for line in blind_spots(boat(liquid_systems=systems)))
    alone = boat(liquid_systems=systems, outside_sensor=None)
    assert any("frost in it will not be seen" in line for line in blind_spots(alone))
