"""What to look at and what to read aboard a vessel, by her record: codes, for which `messages` has the words."""

from collections.abc import Collection, Iterator
from dataclasses import dataclass, field

from monitor.model.equipment import SystemState
from monitor.model.vessel import Mode, Vessel
from monitor.model.visit import Read
from monitor.rules.damp_findings import DEHUMIDIFIER
from monitor.rules.power_findings import SUBJECT as SHORE_POWER

GATEWAY = "gateway"
WATER = "water in her"
"""No id of a thing in a record: those have no spaces."""


def is_afloat(record: Vessel) -> bool:
    """Say whether she lies in the water, as far as her record tells: by her mode, else by her berth."""
    if record.mode.is_ashore or record.mode is Mode.IN_SLINGS:
        return False
    return record.mode in {Mode.AFLOAT_LAID_UP, Mode.FIRST_24_H_AFLOAT} or record.berth is not None


def stands_ashore(record: Vessel) -> bool:
    """Say whether she stands on props or in a cradle, so that people climb to her: by her mode, else by her plot."""
    return record.mode.is_ashore or (record.mode is not Mode.IN_SLINGS and record.plot is not None)


@dataclass(frozen=True, slots=True)
class Check:
    """One thing to look at.

    Attributes:
        kind: chooses the words.
        subject: id of the thing in the record, empty where it is the whole boat.
        about: what else it is looked at for: subjects of alerts, or water in her.
        facts: what the words need, by name.
    """

    kind: str
    subject: str = ""
    about: tuple[str, ...] = ()
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
    kept = [c for c in found if c.kind not in {"sensor", "kept_system"} or c.subject in troubled]
    about = {*troubled, *([WATER] if any(b.id in troubled for b in record.bilges) else [])}
    # What an alert is about, then what water comes in by where it is water, then the sensors it rests on, the rest.
    return sorted(kept, key=lambda c: _place(c, about))


def _place(check: Check, about: Collection[str]) -> tuple[bool, bool, bool]:
    is_itself = check.subject in about
    return not (is_itself or any(a in about for a in check.about)), check.kind == "sensor", not is_itself


def all_checks(record: Vessel) -> list[Check]:
    """Give all that can be looked at aboard, whatever she is in trouble with."""
    return checks_for(record, {GATEWAY, *(s.id for s in record.sensors), *(s.id for s in record.liquid_systems)})


def takings_for(record: Vessel, troubled: Collection[str] = ()) -> list[Taking]:
    """Give what to read by hand, most important first, each with the sensor that should say the same."""
    found = [Taking(Read.DIP, b.id, b.name, b.level_sensor) for b in record.bilges]
    found += [Taking(Read.VOLTS, b.id, b.name, b.voltage_sensor) for b in record.batteries]
    for space in record.spaces:
        found.append(Taking(Read.HUMIDITY, space.id, space.name, space.humidity_sensor))
        found.append(Taking(Read.TEMPERATURE, space.id, space.name, space.temperature_sensor))
    return sorted(found, key=lambda taking: not {taking.subject, taking.sensor} & set(troubled))


def _outside(record: Vessel) -> Iterator[Check]:
    if is_afloat(record):
        yield Check("floats")
    if record.shore_power.on:
        fed = [b.id for b in record.batteries if b.charger]
        yield Check("shore_lead", about=(SHORE_POWER, *fed), facts={"post": record.card.shore_post})
    yield Check("cover")
    if is_afloat(record):
        yield Check("lines")
    elif stands_ashore(record):
        yield Check("props")


def _water(record: Vessel) -> Iterator[Check]:
    for bilge in record.bilges:
        yield Check("bilge", bilge.id, facts={"name": bilge.name})
        if bilge.zero_wanted:
            yield Check("bilge_zero", bilge.id, facts={"name": bilge.name})
        if bilge.pump_lph is not None or bilge.pump_sensor is not None:
            yield Check("pump", bilge.id, facts={"name": bilge.name, "switch": record.card.pump_switch})
    if is_afloat(record):
        yield Check("gland", about=(WATER,))
    for seacock in sorted(record.seacocks, key=lambda s: not s.open):
        kind = "seacock_open" if seacock.open else "seacock_shut"
        yield Check(kind, seacock.id, about=(WATER,), facts={"name": seacock.name, "reason": seacock.reason})
    if record.mode is Mode.ASHORE_BUNG_OUT:
        yield Check("bung_out", about=(WATER,))
    elif record.mode is Mode.ASHORE_BUNG_IN:
        yield Check("deck_drains", about=(WATER,))


def _power(record: Vessel) -> Iterator[Check]:
    for battery in record.batteries:
        yield Check("battery", battery.id, facts={"name": battery.name, "charger": battery.charger})


def _frost(record: Vessel) -> Iterator[Check]:
    """Give what counts as full of water: left wet, or by a record that proves nothing; and the rest, if in trouble."""
    for system in record.liquid_systems:
        unproven = system.state is SystemState.NOT_PROVEN or any(not d.probed for d in system.drains)
        unproven = unproven and system.state is not SystemState.WET
        kind = "wet_system" if system.state is SystemState.WET or unproven else "kept_system"
        probe = record.sensor(system.sensor or "")
        place = "" if probe is None else probe.place
        facts: dict[str, str | bool] = {"name": system.name, "place": place, "unproven": unproven}
        yield Check(kind, system.id, facts=facts | {"drained": system.state is SystemState.DRAINED})


def _air(record: Vessel) -> Iterator[Check]:
    dryer = record.dehumidifier
    if dryer is not None and dryer.running:
        yield Check("dehumidifier", dryer.space, about=(DEHUMIDIFIER,))
    left_on = record.heater is not None and record.heater.on
    yield Check("heater", facts={"left_on": left_on, "note": record.heater.note if record.heater is not None else ""})
    yield Check("smell", about=tuple(space.id for space in record.spaces))


def _silent(record: Vessel) -> Iterator[Check]:
    yield Check("sensor", GATEWAY)
    for sensor in record.sensors:
        yield Check("sensor", sensor.id, facts={"place": sensor.place, "quantity": sensor.quantity.value})
