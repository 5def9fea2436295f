"""What is still open in a record before its vessel is laid up: asked at once, and not found out in the winter."""

from collections.abc import Iterator
from dataclasses import dataclass

from monitor.model.equipment import SystemState
from monitor.model.vessel import Vessel
from monitor.record.refers import sensor_references


@dataclass(frozen=True, slots=True)
class Question:
    """One thing that her record leaves open.

    Attributes:
        says: the sentence.
        part: the part of the record that answers it, or ``work`` for the work list.
        entry: the entry of it, empty where there is none yet.
    """

    says: str
    part: str
    entry: str = ""


def open_questions(record: Vessel) -> list[Question]:
    """Give every question that a record leaves open, in the order of its parts."""
    return [
        *_herself(record),
        *_nothing_recorded(record),
        *_systems(record),
        *_sensors(record),
        *_plant(record),
        *_work(record),
    ]


def _herself(record: Vessel) -> Iterator[Question]:
    if record.engine is None:
        yield Question("What drives her is not recorded: her work list follows from it.", "boat")
    if record.rig is None:
        yield Question("Sail or motor is not recorded: her work list follows from it.", "boat")
    if not record.plot and not record.berth:
        yield Question("Her plot or berth is not recorded.", "boat")
    if record.owner is None:
        yield Question("No owner is recorded: nobody but the yard is told.", "owner")
    elif record.owner.email is None:
        yield Question("The owner's e-mail is not recorded: they are not told.", "owner")
    if not record.card.keys:
        yield Question("Her card does not say where her keys are.", "card")
    if record.outside_sensor is None and record.sensors:
        yield Question("No outside thermometer is chosen.", "boat")


def _nothing_recorded(record: Vessel) -> Iterator[Question]:
    for part, held, says in (
        ("sensors", record.sensors, "No sensors are recorded: nothing aboard will be watched."),
        ("liquid-systems", record.liquid_systems, "No liquid systems are recorded: no frost in her is watched for."),
        ("batteries", record.batteries, "No batteries are recorded."),
        ("bilges", record.bilges, "No bilges are recorded: no water in her is watched for."),
        ("spaces", record.spaces, "No spaces are recorded: no damp in her is watched for."),
        ("seacocks", record.seacocks, "No seacocks are recorded."),
    ):
        if not held:
            yield Question(says, part)


def _systems(record: Vessel) -> Iterator[Question]:
    for system in record.liquid_systems:
        missed = [drain.name for drain in system.drains if not drain.probed]
        if system.state is SystemState.NOT_PROVEN:
            yield Question(f"{system.name}: how it was left is not proven.", "liquid-systems", system.id)
        elif system.state is SystemState.WET:
            yield Question(f"{system.name}: left wet.", "liquid-systems", system.id)
        elif system.state is SystemState.DRAINED and missed:
            yield Question(f"{system.name}: not probed: {', '.join(missed)}.", "liquid-systems", system.id)
    for bilge in record.bilges:
        if bilge.zero_wanted:
            yield Question(f"{bilge.name}: the zero of its level sensor has to be set anew.", "bilges", bilge.id)


def _sensors(record: Vessel) -> Iterator[Question]:
    used = {reference.sensor for reference in sensor_references(record)}
    for sensor in record.sensors:
        if sensor.id not in used and sensor.cell_of is None:
            yield Question(
                f"{sensor.place} ({sensor.id}): nothing in her record uses this sensor.", "sensors", sensor.id
            )


def _work(record: Vessel) -> Iterator[Question]:
    if not record.jobs:
        yield Question("Nothing of her work list is written down.", "work")


def _plant(record: Vessel) -> Iterator[Question]:
    dryer = record.dehumidifier
    if dryer is not None and dryer.space not in {space.id for space in record.spaces}:
        yield Question("The dehumidifier's space is none of her spaces.", "dehumidifier")
