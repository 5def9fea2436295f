"""How long a space's coldest surface was wet, and how far mould came: the damp rule's reckoning over heard hours."""

from collections.abc import Iterator
from dataclasses import dataclass

from monitor.model.equipment import Space
from monitor.model.vessel import Vessel
from monitor.model.views import ReadingView
from monitor.record.gate_spans import spans
from monitor.report.exposure import HOUR_MS, hourly
from monitor.report.winter import Winter
from monitor.rules.damp_mould import Growth, grow
from monitor.rules.damp_surface import air_hour


@dataclass(frozen=True, slots=True)
class Damp:
    """One space over a span in which its record did not change.

    Attributes:
        space: its name.
        from_ms: the begin of the span.
        to_ms: its end.
        known: hours in which its humidity, its temperature and the one outside were all believed.
        wet: hours among them in which its coldest surface was below the dew point of its air.
        mould: the highest mould index reached.
    """

    space: str
    from_ms: int
    to_ms: int
    known: int
    wet: int
    mould: float


def damp(winter: Winter, readings: ReadingView) -> Iterator[Damp]:
    """Go through the spaces whose coldest surface can be reckoned."""
    vessel = winter.stored.vessel.id
    for (space, outside), from_ms, to_ms in spans(winter.versions, winter.from_ms, winter.to_ms, _spaces):
        rh, degc, cold = (
            {b.start_ms: b.mean for b in hourly(readings, vessel, sensor, from_ms, to_ms, winter.from_ms)}
            for sensor in (space.humidity_sensor, space.temperature_sensor, outside)
        )
        known, wet, growth, highest = 0, 0, Growth(), 0.0
        for at in sorted(rh.keys() & degc.keys() & cold.keys()):
            means = rh[at], degc[at], cold[at]
            if means[0] is None or means[1] is None or means[2] is None:
                continue
            hour = air_hour(at // HOUR_MS, 1, means[0], means[1], means[2], space.surface_factor)
            known += 1
            wet += hour.surface_degc < hour.dew_degc
            grow(growth, hour, space.mould_class)
            highest = max(highest, growth.mould.index)
        yield Damp(space.name, from_ms, to_ms, known, wet, highest)


def _spaces(record: Vessel) -> Iterator[tuple[str, tuple[Space, str]]]:
    for space in record.spaces:
        if record.outside_sensor is not None:
            yield space.id, (space, record.outside_sensor)
