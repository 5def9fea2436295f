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
from monitor.record.gate_spans import spans
from monitor.report.exposure import HOUR_MS, hourly
from monitor.report.winter import Winter


@dataclass(frozen=True, slots=True)
class Coverage:
    """One sensor over a span.

    Attributes:
        sensor: the sensor, as the record had it last.
        from_ms: since when the record has it, within the winter.
        to_ms: till when.
        readings: how many readings were believed.
        hours: hours in which it was heard and believed.
        gaps: spans in which nothing was, as (from, to) in ms UTC: between the hours heard last before and first after.
        share: the part of the span that lies in no gap, 0 to 1.
    """

    sensor: Sensor
    from_ms: int
    to_ms: int
    readings: int
    hours: int
    gaps: tuple[tuple[int, int], ...]
    share: float


def coverage(winter: Winter, readings: ReadingView, zone: ZoneInfo) -> Iterator[Coverage]:
    """Go through every sensor that any version of the record had, each over the time in which it had it."""
    known = {sensor.id: sensor for stored in winter.versions for sensor in stored.vessel.sensors}
    vessel = winter.stored.vessel.id
    for sensor_id, from_ms, to_ms in spans(winter.versions, winter.from_ms, winter.to_ms, _sensors):
        sensor = known[sensor_id]
        found = hourly(readings, vessel, sensor.id, from_ms, to_ms, winter.from_ms)
        heard = [b for b in found if b.mean is not None]
        silent = tuple(_gaps(sensor, heard, from_ms, to_ms, zone))
        share = 1.0 - sum(end - begin for begin, end in silent) / (to_ms - from_ms)
        yield Coverage(sensor, from_ms, to_ms, sum(b.count for b in heard), len(heard), silent, share)


def _sensors(record: Vessel) -> Iterator[tuple[str, str]]:
    yield from ((sensor.id, sensor.id) for sensor in record.sensors)


def _gaps(sensor: Sensor, heard: list[Bucket], from_ms: int, to_ms: int, zone: ZoneInfo) -> Iterator[tuple[int, int]]:
    gap_ms = GAP_INTERVALS * max(round(sensor.interval_s * 1000), HOUR_MS)
    points = [Point(b.start_ms, b.mean, b.low, b.high, b.worst) for b in heard]
    last = {p.at_ms for p in points}
    panel = Panel("", "", "", 0, [Series("", points, gap_ms)], (), (), from_ms, to_ms, zone)
    for begin, end in gaps(panel):
        # A gap begins where the hour that was heard last ends.
        yield min(begin + (HOUR_MS if begin in last else 0), end), end
