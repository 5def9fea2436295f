"""Reads a vessel's launch gate as it stands, for pages, API and command line alike."""

from collections.abc import Sequence
from datetime import timedelta
from zoneinfo import ZoneInfo

from monitor.model.alert import Alert
from monitor.model.quantity import Quantity
from monitor.model.vessel import Vessel
from monitor.model.views import AlertView, ReadingView, RecordView
from monitor.record.gate import Gate, Winter, gate_of, laid_up_ms
from monitor.record.gate_dry import Point, bilge_sensors, slings_from

MINUTE_MS = 60_000
SLINGS_LOOKED_MS = round(timedelta(hours=12) / timedelta(milliseconds=1))
"""So long her bilges are read after she was said to be in the slings: a boat hangs there for minutes, or a tide."""
MOST_ALERTS = 2_000
WINTER_BUCKETS = 400
SLINGS_BUCKETS = SLINGS_LOOKED_MS // MINUTE_MS + 1


def read_gate(
    vessel: str, records: RecordView, readings: ReadingView, alerts: AlertView, now_ms: int, zone: ZoneInfo
) -> Gate | None:
    """Give a vessel's launch gate, None where there is no such vessel."""
    versions = records.versions(vessel)
    if not versions:
        return None
    record, words = versions[0].vessel, records.gate_words(vessel)
    since_ms = laid_up_ms(record)
    this_spring = [word for word in words if word.at_ms >= since_ms]
    slings = slings_from(this_spring)
    return gate_of(
        Winter(
            versions=versions,
            alerts=_alerts(alerts, vessel, since_ms, now_ms),
            lowest_degc=_lowest(readings, record, since_ms, now_ms),
            words=words,
            bilges={} if slings is None else _bilges(readings, record, slings.at_ms, now_ms),
            now_ms=now_ms,
            zone=zone,
        )
    )


def _alerts(alerts: AlertView, vessel: str, since_ms: int, now_ms: int) -> Sequence[Alert]:
    return alerts.alerts_between(vessel, since_ms, now_ms + 1, MOST_ALERTS)


def _lowest(readings: ReadingView, record: Vessel, since_ms: int, now_ms: int) -> dict[str, float]:
    """Give the lowest believable reading of each thermometer that a liquid system is watched by."""
    wanted = {system.sensor or record.outside_sensor for system in record.liquid_systems} - {None}
    lowest: dict[str, float] = {}
    for sensor in record.sensors:
        if sensor.id not in wanted or sensor.quantity is not Quantity.TEMPERATURE:
            continue
        found = readings.buckets(record.id, sensor.id, since_ms, now_ms + 1, WINTER_BUCKETS).buckets
        lows = [bucket.low for bucket in found if bucket.low is not None]
        if lows:
            lowest[sensor.id] = min(lows)
    return lowest


def _bilges(readings: ReadingView, record: Vessel, slings_ms: int, now_ms: int) -> dict[str, list[Point]]:
    """Give each bilge sensor's minutes in the slings; the minute in which it was said is not counted."""
    from_ms = (slings_ms + MINUTE_MS - 1) // MINUTE_MS * MINUTE_MS
    to_ms = min(now_ms + 1, from_ms + SLINGS_LOOKED_MS)
    found: dict[str, list[Point]] = {}
    for sensor in bilge_sensors(record) if to_ms > from_ms else ():
        summed = readings.buckets(record.id, sensor, from_ms, to_ms, SLINGS_BUCKETS)
        if summed.step_ms == MINUTE_MS:  # in hours, what came before she floated stands in the same sum
            found[sensor] = [
                Point(b.start_ms, b.low, b.high) for b in summed.buckets if b.low is not None and b.high is not None
            ]
    return found
