"""A picture of the last days of what an alert rests on, as PNG: the charts of the pages, for who reads by e-mail."""

from collections import OrderedDict
from collections.abc import Iterator
from dataclasses import replace
from threading import Lock
from zoneinfo import ZoneInfo

import vl_convert

from monitor.charts import LIGHT, VEGA_LITE, Panel, panels, specification
from monitor.charts.sentences import sentences
from monitor.charts.small_png import small_png
from monitor.messages.letterhead import Picture
from monitor.model.alert import Alert
from monitor.model.quantity import Quantity
from monitor.model.reading import Seen
from monitor.model.scale import Flag
from monitor.model.vessel import Vessel
from monitor.model.views import AlertView, Buckets, ReadingView

DAY_MS = 86_400_000
SPAN_DAYS = 5
MOST_BUCKETS = 240
# About a phone's width, so that its words are not made smaller there; drawn twice as fine, as phones' screens are.
WIDTH_PX = 380
SCALE = 2.0
KEPT = 16
FAR_K = 12.0
FONT = "sans-serif"

_PANEL_OF = {
    Quantity.TEMPERATURE: "temperatures",
    Quantity.HUMIDITY: "humidity",
    Quantity.VOLTAGE: "volts",
    Quantity.LEVEL: "bilge",
}


class Pictures:
    """Draws pictures, each once: everybody who is told of an alert at one moment is sent the same.

    Args:
        readings: what sensors said.
        alerts: alerts, marked on the chart where they opened.
        zone: the yard's time zone.
        kept: how many are kept, the latest asked for.
    """

    def __init__(self, readings: ReadingView, alerts: AlertView, zone: ZoneInfo, kept: int = KEPT) -> None:
        self._readings, self._alerts, self._zone, self._most = readings, alerts, zone, kept
        self._kept: OrderedDict[tuple[str, int, tuple[Seen, ...]], Picture | None] = OrderedDict()
        self._lock = Lock()  # senders of several channels ask, each from its own thread

    def __call__(self, vessel: Vessel, alert: Alert, now_ms: int) -> Picture | None:
        """Give the picture of an alert up to a time; None where there is nothing to draw."""
        key = (alert.id, now_ms, alert.finding.rests_on)
        with self._lock:
            if key not in self._kept:
                self._kept[key] = picture(self._readings, self._alerts, vessel, alert, now_ms, self._zone)
            self._kept.move_to_end(key)
            while len(self._kept) > self._most:
                self._kept.popitem(last=False)
            return self._kept[key]


def picture(
    readings: ReadingView, alerts: AlertView, vessel: Vessel, alert: Alert, now_ms: int, zone: ZoneInfo
) -> Picture | None:
    """Draw the last days of the sensors an alert rests on.

    Args:
        readings: what her sensors said.
        alerts: her alerts, marked on the chart where they opened.
        vessel: her record.
        alert: the alert.
        now_ms: end of the time axis, event time.
        zone: the yard's time zone.

    Returns:
        The picture and what it shows in words; None where there is nothing to draw.
    """
    sensors = tuple(dict.fromkeys(_sensors(vessel, alert)))
    key = next((_PANEL_OF[q] for s in sensors if (q := _quantity(vessel, s)) in _PANEL_OF), None)
    if key is None:
        return None
    from_ms = now_ms - SPAN_DAYS * DAY_MS

    def buckets_of(sensor: str) -> Buckets:
        if sensor not in sensors:
            return Buckets(1, [])
        return readings.buckets(vessel.id, sensor, from_ms, now_ms, MOST_BUCKETS)

    marked = alerts.alerts_between(vessel.id, from_ms, now_ms)
    newest = _newest(readings, vessel, alert, now_ms)
    made = panels(vessel, buckets_of, marked, from_ms, now_ms, zone, newest)
    drawn = next((p for p in made if p.key == key), None)
    if drawn is None or drawn.is_empty:
        return None
    shown = _narrowed(drawn)
    says = " ".join((f"{shown.title}.", *shown.sentences))
    return Picture(_png(shown), says, shown.title)


def _newest(readings: ReadingView, vessel: Vessel, alert: Alert, now_ms: int) -> dict[str, tuple[int, float]]:
    """Give the last readings: those the alert rests on, by which its words go, so that one message tells one level."""
    heard = readings.newest(vessel.id).items()
    last = {s: (n.event_ms, n.value) for s, n in heard if n.event_ms <= now_ms and n.flag < Flag.SUSPECT}
    rested = sorted(alert.finding.rests_on, key=lambda seen: seen.at_ms)
    return last | {seen.sensor: (seen.at_ms, seen.value) for seen in rested}


def _sensors(vessel: Vessel, alert: Alert) -> Iterator[str]:
    """Give the sensors an alert rests on, then those of the thing it is about."""
    yield from (seen.sensor for seen in alert.finding.rests_on)
    if vessel.sensor(alert.subject) is not None:
        yield alert.subject
    links = [s.sensor or vessel.outside_sensor for s in vessel.liquid_systems if s.id == alert.subject]
    links += [b.level_sensor for b in vessel.bilges if b.id == alert.subject]
    links += [b.voltage_sensor for b in vessel.batteries if b.id == alert.subject]
    links += [s.humidity_sensor for s in vessel.spaces if s.id == alert.subject]
    yield from (link for link in links if link is not None)


def _quantity(vessel: Vessel, sensor: str) -> Quantity | None:
    known = vessel.sensor(sensor)
    return None if known is None else known.quantity


def _narrowed(panel: Panel) -> Panel:
    """Leave out lines that say nothing, the limits of those alone, and freezing points that lie far off."""
    series = [s for s in panel.series if any(p.value is not None for p in s.points)]
    names = {s.name for s in series}
    lowest = min((p.low for s in series for p in s.points if p.low is not None), default=0.0)
    near = [limit for limit in panel.limits if limit.holds_for & names or not limit.holds_for]
    if panel.key == "temperatures":
        near = [limit for limit in near if limit.value >= lowest - FAR_K]
    kept = replace(panel, series=series, limits=near)
    return replace(kept, sentences=sentences(kept))


def _png(panel: Panel) -> bytes:
    title = {"text": panel.title, "anchor": "start", "fontSize": 15, "color": LIGHT.ink}
    drawn = specification(panel, LIGHT, width=WIDTH_PX, font=FONT, columns=1) | {"title": title}
    made = vl_convert.vegalite_to_png(drawn, vl_version=VEGA_LITE, allowed_base_urls=[], scale=SCALE)
    return small_png(bytes(made))
