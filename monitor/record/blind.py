"""What the sensors of a vessel cannot see, by her record: said before the winter, not found out in it."""

from collections.abc import Iterator

from monitor.model.equipment import Chemistry, SystemState
from monitor.model.vessel import Mode, Vessel
from monitor.rules.bilge import RISE_COUNTS

_DOES = {
    Mode.IN_COMMISSION: "in commission",
    Mode.LAYING_UP: "being laid up",
    Mode.MOVING: "on the move",
    Mode.IN_SLINGS: "in the slings",
    Mode.WORK_ABOARD: "worked on",
}


def blind_spots(record: Vessel) -> list[str]:
    """Give what nobody will see aboard, one plain sentence each, most dangerous first."""
    if not record.sensors:
        return ["No sensors are recorded: nothing aboard is watched."]
    return [*_water(record), *_frost(record), *_power(record), *_air(record)]


def _water(record: Vessel) -> Iterator[str]:
    afloat = record.mode in {Mode.AFLOAT_LAID_UP, Mode.FIRST_24_H_AFLOAT}
    if not record.bilges:
        yield "No bilge is recorded: water in her will not be seen."
    elif record.mode not in RISE_COUNTS and record.mode is not Mode.ASHORE_BUNG_OUT:
        yield f"By her record she is {_DOES[record.mode]}: rising water is told only at its high mark or at the float."
    for bilge in record.bilges:
        if bilge.zero_wanted:
            yield f"{bilge.name}: its zero was not set since she was moved, so its level may be wrong."
        if bilge.level_sensor is None and bilge.float_sensor is None:
            yield f"{bilge.name}: no level and no float switch, so water there will not be seen."
        elif afloat and bilge.float_sensor is None:
            yield f"{bilge.name}: no float switch, so a fast leak is seen only at the next reading of the level."
        elif bilge.level_sensor is None:
            yield f"{bilge.name}: no level, so a slow leak is seen only when it lifts the float."
        elif record.mode is Mode.ASHORE_BUNG_OUT:
            yield f"{bilge.name}: the bung is out, so a level that does not rise proves nothing."


def _frost(record: Vessel) -> Iterator[str]:
    for system in record.liquid_systems:
        if system.state is SystemState.DRAINED and all(drain.probed for drain in system.drains):
            continue
        if system.sensor is None and record.outside_sensor is None:
            yield f"{system.name}: no thermometer near it, so frost in it will not be seen."
        elif system.sensor is None:
            yield f"{system.name}: no thermometer of its own; the outside air stands in, and errs to the cold."


def _power(record: Vessel) -> Iterator[str]:
    for battery in record.batteries:
        if battery.voltage_sensor is None:
            yield f"{battery.name}: its volts are not measured, so its charge is not known."
        elif battery.chemistry is Chemistry.LIFEPO4:
            yield f"{battery.name}: the volts of a lithium battery do not tell its charge between 40 and 70 %."
    if record.shore_power.on and record.shore_power.mains_sensor is None:
        yield "Shore power was left on and no sensor sees it: its loss shows only in what it fed."


def _air(record: Vessel) -> Iterator[str]:
    if not record.spaces:
        yield "No humidity is measured: damp and mould will not be seen."
    elif record.outside_sensor is None:
        yield "No outside thermometer: the coldest surface inside is not known, nor is condensation on it."
