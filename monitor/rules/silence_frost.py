"""How soon frost could harm a boat that is not heard: from her record, the forecast, and the air when she was heard.

A boat ashore with nothing aboard that frost can harm waits for the morning's round. One with a wet or weak liquid
system does not, where it freezes or is going to.
"""

from dataclasses import dataclass, field

from monitor.model.equipment import LiquidSystem, SystemState
from monitor.model.reading import Reading
from monitor.model.surroundings import Forecast
from monitor.model.vessel import Vessel
from monitor.rules.rule import HOUR_MS
from monitor.rules.silence_limits import LIMITS

_WATER_FREEZES_DEGC = 0.0


@dataclass(slots=True)
class Outside:
    """What was heard of outside air, bounded to about a day.

    Attributes:
        last_ms: when it was last believably heard, None before.
        last_degc: what it was.
        lows: the coldest of each block of hours, as (number of the block, degC), oldest first.
    """

    last_ms: int | None = None
    last_degc: float = 0.0
    lows: list[tuple[int, float]] = field(default_factory=list)


def hear_outside(outside: Outside, reading: Reading) -> None:
    """Take a believable reading of outside air."""
    at, degc = reading.event_ms, reading.value
    if outside.last_ms is not None and at < outside.last_ms:
        return
    outside.last_ms, outside.last_degc = at, degc
    number, lows = at // _BLOCK_MS, outside.lows
    if lows and lows[-1][0] == number:
        lows[-1] = (number, min(lows[-1][1], degc))
    else:
        outside.lows = [low for low in lows if low[0] >= number - _BLOCKS] + [(number, degc)]


def weakest_degc(record: Vessel) -> float | None:
    """Give the temperature at which the first of her liquid systems could freeze, None where nothing can."""
    points = [_freezes_at(system) for system in record.liquid_systems]
    return max((point for point in points if point is not None), default=None)


def frost_limit(
    record: Vessel, outside: Outside, forecast: Forecast | None, from_ms: int, *, supposes: bool = True
) -> str | None:
    """Name the limit that frost sets on her silence.

    Args:
        record: the vessel's record.
        outside: outside air as last heard.
        forecast: what is foretold.
        from_ms: since when she is silent. The answer goes by that time alone, so that it does not move with the clock.
        supposes: whether an ordinary frost is supposed where nothing is known of the air.

    Returns:
        ``gateway_frost_now``, ``gateway_frost_coming``, or None where no frost is near enough to harm her.
    """
    weakest = weakest_degc(record)
    if weakest is None or not record.mode.is_laid_up:
        return None
    limit = weakest + LIMITS["frost_room"]
    heard = outside.last_ms is not None and outside.last_ms >= from_ms - LIMITS.ms("outside_fresh")
    if heard and outside.last_degc <= limit:
        return "gateway_frost_now"
    coldest = _coldest_ahead(outside, forecast, from_ms)
    if coldest is None:
        if not supposes:
            return None
        coldest = LIMITS["frost_unknown"]
    return "gateway_frost_coming" if coldest <= limit else None


def _coldest_ahead(outside: Outside, forecast: Forecast | None, from_ms: int) -> float | None:
    """Give the coldest of the coming day: as foretold, else as the day before was, None where neither is known."""
    until_ms = from_ms + LIMITS.ms("frost_ahead")
    if forecast is not None and forecast.covers(from_ms, until_ms):
        return min(h.degc for h in forecast.hours if from_ms - HOUR_MS <= h.at_ms <= until_ms + HOUR_MS)
    oldest = (from_ms - LIMITS.ms("frost_ahead")) // _BLOCK_MS
    return min((degc for number, degc in outside.lows if number >= oldest), default=None)


def can_freeze(system: LiquidSystem) -> bool:
    """Say whether there may be anything in a liquid system that frost could reach."""
    return system.state is not SystemState.DRAINED or not all(drain.probed for drain in system.drains)


def _freezes_at(system: LiquidSystem) -> float | None:
    if not can_freeze(system):
        return None
    return system.tested_freeze_degc if system.state is SystemState.TREATED else _WATER_FREEZES_DEGC


_BLOCK_MS = LIMITS.ms("outside_block")
_BLOCKS = LIMITS.ms("frost_ahead") // _BLOCK_MS
