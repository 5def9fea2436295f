"""The owner's two pictures: how cold it was where she could freeze first, this winter and in the last week."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from monitor.charts import Panel
from monitor.charts.panel import LimitLine, Point, Series
from monitor.model.quantity import Quantity
from monitor.model.scale import Flag
from monitor.model.vessel import Vessel
from monitor.model.views import Bucket, Buckets, ReadingView
from monitor.rules.frost_point import system_point
from monitor.web.clock import YardClock
from monitor.web.owner_words import say, system_thing, within
from monitor.web.spans import DAY_MS, ChartSpan

PIXELS = 360
"""A telephone's width: a pixel shows one bucket at most."""
WEEK_DAYS = 7
GAP_INTERVALS = 3
"""A line breaks where a sensor has missed so many of its times, as on the yard's charts."""
WINTER, WEEK = "winter", "week"


@dataclass(frozen=True, slots=True)
class _Place:
    """A place that is looked at, and where what is there freezes; ``at_degc`` is None where nothing can."""

    thing: str
    sensor: str
    at_degc: float | None
    stands_in: bool = False


@dataclass(frozen=True, slots=True)
class _Lowest:
    """The lowest reading that can be believed, and when."""

    degc: float
    at_ms: int


def pictures(record: Vessel, readings: ReadingView, clock: YardClock) -> list[Panel]:
    """Draw both pictures; none where no thermometer has been heard."""
    from_ms, to_ms = ChartSpan.WINTER.bounds(record, clock.now_ms)
    chosen = _nearest_to_freezing(record, readings, from_ms, to_ms)
    if chosen is None:
        return []
    place, winter, lowest = chosen
    panels = [_panel(WINTER, record, place, winter, clock, from_ms, _of_winter(place, lowest, clock))]
    week_ms = to_ms - WEEK_DAYS * DAY_MS
    week = readings.buckets(record.id, place.sensor, week_ms, to_ms, PIXELS)
    panels.append(_panel(WEEK, record, place, week, clock, week_ms, _of_week(place, _lowest(week), clock)))
    return panels


def _nearest_to_freezing(
    record: Vessel, readings: ReadingView, from_ms: int, to_ms: int
) -> tuple[_Place, Buckets, _Lowest] | None:
    """Give the place that came nearest to its freezing point, else the coldest one inside; None where none is heard."""
    heard = []
    for place in _places(record):
        buckets = readings.buckets(record.id, place.sensor, from_ms, to_ms, PIXELS)
        lowest = _lowest(buckets)
        if lowest is not None:
            heard.append((place, buckets, lowest))
    return min(heard, key=lambda one: one[2].degc - (one[0].at_degc or 0.0), default=None)


def _places(record: Vessel) -> list[_Place]:
    wet = []
    for system in record.liquid_systems:
        sensor, point = system.sensor or record.outside_sensor, system_point(system)
        if point is not None and sensor is not None:
            wet.append(_Place(system_thing(system), sensor, point[1], stands_in=system.sensor is None))
    thermometers = [s.id for s in record.sensors if s.quantity is Quantity.TEMPERATURE]
    inside = [sensor for sensor in thermometers if sensor != record.outside_sensor] or thermometers
    return wet or [_Place(within("picture", "coldest"), sensor, None) for sensor in inside]


def _lowest(buckets: Buckets) -> _Lowest | None:
    lows = [(b.low, b.start_ms) for b in buckets.buckets if b.low is not None and b.worst < Flag.SUSPECT]
    return None if not lows else _Lowest(*min(lows))


def _panel(
    key: str,
    record: Vessel,
    place: _Place,
    buckets: Buckets,
    clock: YardClock,
    from_ms: int,
    sentences: tuple[str, ...],
) -> Panel:
    sensor = record.sensor(place.sensor)
    interval_ms = 0 if sensor is None else round(sensor.interval_s * 1000)
    series = Series(
        place.thing, [_point(b) for b in buckets.buckets], GAP_INTERVALS * max(interval_ms, buckets.step_ms)
    )
    limits = []
    if place.at_degc is not None:
        name = within("picture", "freezes", at=clock.figures.degc(place.at_degc))
        limits = [LimitLine(name, place.at_degc, frozenset({place.thing}))]
    return Panel(
        key=key,
        title=say("picture", key),
        unit="°C",
        digits=1,
        series=[series],
        limits=limits,
        marks=[],
        from_ms=from_ms,
        to_ms=clock.now_ms,
        zone=clock.zone,
        sentences=sentences,
    )


def _point(bucket: Bucket) -> Point:
    return Point(bucket.start_ms, bucket.mean, bucket.low, bucket.high, bucket.worst)


def _of_winter(place: _Place, lowest: _Lowest, clock: YardClock) -> tuple[str, ...]:
    names = _names(place, lowest, clock)
    if place.at_degc is None:
        return (say("picture", "dry", **names),)
    room = clock.figures.kelvin(lowest.degc - place.at_degc)
    near = say("picture", "nearest" if lowest.degc > place.at_degc else "reached", room=room, **names)
    return (near, say("picture", "stands_in")) if place.stands_in else (near,)


def _of_week(place: _Place, lowest: _Lowest | None, clock: YardClock) -> tuple[str, ...]:
    return tuple(_week(place, lowest, clock))


def _week(place: _Place, lowest: _Lowest | None, clock: YardClock) -> Iterator[str]:
    if lowest is None:
        yield say("picture", "week_none")
    elif place.at_degc is None:
        yield say("picture", "week_dry", **_names(place, lowest, clock))
    else:
        which = "week_nearest" if lowest.degc > place.at_degc else "week_reached"
        yield say("picture", which, **_names(place, lowest, clock))


def _on(at_ms: int, clock: YardClock) -> str:
    """Give the day of it: which hour of the night it was does not help an owner."""
    day = clock.day(datetime.fromtimestamp(at_ms / 1000, clock.zone).date())
    return within("picture", "on", day=day.rpartition(" ")[0])


def _names(place: _Place, lowest: _Lowest, clock: YardClock) -> dict[str, str]:
    return {
        "thing": place.thing,
        "low": clock.figures.degc(lowest.degc),
        "when": _on(lowest.at_ms, clock),
        "at": "" if place.at_degc is None else clock.figures.degc(place.at_degc),
    }
