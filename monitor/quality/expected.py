"""What the vessel's record lets each of her sensors say: which tests it gets, and their figures."""

from dataclasses import dataclass
from math import inf
from typing import Any

from monitor.model.equipment import Bilge, Sensor
from monitor.model.quantity import SPANS, Quantity
from monitor.model.vessel import Vessel
from monitor.quality.limits import LIMITS


@dataclass(frozen=True, slots=True)
class SensorTests:
    """The tests of one sensor, for one version of the record. A figure of infinity tests nothing.

    Attributes:
        quantity: what it measures.
        low: lowest value that does not fail.
        high: highest value that does not fail.
        cold: span of the cold half of the year; outside it a value is suspect.
        warm: span of the warm half.
        cold_is_north: whether the cold half is October to March.
        step: change that is free between two readings.
        rate_per_ms: change beside it, by their distance in time.
        falls_only: whether only falls are held against it.
        off_below: to and from below this any step is believed.
        spike: how far a value must leave both its neighbours to be a spike.
        near_ms: how far away a neighbour may be.
        high_m: high mark of the bilge: no habit makes a spike over it believable.
        pumped_below: below this a level may jump, because a pump is aboard.
        may_stick: whether a run of equal values is tested.
    """

    quantity: Quantity
    low: float
    high: float
    cold: tuple[float, float] = (-inf, inf)
    warm: tuple[float, float] = (-inf, inf)
    cold_is_north: bool = True
    step: float = inf
    rate_per_ms: float = 0.0
    falls_only: bool = False
    off_below: float = -inf
    spike: float = inf
    near_ms: float = inf
    high_m: float = inf
    pumped_below: float = -inf
    may_stick: bool = False


def expected_of(record: Vessel) -> dict[str, SensorTests]:
    """Give the tests of every sensor of a record, by id."""
    # Boats are laid up in autumn: that tells the hemisphere, which nothing else in the record does.
    north = not 3 <= record.laid_up.month <= 8  # noqa: PLR2004 - March to August
    nominal_v = {b.voltage_sensor: b.nominal_v for b in record.batteries}
    bilges = {b.level_sensor: b for b in record.bilges}
    found = {}
    for sensor in record.sensors:
        match sensor.quantity:
            case Quantity.TEMPERATURE:
                found[sensor.id] = _thermometer(sensor, north=north, outside=sensor.id == record.outside_sensor)
            case Quantity.LEVEL:
                found[sensor.id] = _level(sensor, bilges.get(sensor.id))
            case Quantity.VOLTAGE:
                found[sensor.id] = _volts(sensor, nominal_v.get(sensor.id, inf))
            case _:
                found[sensor.id] = _other(sensor)
    return found


def _thermometer(sensor: Sensor, *, north: bool, outside: bool) -> SensorTests:
    where = "outside" if outside else "space"
    cold_high, warm_high = (LIMITS["outside_cold_high"], LIMITS["outside_warm_high"]) if outside else (inf, inf)
    return SensorTests(
        **_span(sensor),
        cold=(LIMITS[f"{where}_cold_low"], cold_high),
        warm=(LIMITS[f"{where}_warm_low"], warm_high),
        cold_is_north=north,
        step=LIMITS["step_temperature"],
        rate_per_ms=LIMITS["rate_temperature"] / _HOUR_MS,
        falls_only=True,
        spike=LIMITS["spike_fall"],
        near_ms=_near_ms(sensor),
        may_stick=True,
    )


def _level(sensor: Sensor, bilge: Bilge | None) -> SensorTests:
    high_m = inf if bilge is None else bilge.high_m
    pumped = bilge is not None and (bilge.pump_lph is not None or bilge.pump_sensor is not None)
    return SensorTests(
        **_span(sensor),
        spike=LIMITS["spike_level"],
        near_ms=_near_ms(sensor),
        high_m=high_m,
        pumped_below=high_m if pumped else -inf,
        may_stick=True,
    )


def _volts(sensor: Sensor, nominal_v: float) -> SensorTests:
    usual = (-inf, LIMITS["volts_high"] * nominal_v)
    return SensorTests(
        **_span(sensor),
        cold=usual,
        warm=usual,
        step=LIMITS["step_volts"] * nominal_v,
        off_below=LIMITS["volts_off"] * nominal_v if nominal_v < inf else -inf,
        may_stick=True,
    )


def _other(sensor: Sensor) -> SensorTests:
    if sensor.quantity is Quantity.HUMIDITY:
        usual = (LIMITS["humidity_low"], inf)
        rate = LIMITS["rate_humidity"] / _HOUR_MS
        step = LIMITS["step_humidity"]
        return SensorTests(**_span(sensor), cold=usual, warm=usual, step=step, rate_per_ms=rate, may_stick=True)
    if sensor.quantity is Quantity.PRESSURE:
        usual = (LIMITS["pressure_low"], LIMITS["pressure_high"])
        rate = LIMITS["rate_pressure"] / _HOUR_MS
        return SensorTests(**_span(sensor), cold=usual, warm=usual, step=LIMITS["step_pressure"], rate_per_ms=rate)
    return SensorTests(**_span(sensor))


def _span(sensor: Sensor) -> dict[str, Any]:
    span = SPANS[sensor.quantity]
    return {"quantity": sensor.quantity, "low": span.low, "high": span.high}


def _near_ms(sensor: Sensor) -> float:
    return LIMITS["spike_near"] * sensor.interval_s * 1_000


_HOUR_MS = 3_600_000
