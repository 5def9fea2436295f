"""The coldest that is known of at a boat's liquid system: heard since her lay-up, and foretold by a standing alert."""

from monitor.model.alert import Alert
from monitor.model.equipment import LiquidSystem
from monitor.model.vessel import Vessel
from monitor.model.views import VesselNow
from monitor.record.coolant_cover import Cold
from monitor.web.deps import Deps

WINTER_BUCKETS = 400
_FROST, _LOW_END = "frost", "foretold_low_degc"


def coldest_known(deps: Deps, now: VesselNow, system: LiquidSystem) -> Cold:
    """Give the coldest that is known of at a system."""
    record = now.stored.vessel
    sensor = record.sensor(system.sensor or record.outside_sensor or "")
    heard = None if sensor is None else _lowest(deps, record, sensor.id)
    return Cold(
        heard,
        own=system.sensor is not None,
        error_k=0.0 if sensor is None else sensor.accuracy,
        foretold_degc=_foretold(now.alerts, system.id),
    )


def _lowest(deps: Deps, record: Vessel, sensor: str) -> float | None:
    """Give a thermometer's lowest believable reading since the lay-up."""
    to_ms = deps.now_ms() + 1
    from_ms = min(round(record.laid_up.timestamp() * 1000), to_ms - 1)
    found = deps.readings.buckets(record.id, sensor, from_ms, to_ms, WINTER_BUCKETS).buckets
    return min((bucket.low for bucket in found if bucket.low is not None), default=None)


def _foretold(alerts: list[Alert], system: str) -> float | None:
    told = [
        alert.finding.facts.get(_LOW_END)
        for alert in alerts
        if alert.rule == _FROST and alert.subject == system and not alert.finding.over
    ]
    return min((float(low) for low in told if isinstance(low, int | float)), default=None)
