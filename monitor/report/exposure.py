"""How long and how deep each liquid system lay at or below what it is proven to, from hourly means of its thermometer.

An hour counts where its mean lies at or below the limit; its degree-hours are the limit less that mean. An hour whose
mean lies above can have been below for minutes: those are counted beside it, by their lowest reading. Where nothing was
heard, nothing is counted: the true figure can only be larger.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from monitor.model.scale import Flag
from monitor.model.vessel import Vessel
from monitor.model.views import Buckets, ReadingView
from monitor.rules.frost_point import system_point

HOUR_MS = 3_600_000
FREEZING_DEGC = 0.0


@dataclass(frozen=True, slots=True)
class Below:
    """One system against one limit.

    Attributes:
        system: its name.
        how: how it was left.
        limit_degc: the limit.
        hours: hours whose mean was at or below it.
        degree_hours: limit less mean, summed over those, K h.
        touched: hours of which at least one reading was at or below it.
        lowest_degc: the lowest reading of the span, None where none was believed.
        lowest_ms: the hour of it.
        heard: hours of which a reading was believed.
        doubted: hours among them of which a reading was suspect or failed.
        stands_in: whether the outside air stood in for a thermometer of its own.
    """

    system: str
    how: str
    limit_degc: float
    hours: int
    degree_hours: float
    touched: int
    lowest_degc: float | None
    lowest_ms: int | None
    heard: int
    doubted: int
    stands_in: bool


def hourly(readings: ReadingView, vessel: str, sensor: str, from_ms: int, to_ms: int) -> Buckets:
    """Give a sensor's hours of a span."""
    return readings.buckets(vessel, sensor, from_ms, to_ms, -(-(to_ms - from_ms) // HOUR_MS))


def exposures(record: Vessel, readings: ReadingView, from_ms: int, to_ms: int) -> Iterator[Below]:
    """Hold each system that can freeze against its freezing point, and a treated one against 0 degC as well."""
    for system in record.liquid_systems:
        sensor, point = system.sensor or record.outside_sensor, system_point(system)
        if point is None or sensor is None:
            continue
        how, freeze_degc, _ = point
        hours = hourly(readings, record.id, sensor, from_ms, to_ms)
        for limit in dict.fromkeys((freeze_degc, FREEZING_DEGC) if how == "treated" else (freeze_degc,)):
            yield below(system.name, how, limit, hours, stands_in=system.sensor is None)


def below(system: str, how: str, limit_degc: float, hours: Buckets, *, stands_in: bool) -> Below:
    """Hold a thermometer's hours against a limit."""
    believed = [(b.start_ms, b.low, b.mean, b.worst) for b in hours.buckets if b.low is not None and b.mean is not None]
    deep = [limit_degc - mean for _, _, mean, _ in believed if mean <= limit_degc]
    lowest = min(((low, at) for at, low, _, _ in believed), default=(None, None))
    return Below(
        system,
        how,
        limit_degc,
        len(deep),
        sum(deep),
        sum(low <= limit_degc for _, low, _, _ in believed),
        lowest[0],
        lowest[1],
        len(believed),
        sum(worst >= Flag.SUSPECT for *_, worst in believed),
        stands_in,
    )
