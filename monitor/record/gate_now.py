"""Reads a vessel's launch gate as it stands, for pages, API, report and command line alike."""

from collections.abc import Iterator, Sequence
from datetime import timedelta
from zoneinfo import ZoneInfo

from monitor.model.scale import Flag
from monitor.model.vessel import Vessel
from monitor.model.views import AlertView, ReadingView, RecordView, StoredRecord
from monitor.record.gate import Gate, Winter, gate_of
from monitor.record.gate_dry import Point, bilge_sensors, records_since, slings_from
from monitor.record.gate_season import Season, season_of
from monitor.record.gate_stood import Cold, Stood, cold, stood

MINUTE_MS = 60_000
HOUR_MS = 60 * MINUTE_MS
SLINGS_LOOKED_MS = round(timedelta(hours=12) / timedelta(milliseconds=1))
"""So long her bilges are read after she was said to be in the slings: a boat hangs there for minutes, or a tide."""
MOST_ALERTS = 100_000
SLINGS_BUCKETS = SLINGS_LOOKED_MS // MINUTE_MS + 1


def read_gate(
    vessel: str, records: RecordView, readings: ReadingView, alerts: AlertView, now_ms: int, zone: ZoneInfo
) -> Gate | None:
    """Give a vessel's launch gate, None where there is no such vessel."""
    versions = records.versions(vessel)
    return None if not versions else gate_at(versions, records, readings, alerts, now_ms, zone)


def gate_at(
    versions: Sequence[StoredRecord],
    records: RecordView,
    readings: ReadingView,
    alerts: AlertView,
    now_ms: int,
    zone: ZoneInfo,
    said_to_ms: int | None = None,
) -> Gate:
    """Give a launch gate as it stood at a time.

    Args:
        versions: those of her record that there were then, newest first, at least one.
        records: what was said at her gate.
        readings: what her sensors said.
        alerts: her alerts.
        now_ms: the time.
        zone: the yard's.
        said_to_ms: what people said till then counts; None is till that time.
    """
    season = season_of(versions, now_ms)
    record = season.record
    till_ms = now_ms if said_to_ms is None else said_to_ms
    words = [word for word in records.gate_words(record.id) if word.at_ms <= till_ms]
    slings = slings_from([word for word in words if word.at_ms >= season.said_from_ms])
    bilges = {}
    if slings is not None:
        bilges = _bilges(readings, record.id, records_since(season.versions, slings), slings.at_ms, till_ms)
    return gate_of(
        Winter(
            season=season,
            alerts=alerts.alerts_between(record.id, season.from_ms, now_ms + 1, MOST_ALERTS),
            cold=list(_cold(readings, season, record.id, now_ms)),
            words=words,
            bilges=bilges,
            now_ms=now_ms,
            zone=zone,
        )
    )


def _cold(readings: ReadingView, season: Season, vessel: str, now_ms: int) -> Iterator[Cold]:
    """Give how cold each system was while it stood as it did, by the believable readings of its thermometer."""
    for one in stood(season.versions, season.from_ms, now_ms + 1):
        found = cold(one, _lows(readings, vessel, one, first=one.from_ms == season.from_ms))
        if found is not None:
            yield found


def _lows(readings: ReadingView, vessel: str, one: Stood, *, first: bool) -> Iterator[tuple[int, float]]:
    hours = -(-(one.to_ms - one.from_ms) // HOUR_MS) + 1
    for bucket in readings.buckets(vessel, one.sensor, one.from_ms, one.to_ms, hours).buckets:
        # An hour in which the record was changed belongs to how it was before.
        if bucket.low is not None and (first or bucket.start_ms >= one.from_ms):
            yield bucket.start_ms, bucket.low


def _bilges(
    readings: ReadingView, vessel: str, records: Sequence[Vessel], slings_ms: int, now_ms: int
) -> dict[str, list[Point]]:
    """Give each bilge sensor's minutes in the slings; the minute in which it was said is not counted."""
    from_ms = (slings_ms + MINUTE_MS - 1) // MINUTE_MS * MINUTE_MS
    to_ms = min(now_ms + 1, from_ms + SLINGS_LOOKED_MS)
    found: dict[str, list[Point]] = {}
    for sensor in bilge_sensors(records) if to_ms > from_ms else ():
        summed = readings.buckets(vessel, sensor, from_ms, to_ms, SLINGS_BUCKETS)
        if summed.step_ms == MINUTE_MS:  # in hours, what came before she floated stands in the same sum
            found[sensor] = [
                Point(b.start_ms, b.low, b.high, b.worst < Flag.SUSPECT)
                for b in summed.buckets
                if b.low is not None and b.high is not None
            ]
    return found
