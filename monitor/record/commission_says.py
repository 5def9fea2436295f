"""Proving sensors by hand in words: what to do, what not to, and what is missing until she is watched."""

from collections.abc import Iterable

from monitor.model.equipment import Sensor
from monitor.model.proof import ProofWay
from monitor.model.quantity import Quantity
from monitor.model.vessel import Vessel
from monitor.record.checks import is_afloat, stands_ashore
from monitor.record.commission import Want, WatchState, is_on_pump

CALLED = {
    Quantity.TEMPERATURE: "thermometer",
    Quantity.HUMIDITY: "humidity sensor",
    Quantity.LEVEL: "level sensor",
    Quantity.FLOAT_SWITCH: "float switch",
    Quantity.VOLTAGE: "voltage sensor",
    Quantity.CURRENT: "current sensor",
    Quantity.MAINS: "mains sensor",
    Quantity.PRESSURE: "pressure sensor",
    Quantity.CELL: "sensor's own cell",
}
_DO = {
    ProofWay.LIFTED: "Lift the float by hand and hold it up until its sensor says so.",
    ProofWay.DIPPED: "Dip the bilge where the sensor is, with a clean stick, and write down how high the water stands.",
    ProofWay.ICE_WATER: "Hold the probe in a glass of ice and water. Stir, and wait two minutes.",
    ProofWay.IN_THE_HAND: "Close your hand round the dry probe and hold it until its sensor has risen.",
    ProofWay.DAMP_CLOTH: "Lay a damp, not dripping, cloth round the sensor and wait five minutes.",
    ProofWay.MULTIMETER: "Measure at the same two posts with a multimeter and write the volts down.",
    ProofWay.LEAD_PULLED: "Pull the shore lead, and wait until the sensor says that the mains are off.",
    ProofWay.COMPARED: "Read another instrument at the same place and time, and write down what it says.",
}
_PUMP = "Run the bilge pump by its switch, and wait until the sensor says that there is power on its lead."
_CAUTIONS = {
    ProofWay.LIFTED: "A lifted float rings duty as water would: tell them before, and let it down again after.",
    ProofWay.MULTIMETER: "No spark near a battery: probes only, nothing laid across the posts, no ring on your hand.",
    ProofWay.LEAD_PULLED: "At the post first, then at the boat; dry hands. Put it back the other way round.",
}
NEVER_ALONE = "She is afloat: never alone aboard. Somebody stands on the pontoon and knows that you are there."
ON_A_LADDER = "She stands ashore: tie the ladder before you climb."


def called(sensor: Sensor) -> str:
    """Name a sensor for people: what it is and where."""
    return f"{CALLED[sensor.quantity]}, {sensor.place}"


def do_of(record: Vessel, want: Want) -> str:
    """Say what to do for a proof."""
    return _PUMP if want.way is ProofWay.COMPARED and is_on_pump(record, want.sensor) else _DO[want.way]


def caution_of(want: Want) -> str:
    """Say what not to do with it; empty where there is nothing."""
    return _CAUTIONS.get(want.way, "")


def cautions_of(record: Vessel) -> tuple[str, ...]:
    """Say what to keep to aboard her."""
    said = ((is_afloat(record), NEVER_ALONE), (stands_ashore(record), ON_A_LADDER))
    return tuple(text for holds, text in said if holds)


def missing_words(missing: Iterable[Want]) -> list[str]:
    """Give what is missing, a line each: the sensor, and how it is to be proved."""
    return [f"{called(want.sensor)}: {want.way.value}" for want in missing]


def state_words(state: WatchState) -> str:
    """Say whether she is watched, in a sentence without a full stop."""
    if state.is_whole:
        return "Her sensors are proved and the yard has taken the watch on"
    until = missing_words(state.missing)
    until += [f"{bilge.name}: its zero set" for bilge in state.zeros if bilge.level_sensor is None]
    if state.taken_on is None:
        return "Not watched until: " + "; ".join([*until, "the duty phone rung, and the yard takes the watch on"])
    return "Watched, but not proved: " + "; ".join(until)


def short_words(record: Vessel, state: WatchState) -> str:
    """Say on her line why she is not called quiet; empty where nothing of it keeps her from that."""
    if not record.mode.is_laid_up or not record.sensors or state.is_whole:
        return ""
    if state.taken_on is None:
        nobody = not any(want.proof is not None for want in state.wants)
        if nobody:
            return "Not watched yet: nobody has proved her sensors"
        if state.missing:
            return f"Not watched yet: {_sensors(state.missing)} to prove"
        return "Not watched yet: nobody has taken the watch on"
    if state.zeros:
        more = len(state.zeros) - 1
        return f"{state.zeros[0].name}: its zero is not set since she was moved" + (
            f", and {more} more" if more else ""
        )
    more = len({want.sensor.id for want in state.missing}) - 1
    return f"Not proved: {called(state.missing[0].sensor)}" + (f", and {more} more" if more else "")


def _sensors(missing: Iterable[Want]) -> str:
    count = len({want.sensor.id for want in missing})
    return "1 sensor" if count == 1 else f"{count} sensors"
