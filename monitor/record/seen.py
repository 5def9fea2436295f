"""What the sensors of a vessel will see, by her record: the counterpart of what they cannot (`blind.py`)."""

from collections.abc import Iterator

from monitor.model.equipment import Battery, Bilge, LiquidSystem, Sensor, SystemState
from monitor.model.vessel import Vessel
from monitor.rules.frost_point import system_point

MINUS = "\N{MINUS SIGN}"
_MINUTE_S, _HOUR_S = 60, 3_600
_WHY = {
    "treated": "watched at {at} less errors",
    "wet": "left wet, so watched at {at}",
    "not proven": "not proven, so watched at {at}",
}


def seen_aboard(record: Vessel) -> list[str]:
    """Give what will be seen aboard, one plain sentence each, in the order of `blind_spots`."""
    if not record.sensors:
        return []
    return [*_water(record), *_frost(record), *_power(record), *_air(record)]


def _water(record: Vessel) -> Iterator[str]:
    for bilge in record.bilges:
        parts = list(_of_bilge(record, bilge))
        if parts:
            yield f"{bilge.name}: {', '.join(parts)}."


def _of_bilge(record: Vessel, bilge: Bilge) -> Iterator[str]:
    level = record.sensor(bilge.level_sensor or "")
    if level is not None:
        yield f"level {every(level)}"
    if bilge.float_sensor is not None:
        yield "float at once"
    if bilge.pump_sensor is not None:
        yield "pump whenever it runs"


def _frost(record: Vessel) -> Iterator[str]:
    for system in record.liquid_systems:
        sentence = _of_system(record, system)
        if sentence:
            yield f"{system.name}: {sentence}."


def _of_system(record: Vessel, system: LiquidSystem) -> str:
    point = system_point(system)
    if point is None:
        return "drained, every drain probed, so there is nothing in it to freeze"
    probe = record.sensor(system.sensor or "") or record.sensor(record.outside_sensor or "")
    if probe is None:
        return ""  # nobody sees it: `blind_spots` says so
    how, freeze_degc, _ = point
    if system.state is SystemState.DRAINED:
        missed = sum(not drain.probed for drain in system.drains)
        said = f"{missed} of its drains not probed, so watched at {_degc(freeze_degc)}"
    else:
        said = _WHY[how].format(at=_degc(freeze_degc))
    return f"{said}, by {'its own probe' if system.sensor else 'the outside air'} {every(probe)}"


def _power(record: Vessel) -> Iterator[str]:
    for battery in record.batteries:
        volts = record.sensor(battery.voltage_sensor or "")
        if volts is not None:
            yield f"{battery.name}: volts {every(volts)}{_warmth(record, battery)}."
    if record.shore_power.mains_sensor is not None:
        yield (
            "Shore power: on or off, at once."
            if record.shore_power.on
            else "Shore power: its sensor is heard, and it was left off."
        )


def _warmth(record: Vessel, battery: Battery) -> str:
    beside = record.sensor(battery.temperature_sensor or "")
    return "" if beside is None else f", its temperature {every(beside)}"


def _air(record: Vessel) -> Iterator[str]:
    for space in record.spaces:
        humidity = record.sensor(space.humidity_sensor)
        if humidity is not None:
            more = ", with the outside air condensation too" if record.outside_sensor is not None else ""
            yield f"{space.name}: damp and mould by its humidity {every(humidity)}{more}."


def every(sensor: Sensor) -> str:
    """Say how often a sensor reports.

    >>> from monitor.model.equipment import Supply
    >>> probe = Sensor(id="a", quantity="level", place="bilge", interval_s=3600, supply=Supply.OWN_CELL)
    >>> [every(probe.model_copy(update={"interval_s": s})) for s in (3600, 600, 90)]
    ['every hour', 'every 10 minutes', 'every 90 s']
    """
    seconds = sensor.interval_s
    for length_s, one, many in ((_HOUR_S, "hour", "hours"), (_MINUTE_S, "minute", "minutes")):
        count, rest = divmod(seconds, length_s)
        if count and not rest:
            return f"every {one}" if count == 1 else f"every {count:.0f} {many}"
    return f"every {seconds:g} s"


def _degc(value: float) -> str:
    return f"{value + 0.0:g} °C".replace("-", MINUS)  # never minus nought
