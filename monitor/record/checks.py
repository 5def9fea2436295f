"""What to look at and what to read aboard a vessel, by her record: codes, for which `messages` has the words."""

from collections.abc import Collection, Iterator
from dataclasses import dataclass, field

from monitor.model.equipment import SystemState
from monitor.model.vessel import Mode, Vessel
from monitor.model.visit import Read

AFLOAT = frozenset({Mode.AFLOAT_LAID_UP, Mode.FIRST_24_H_AFLOAT})


@dataclass(frozen=True, slots=True)
class Check:
    """One thing to look at.

    Attributes:
        kind: chooses the words.
        subject: id of the thing in the record, empty where it is the whole boat.
        facts: what the words need, by name.
    """

    kind: str
    subject: str = ""
    facts: dict[str, str | bool] = field(default_factory=dict)

    @property
    def code(self) -> str:
        """What is written down once it has been looked at: its kind, and where there is one its subject."""
        return f"{self.kind}.{self.subject}" if self.subject else self.kind


@dataclass(frozen=True, slots=True)
class Taking:
    """One reading to take by hand: which kind, where, and the sensor that should say the same."""

    what: Read
    subject: str
    name: str
    sensor: str | None


def checks_for(record: Vessel, troubled: Collection[str] = ()) -> list[Check]:
    """Give what to look at, most important first: what alerts are about, then water, power, frost and air.

    Args:
        record: her record.
        troubled: ids of things that open alerts are about: subjects, and the sensors behind them.
    """
    found = [*_outside(record), *_water(record), *_power(record), *_frost(record), *_air(record), *_silent(record)]
    kept = [c for c in found if c.kind != "sensor" or c.subject in troubled]
    return sorted(kept, key=lambda check: check.subject not in troubled)


def takings_for(record: Vessel, troubled: Collection[str] = ()) -> list[Taking]:
    """Give what to read by hand, most important first, each with the sensor that should say the same."""
    found = [Taking(Read.DIP, b.id, b.name, b.level_sensor) for b in record.bilges]
    found += [Taking(Read.VOLTS, b.id, b.name, b.voltage_sensor) for b in record.batteries]
    for space in record.spaces:
        found.append(Taking(Read.HUMIDITY, space.id, space.name, space.humidity_sensor))
        found.append(Taking(Read.TEMPERATURE, space.id, space.name, space.temperature_sensor))
    return sorted(found, key=lambda taking: not {taking.subject, taking.sensor} & set(troubled))


def _outside(record: Vessel) -> Iterator[Check]:
    if record.mode in AFLOAT:
        yield Check("floats")
    if record.shore_power.on:
        yield Check("shore_lead", facts={"post": record.card.shore_post})
    yield Check("cover")
    yield Check("lines" if record.mode in AFLOAT else "props")


def _water(record: Vessel) -> Iterator[Check]:
    for bilge in record.bilges:
        yield Check("bilge", bilge.id, {"name": bilge.name})
        if bilge.pump_lph is not None or bilge.pump_sensor is not None:
            yield Check("pump", bilge.id, {"name": bilge.name, "switch": record.card.pump_switch})
    if record.mode in AFLOAT:
        yield Check("gland")
    for seacock in sorted(record.seacocks, key=lambda s: not s.open):
        kind = "seacock_open" if seacock.open else "seacock_shut"
        yield Check(kind, seacock.id, {"name": seacock.name, "reason": seacock.reason})
    if record.mode is Mode.ASHORE_BUNG_OUT:
        yield Check("bung_out")
    elif record.mode is Mode.ASHORE_BUNG_IN:
        yield Check("deck_drains")


def _power(record: Vessel) -> Iterator[Check]:
    for battery in record.batteries:
        yield Check("battery", battery.id, {"name": battery.name, "charger": battery.charger})


def _frost(record: Vessel) -> Iterator[Check]:
    """Give what counts as full of water: left wet, or by a record that proves nothing."""
    for system in record.liquid_systems:
        unproven = system.state is SystemState.NOT_PROVEN or any(not d.probed for d in system.drains)
        if system.state is SystemState.WET or unproven:
            probe = record.sensor(system.sensor or "")
            place = "" if probe is None else probe.place
            yield Check("wet_system", system.id, {"name": system.name, "place": place, "unproven": unproven})


def _air(record: Vessel) -> Iterator[Check]:
    dryer = record.dehumidifier
    if dryer is not None and dryer.running:
        yield Check("dehumidifier", dryer.space)
    left_on = record.heater is not None and record.heater.on
    yield Check("heater", facts={"left_on": left_on, "note": record.heater.note if record.heater is not None else ""})
    yield Check("smell")


def _silent(record: Vessel) -> Iterator[Check]:
    yield Check("sensor", "gateway")
    for sensor in record.sensors:
        yield Check("sensor", sensor.id, {"place": sensor.place})
