"""How much of a winter each sensor was heard, and its gaps, as the pages' charts find them."""

from collections.abc import Iterator
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from monitor.charts.gaps import gaps
from monitor.charts.panel import Panel, Point, Series
from monitor.charts.panels import GAP_INTERVALS
from monitor.model.equipment import Sensor
from monitor.model.vessel import Vessel
from monitor.model.views import Bucket, ReadingView
from monitor.report.exposure import HOUR_MS, hourly


@dataclass(frozen=True, slots=True)
class Coverage:
    """One sensor over a span.

    Attributes:
        sensor: the sensor.
        readings: how many readings were believed.
        hours: hours in which it was heard and believed.
        gaps: spans in which nothing was, as (from, to) in ms UTC: between the hours heard last before and first after.
        share: the part of the span that lies in no gap, 0 to 1.
    """

    sensor: Sensor
    readings: int
    hours: int
    gaps: tuple[tuple[int, int], ...]
    share: float


def coverage(record: Vessel, readings: ReadingView, from_ms: int, to_ms: int, zone: ZoneInfo) -> Iterator[Coverage]:
    """Go through the sensors of a record."""
    for sensor in record.sensors:
        found = hourly(readings, record.id, sensor.id, from_ms, to_ms).buckets
        heard = [b for b in found if b.mean is not None]
        spans = tuple(_gaps(sensor, heard, from_ms, to_ms, zone))
        silent_ms = sum(end - begin for begin, end in spans)
        share = 1.0 - silent_ms / (to_ms - from_ms)
        yield Coverage(sensor, sum(b.count for b in heard), len(heard), spans, share)


def _gaps(sensor: Sensor, heard: list[Bucket], from_ms: int, to_ms: int, zone: ZoneInfo) -> Iterator[tuple[int, int]]:
    gap_ms = GAP_INTERVALS * max(round(sensor.interval_s * 1000), HOUR_MS)
    points = [Point(b.start_ms, b.mean, b.low, b.high, b.worst) for b in heard]
    last = {p.at_ms for p in points}
    panel = Panel("", "", "", 0, [Series("", points, gap_ms)], (), (), from_ms, to_ms, zone)
    for begin, end in gaps(panel):
        # A gap begins where the hour that was heard last ends.
        yield min(begin + (HOUR_MS if begin in last else 0), end), end
