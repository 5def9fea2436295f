"""What the sensors of a boat will see, and what her record leaves open, said in plain sentences."""

from datetime import UTC, date, datetime

import pytest

from monitor.model.equipment import (
    Battery,
    Bilge,
    Chemistry,
    Dehumidifier,
    Drain,
    Liquid,
    LiquidSystem,
    Sensor,
    ShorePower,
    Space,
    Supply,
    SystemKind,
    SystemState,
)
from monitor.model.quantity import Quantity
from monitor.model.vessel import Mode, Vessel
from monitor.record.missing import open_questions
from monitor.record.refers import sensor_references
from monitor.record.seen import seen_aboard


def sensor(sensor_id: str, quantity: Quantity, interval_s: float = 3600) -> Sensor:
    return Sensor(id=sensor_id, quantity=quantity, place=sensor_id, interval_s=interval_s, supply=Supply.OWN_CELL)


SENSORS = (
    sensor("outside", Quantity.TEMPERATURE),
    sensor("probe", Quantity.TEMPERATURE, 600),
    sensor("level", Quantity.LEVEL),
    sensor("float", Quantity.FLOAT_SWITCH),
    sensor("volts", Quantity.VOLTAGE),
    sensor("air", Quantity.HUMIDITY),
    sensor("mains", Quantity.MAINS, 60),
)


def boat(**changes: object) -> Vessel:
    known = {
        "id": "fern-day", "name": "Fern Day", "yard": "eiderhythe", "mode": Mode.LAYING_UP, "plot": "B9",
        "laid_up": datetime(2013, 12, 1, tzinfo=UTC), "engineer": "Odile Marrick", "sensors": SENSORS,
        "outside_sensor": "outside",
    }  # fmt: skip
    return Vessel.model_validate(known | changes)


def system(state: SystemState, **changes: object) -> LiquidSystem:
    made = {"id": "s", "name": "Fresh water", "kind": SystemKind.FRESH_WATER, "state": state}
    return LiquidSystem.model_validate(made | changes)


TREATED = {
    "liquid": Liquid.ETHYLENE_GLYCOL, "tested_freeze_degc": -28.0, "tester": "refractometer",
    "tested": date(2013, 11, 30), "sensor": "probe",
}  # fmt: skip


def test_a_bilge_is_seen_by_its_level_each_hour_and_its_float_at_once() -> None:
    record = boat(bilges=(Bilge(id="b", name="Main bilge", level_sensor="level", float_sensor="float"),))
    assert seen_aboard(record) == ["Main bilge: level every hour, float at once."]


@pytest.mark.parametrize(
    ("left", "said"),
    [
        (
            system(SystemState.TREATED, **TREATED),
            "watched at \N{MINUS SIGN}28 °C less errors, by its own probe every 10 minutes",
        ),
        (system(SystemState.NOT_PROVEN), "not proven, so watched at 0 °C, by the outside air every hour"),
        (system(SystemState.WET, sensor="probe"), "left wet, so watched at 0 °C, by its own probe every 10 minutes"),
        (
            system(SystemState.DRAINED, drains=(Drain(name="pump", probed=True),)),
            "drained, every drain probed, so there is nothing in it to freeze",
        ),
        (
            system(SystemState.DRAINED, drains=(Drain(name="pump", probed=True), Drain(name="tap", probed=False))),
            "1 of its drains not probed, so watched at 0 °C, by the outside air every hour",
        ),
    ],
)
def test_a_liquid_system_is_watched_by_how_it_was_left(left: LiquidSystem, said: str) -> None:
    assert seen_aboard(boat(liquid_systems=(left,))) == [f"Fresh water: {said}."]


def test_what_no_thermometer_is_near_is_not_said_to_be_seen() -> None:
    left = system(SystemState.NOT_PROVEN)
    assert seen_aboard(boat(liquid_systems=(left,), outside_sensor=None)) == []


def test_volts_shore_power_and_air_are_seen_by_their_sensors() -> None:
    record = boat(
        batteries=(
            Battery(id="h", name="House", chemistry=Chemistry.AGM, capacity_ah=100, voltage_sensor="volts",
                    temperature_sensor="probe"),
        ),
        shore_power=ShorePower(on=True, mains_sensor="mains"),
        spaces=(Space(id="a", name="Saloon", humidity_sensor="air", temperature_sensor="probe"),),
    )  # fmt: skip
    assert seen_aboard(record) == [
        "House: volts every hour, its temperature every 10 minutes.",
        "Shore power: on or off, at once.",
        "Saloon: damp and mould by its humidity every hour, with the outside air condensation too.",
    ]


def test_a_boat_with_no_sensor_is_not_said_to_be_seen_at_all() -> None:
    left = system(SystemState.DRAINED, drains=(Drain(name="pump", probed=True),))
    assert seen_aboard(boat(sensors=(), outside_sensor=None, liquid_systems=(left,))) == []


def test_every_part_that_is_empty_is_an_open_question() -> None:
    parts = {question.part for question in open_questions(boat(sensors=(), outside_sensor=None))}
    assert parts >= {
        "boat",
        "owner",
        "card",
        "sensors",
        "liquid-systems",
        "batteries",
        "bilges",
        "spaces",
        "seacocks",
        "work",
    }


def test_a_system_that_is_not_proven_and_a_sensor_that_nothing_uses_are_open_questions() -> None:
    record = boat(
        liquid_systems=(system(SystemState.DRAINED, drains=(Drain(name="tap", probed=False),), sensor="probe"),)
    )
    asked = {(question.part, question.entry): question.says for question in open_questions(record)}
    assert asked["liquid-systems", "s"] == "Fresh water: not probed: tap."
    assert asked["sensors", "level"] == "level (level): nothing in her record uses this sensor."
    assert ("sensors", "probe") not in asked
    assert ("sensors", "outside") not in asked


def test_a_dehumidifier_in_a_space_that_is_not_there_is_an_open_question() -> None:
    record = boat(dehumidifier=Dehumidifier(running=True, space="gone"))
    assert "dehumidifier" in {question.part for question in open_questions(record)}


def test_every_field_that_names_a_sensor_is_found() -> None:
    cell = sensor("cell", Quantity.CELL).model_copy(update={"cell_of": "probe"})
    record = boat(
        sensors=(*SENSORS, cell),
        shore_power=ShorePower(on=True, mains_sensor="mains"),
        liquid_systems=(system(SystemState.NOT_PROVEN, sensor="probe"),),
        batteries=(
            Battery(id="h", name="House", chemistry=Chemistry.AGM, capacity_ah=100, voltage_sensor="volts",
                    temperature_sensor="probe"),
        ),
        bilges=(
            Bilge(id="b", name="Bilge", level_sensor="level", float_sensor="float", temperature_sensor="probe",
                  pump_sensor="mains"),
        ),
        spaces=(Space(id="a", name="Saloon", humidity_sensor="air", temperature_sensor="probe"),),
    )  # fmt: skip
    found = list(sensor_references(record))
    written = [value for part in record.model_dump(exclude={"proofs"}).values() for value in _sensors_in(part)]
    assert sorted(reference.sensor for reference in found) == sorted([*written, "outside"])
    assert [reference.part for reference in found if reference.needed] == ["spaces", "spaces"]


def _sensors_in(part: object) -> list[str]:
    entries = part if isinstance(part, (list, tuple)) else [part]
    dicts = [entry for entry in entries if isinstance(entry, dict)]
    return [v for d in dicts for k, v in d.items() if (k.endswith("sensor") or k == "cell_of") and v is not None]
