"""What aboard can freeze, and at what temperature, as the lay-up record has it."""

from collections.abc import Iterator
from dataclasses import dataclass, field

from monitor.model.equipment import Battery, Chemistry, LiquidSystem, Sensor
from monitor.model.vessel import Vessel
from monitor.rules.frost_advice import Advice, advice_on
from monitor.rules.frost_point import system_point
from monitor.rules.rule import SECOND_MS

STALE_INTERVALS = 3


@dataclass(frozen=True, slots=True)
class Freezable:
    """One thing aboard that can freeze, as the record has it.

    Attributes:
        how: ``treated``, ``wet``, ``not proven`` or ``battery``.
        freeze_degc: where it freezes; for a battery it follows the volts and this is None.
        error_k: error of that figure.
        own_probe: whether the thermometer is its own or the outside air's stands in.
        interval_ms: how often the thermometer reports, 0 where there is none.
        advice: what to do about it, from the record.
    """

    subject: str
    name: str
    how: str
    sensor: str | None
    sensor_error_k: float
    own_probe: bool
    freeze_degc: float | None
    error_k: float
    interval_ms: int = 0
    battery: Battery | None = None
    advice: Advice = field(default_factory=Advice)


def freezables(record: Vessel, battery_error_k: float) -> Iterator[Freezable]:
    """Give everything aboard that can freeze; what has no thermometer of its own is judged by the outside air.

    Args:
        record: the lay-up record.
        battery_error_k: error of a battery's freezing point found from its volts, K.
    """
    yield from liquid_freezables(record)
    for battery in record.batteries:
        if battery.chemistry is not Chemistry.LIFEPO4 and battery.voltage_sensor is not None:
            yield _freezable(record, battery, "battery", None, battery_error_k)


def liquid_freezables(record: Vessel) -> Iterator[Freezable]:
    """Give every liquid system that can freeze; each has its freezing point."""
    for system in record.liquid_systems:
        point = system_point(system)
        if point is not None:
            how, freeze, error = point
            yield _freezable(record, system, how, freeze, error)


def _freezable(
    record: Vessel, thing: LiquidSystem | Battery, how: str, freeze_degc: float | None, error_k: float
) -> Freezable:
    own = thing.temperature_sensor if isinstance(thing, Battery) else thing.sensor
    sensor = own or record.outside_sensor
    known: Sensor | None = record.sensor(sensor) if sensor else None
    return Freezable(
        subject=thing.id,
        name=thing.name,
        how=how,
        sensor=sensor,
        sensor_error_k=0.0 if known is None else known.accuracy,
        own_probe=own is not None,
        freeze_degc=freeze_degc,
        error_k=error_k,
        interval_ms=0 if known is None else round(known.interval_s * SECOND_MS),
        battery=thing if isinstance(thing, Battery) else None,
        advice=advice_on(record, thing, how),
    )
