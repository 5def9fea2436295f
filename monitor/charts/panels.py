"""Which charts a vessel has, from her record, her readings and her alerts."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from zoneinfo import ZoneInfo

from monitor.charts.beside import NOTHING, Beside
from monitor.charts.foretold import foretold_band
from monitor.charts.limit_lines import half_charged, protected_to, reaches
from monitor.charts.panel import AlertMark, LimitLine, Panel, Point, Series
from monitor.charts.sentences import sentences
from monitor.model.alert import Alert
from monitor.model.equipment import Sensor, Space
from monitor.model.quantity import Quantity
from monitor.model.scale import Flag
from monitor.model.vessel import Vessel
from monitor.model.views import Bucket, Buckets
from monitor.science.air import dew_point_degc

BucketsOf = Callable[[str], Buckets]
Newest = Mapping[str, tuple[int, float]]

# A line breaks where a sensor has missed three of its times.
GAP_INTERVALS = 3

_RULES_OF = {
    "temperatures": ("frost",),
    "humidity": ("damp",),
    "dew-point": ("damp",),
    "volts": ("battery", "power"),
    "bilge": ("bilge",),
}


def panels(
    vessel: Vessel,
    buckets_of: BucketsOf,
    alerts: Iterable[Alert],
    from_ms: int,
    to_ms: int,
    zone: ZoneInfo,
    newest: Newest | None = None,
    beside: Beside = NOTHING,
) -> list[Panel]:
    """Lay a vessel's charts out, on one time axis.

    Args:
        vessel: her record.
        buckets_of: gives a sensor's buckets over the span, by sensor id.
        alerts: her alerts of the span.
        from_ms: start of the axis.
        to_ms: end of it.
        zone: the yard's time zone.
        newest: the last reading of sensors of which it is to be told, as (ms UTC, value in the sensor's unit).
        beside: what else stands on the axis: the time now, the forecast, what people did.
    """
    buckets = {s.id: buckets_of(s.id) for s in vessel.sensors if not s.quantity.is_switch}
    drawn = _Drawing(vessel, buckets, tuple(alerts), from_ms, to_ms, zone, newest or {}, beside)
    made = [drawn.temperatures(), drawn.humidity(), drawn.dew_point(), drawn.volts(), drawn.bilge()]
    return [replace(panel, sentences=sentences(panel)) for panel in made if panel is not None]


class _Drawing:
    """One vessel over one span."""

    def __init__(
        self,
        vessel: Vessel,
        buckets: dict[str, Buckets],
        alerts: Sequence[Alert],
        from_ms: int,
        to_ms: int,
        zone: ZoneInfo,
        newest: Newest,
        beside: Beside,
    ) -> None:
        self.vessel, self.buckets, self.alerts, self.beside = vessel, buckets, alerts, beside
        self.from_ms, self.to_ms, self.zone, self.newest = from_ms, to_ms, zone, newest

    def temperatures(self) -> Panel | None:
        sensors = [s for s in self.vessel.sensors if s.quantity is Quantity.TEMPERATURE]
        names = _names(sensors, outside=self.vessel.outside_sensor)
        series = [self._series(s, names[s.id]) for s in sensors]
        limits = protected_to(self.vessel, names)
        panel = self._panel("temperatures", "Temperatures", "°C", 1, series, limits)
        forecast, now_ms = self.beside.forecast, self.beside.now_ms
        band = None if forecast is None or now_ms is None else foretold_band(forecast, now_ms, self.to_ms)
        return panel if panel is None or band is None else replace(panel, foretold=(band,))

    def humidity(self) -> Panel | None:
        sensors = [s for s in self.vessel.sensors if s.quantity is Quantity.HUMIDITY]
        names = {space.humidity_sensor: space.name for space in self.vessel.spaces}
        series = [self._series(s, names.get(s.id, s.place.split(",")[0])) for s in sensors]
        dryer = self.vessel.dehumidifier
        limits = []
        if dryer is not None and dryer.running:
            name = f"dehumidifier holds below {dryer.hold_below_rh:.0f} %"
            limits = [LimitLine(name, dryer.hold_below_rh, frozenset(s.name for s in series), harm_above=True)]
        return self._panel("humidity", "Relative humidity", "%", 0, series, limits, ceiling=100.0)

    def dew_point(self) -> Panel | None:
        series = []
        for space in self.vessel.spaces:
            suffix = f", {space.name.lower()}" if len(self.vessel.spaces) > 1 else ""
            series += self._dew_series(space, suffix)
        return self._panel("dew-point", "Dew point and coldest surface (reckoned)", "°C", 1, series, ())

    def volts(self) -> Panel | None:
        batteries = [b for b in self.vessel.batteries if b.voltage_sensor is not None]
        series = []
        for battery in batteries:
            sensor = self.vessel.sensor(battery.voltage_sensor or "")
            if sensor is not None:
                series.append(self._series(sensor, battery.name))
        return self._panel("volts", "Battery volts", "V", 2, series, half_charged(batteries))

    def bilge(self) -> Panel | None:
        series, limits = [], []
        for bilge in self.vessel.bilges:
            sensor = self.vessel.sensor(bilge.level_sensor or "")
            if sensor is None:
                continue
            series.append(self._series(sensor, bilge.name, factor=1000.0))
            of = f", {bilge.name.lower()}" if len(self.vessel.bilges) > 1 else ""
            for what, at_m in (("high water", bilge.high_m), *reaches(bilge)):
                name, at_mm = f"{what}{of}: {at_m * 1000:.0f} mm", at_m * 1000
                limits.append(LimitLine(name, at_mm, frozenset({bilge.name}), harm_above=True))
        return self._panel("bilge", "Bilge level", "mm", 0, series, limits, floor=0.0)

    def _panel(
        self,
        key: str,
        title: str,
        unit: str,
        digits: int,
        series: Sequence[Series],
        limits: Sequence[LimitLine],
        *,
        floor: float | None = None,
        ceiling: float | None = None,
    ) -> Panel | None:
        if not series:
            return None
        lowest = min((p.low for s in series for p in s.points if p.low is not None), default=0.0)
        return Panel(
            key=key,
            title=title,
            unit=unit,
            digits=digits,
            series=series,
            limits=limits,
            marks=self._marks(key),
            from_ms=self.from_ms,
            to_ms=self.to_ms,
            zone=self.zone,
            now_ms=self.beside.now_ms,
            happenings=[h for h in self.beside.happenings if self.from_ms <= h.at_ms <= self.to_ms],
            aside=[(a, b) for rule, a, b in self.beside.aside if rule in _RULES_OF[key] and b > self.from_ms],
            told=any(a.rule in _RULES_OF[key] and a.is_open for a in self.alerts),
            floor=None if floor is None else min(floor, lowest),
            ceiling=ceiling,
        )

    def _marks(self, key: str) -> list[AlertMark]:
        return [
            AlertMark(a.opened_ms, a.highest, f"{a.rule} {a.subject}")
            for a in self.alerts
            if a.rule in _RULES_OF[key] and self.from_ms <= a.opened_ms <= self.to_ms
        ]

    def _series(self, sensor: Sensor, name: str, factor: float = 1.0) -> Series:
        found = self.buckets.get(sensor.id, Buckets(1, []))
        points = [_point(b, factor) for b in found.buckets]
        newest = None
        if sensor.id in self.newest:
            at_ms, last = self.newest[sensor.id][0], self.newest[sensor.id][1] * factor
            newest = at_ms, last
            if points and at_ms > points[-1].at_ms:  # the line ends where its last reading is, not at a step's mean
                points.append(Point(at_ms, last, last, last))
        return Series(name, points, _gap_ms(sensor, found.step_ms), newest)

    def _dew_series(self, space: Space, suffix: str) -> list[Series]:
        humidity, air = self.vessel.sensor(space.humidity_sensor), self.vessel.sensor(space.temperature_sensor)
        if humidity is None or air is None:
            return []
        step = max(self.buckets[humidity.id].step_ms, self.buckets[air.id].step_ms)
        gap = max(_gap_ms(humidity, step), _gap_ms(air, step))
        degc, rh = _means(self.buckets[air.id]), _means(self.buckets[humidity.id])
        dew = [Point(t, v, v, v) for t in sorted(degc.keys() & rh.keys()) if (v := _dew(degc[t], rh[t])) is not None]
        made = [Series(f"dew point{suffix}", dew, gap)]
        outside = self.vessel.sensor(self.vessel.outside_sensor or "")
        if outside is not None and outside.id in self.buckets:
            cold, share = _means(self.buckets[outside.id]), space.surface_factor
            at = sorted(degc.keys() & cold.keys())
            surface = [cold[t] + share * (degc[t] - cold[t]) for t in at]
            points = [Point(t, v, v, v) for t, v in zip(at, surface, strict=True)]
            made.append(Series(f"coldest surface{suffix}", points, max(gap, _gap_ms(outside, step))))
        return made


def _point(bucket: Bucket, factor: float) -> Point:
    def scaled(value: float | None) -> float | None:
        return None if value is None else value * factor

    return Point(bucket.start_ms, scaled(bucket.mean), scaled(bucket.low), scaled(bucket.high), bucket.worst)


def _gap_ms(sensor: Sensor, step_ms: int) -> int:
    return GAP_INTERVALS * max(round(sensor.interval_s * 1000), step_ms)


def _means(buckets: Buckets) -> dict[int, float]:
    """Give means by time, suspect ones left out: what is reckoned from them would be no better than they are."""
    return {b.start_ms: b.mean for b in buckets.buckets if b.mean is not None and b.worst < Flag.SUSPECT}


def _dew(t_degc: float, rh_pct: float) -> float | None:
    try:
        return dew_point_degc(t_degc, rh_pct)
    except ValueError:  # drier or hotter than the formula is good for
        return None


def _names(sensors: Sequence[Sensor], outside: str | None) -> dict[str, str]:
    """Name sensors by the first words of their place; by the whole of it, and their id, where that is not enough."""
    names = {s.id: "outside air" if s.id == outside else s.place.split(",")[0] for s in sensors}
    for longer in ({s.id: s.place for s in sensors}, {s.id: f"{s.place} ({s.id})" for s in sensors}):
        doubled = {n for n in names.values() if list(names.values()).count(n) > 1}
        names = {key: longer[key] if name in doubled else name for key, name in names.items()}
    return names
