"""What of a boat is held against which limits: frost, volts, damp air, water, by the limits of rules and charts."""

from collections.abc import Callable, Iterable, Iterator

from monitor.charts.limit_lines import half_charged
from monitor.model.equipment import Battery, Chemistry
from monitor.model.vessel import Vessel
from monitor.model.views import Bucket, ReadingView
from monitor.record.gate_spans import spans
from monitor.record.gate_stood import stood
from monitor.report.exposure import Beyond, Held, beyond, hourly
from monitor.report.winter import Winter
from monitor.rules.battery_limits import LIMITS as BATTERY
from monitor.rules.damp_limits import LIMITS as DAMP

FREEZING_DEGC = 0.0
_OF_12_V = 12.0


def frost(winter: Winter, readings: ReadingView) -> Iterator[Beyond]:
    """Hold each system that can freeze against its freezing point, and a treated one against 0 degC as well."""
    vessel = winter.stored.vessel.id
    for one in stood(winter.versions, winter.from_ms, winter.to_ms):
        hours = hourly(readings, vessel, one.sensor, one.from_ms, one.to_ms, winter.from_ms)
        stands_in = " (outside air stands in)" if one.stands_in else ""
        for limit in dict.fromkeys((one.freeze_degc, FREEZING_DEGC) if one.how == "treated" else (one.freeze_degc,)):
            held = Held(f"{one.name}, {one.how}{stands_in}", one.sensor, limit + 0.0)
            yield beyond(held, hours, one.from_ms, one.to_ms)


def volts(winter: Winter, readings: ReadingView) -> Iterator[Beyond]:
    """Hold each battery's volts against half a charge at rest, and against empty."""
    yield from _held(winter, readings, _volts)


def air(winter: Winter, readings: ReadingView) -> Iterator[Beyond]:
    """Hold each space's humidity against what its dehumidifier holds, and against where mould can grow."""
    yield from _held(winter, readings, _air)


def water(winter: Winter, readings: ReadingView) -> Iterator[Beyond]:
    """Hold each bilge's level against its high mark, and its float switch against being up."""
    yield from _held(winter, readings, _water)


def _held(winter: Winter, readings: ReadingView, of: Callable[[Vessel], Iterable[Held]]) -> Iterator[Beyond]:
    vessel = winter.stored.vessel.id
    known: dict[tuple[str, int, int], list[Bucket]] = {}

    def keyed(record: Vessel) -> Iterator[tuple[str, Held]]:
        for held in of(record):
            yield f"{held.sensor} {held.what} {held.limit_words}", held

    for held, from_ms, to_ms in spans(winter.versions, winter.from_ms, winter.to_ms, keyed):
        key = held.sensor, from_ms, to_ms
        if key not in known:
            known[key] = hourly(readings, vessel, held.sensor, from_ms, to_ms, winter.from_ms)
        yield beyond(held, known[key], from_ms, to_ms)


def _volts(record: Vessel) -> Iterator[Held]:
    for battery in record.batteries:
        if battery.voltage_sensor is not None:
            for limit_v, words in _limits_v(battery):
                yield Held(battery.name, battery.voltage_sensor, limit_v, words)


def _limits_v(battery: Battery) -> Iterator[tuple[float, str]]:
    scale = battery.nominal_v / _OF_12_V
    if battery.chemistry is Chemistry.LIFEPO4:
        yield BATTERY["lithium_low"] * scale, "low"
        yield BATTERY["lithium_empty"] * scale, "nearly empty"
        return
    yield from ((line.value, "half charged, rested") for line in half_charged([battery]))
    yield BATTERY["empty"] * scale, "empty"


def _air(record: Vessel) -> Iterator[Held]:
    dryer = record.dehumidifier
    for space in record.spaces:
        if dryer is not None and dryer.running and dryer.space == space.id:
            yield Held(space.name, space.humidity_sensor, dryer.hold_below_rh, "dehumidifier holds below", above=True)
        yield Held(space.name, space.humidity_sensor, DAMP["mould_rh"], "mould can grow from", above=True)


def _water(record: Vessel) -> Iterator[Held]:
    for bilge in record.bilges:
        if bilge.level_sensor is not None:
            yield Held(bilge.name, bilge.level_sensor, bilge.high_m, "high mark", above=True)
        if bilge.float_sensor is not None:
            yield Held(bilge.name, bilge.float_sensor, 1.0, "float switch up", above=True)
