"""Whether frost comes while her heater is off, for what she holds that cannot bear it."""

from dataclasses import dataclass

from monitor.model.equipment import LiquidSystem, SystemState
from monitor.model.reading import Seen
from monitor.model.surroundings import Forecast
from monitor.model.vessel import Vessel
from monitor.rules.power_limits import LIMITS


@dataclass(frozen=True, slots=True)
class ColdAhead:
    """The coldest outside air of the coming day: how cold, and when harm may begin (ms UTC; None: not foretold)."""

    degc: float
    begins_ms: int | None


def unharmed_above_degc(record: Vessel) -> float | None:
    """Give the outside air above which she needs no heat, None where she has no heater on or nothing that needs it."""
    if record.heater is None or not record.heater.on:
        return None
    return max((degc for s in record.liquid_systems if (degc := _bears(s)) is not None), default=None)


def cold_ahead(forecast: Forecast | None, outside: Seen | None, now_ms: int, unharmed_degc: float) -> ColdAhead | None:
    """Find the coldest of the coming day by the forecast, else by the thermometer outside; None where neither tells."""
    until_ms = now_ms + LIMITS.ms("frost_ahead")
    hours = [] if forecast is None else [h for h in forecast.hours if now_ms <= h.at_ms <= until_ms]
    if hours:
        begins = next((h.at_ms for h in hours if h.degc <= unharmed_degc), None)
        return ColdAhead(min(h.degc for h in hours), begins)
    if outside is None or now_ms - outside.at_ms > LIMITS.ms("outside_stale"):
        return None
    return ColdAhead(outside.value - LIMITS["frost_falls"], None)


def _bears(system: LiquidSystem) -> float | None:
    if system.state is SystemState.DRAINED and all(drain.probed for drain in system.drains):
        return None
    if system.state is SystemState.TREATED and system.tested_freeze_degc is not None:
        return system.tested_freeze_degc + LIMITS["frost_margin"]
    return LIMITS["frost_wet"]
