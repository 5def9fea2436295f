"""A picture of one vessel's winter: her charts, beneath them what was true, and beneath that what the watch said."""

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any
from zoneinfo import ZoneInfo

import vl_convert

from monitor.charts import LIGHT, VEGA_LITE, panels, specification
from monitor.charts.lanes import Bar, Row, lanes
from monitor.charts.panel import Panel
from monitor.cli.heard import Heard, Said
from monitor.cli.outcome import place_of
from monitor.cli.spells import levels_of
from monitor.model.reading import Reading
from monitor.model.scale import Flag, Priority
from monitor.model.vessel import Vessel
from monitor.model.views import Bucket, Buckets
from simulator.truth import TruthLog
from simulator.winter import Winter

HOUR_MS = 3_600_000
# A bucket divides a day, so that a day's rise and fall do not beat with it.
BUCKET_HOURS = (1, 2, 3, 4, 6, 8, 12, 24)
MOST_BUCKETS = 480
WIDTH_PX = 1_000
PANELS = ("temperatures", "humidity", "volts", "bilge")
FAR_K = 8.0
FONT = "sans-serif"
SHARES = {Priority.CAUTION: 0.5, Priority.WARNING: 0.75, Priority.ALARM: 1.0}


@dataclass(slots=True)
class _Sum:
    low: float
    high: float
    total: float
    count: int


class Sampler:
    """Keeps of one vessel's readings what a picture can show: the lowest, highest and mean of each stretch of time.

    Args:
        record: her lay-up record.
        begins_ms: start of the time axis, ms UTC.
        ends_ms: end of it.
    """

    def __init__(self, record: Vessel, begins_ms: int, ends_ms: int) -> None:
        self.record = record
        hours = (ends_ms - begins_ms) / HOUR_MS
        self.step_ms = next((h for h in BUCKET_HOURS if hours / h <= MOST_BUCKETS), BUCKET_HOURS[-1]) * HOUR_MS
        self._sums: dict[str, dict[int, _Sum | None]] = {}

    def see(self, reading: Reading) -> None:
        """Take a reading whose quality is settled. One that failed leaves its time known and its value out."""
        start_ms = reading.event_ms // self.step_ms * self.step_ms
        sums = self._sums.setdefault(reading.sensor, {})
        known = sums.get(start_ms)
        if reading.flag is Flag.FAIL:
            sums.setdefault(start_ms, None)
            return
        value = reading.value
        if known is None:
            sums[start_ms] = _Sum(value, value, value, 1)
            return
        known.low, known.high = min(known.low, value), max(known.high, value)
        known.total += value
        known.count += 1

    def buckets(self, sensor: str) -> Buckets:
        """Give a sensor's buckets."""
        return Buckets(self.step_ms, [_bucket(at, s) for at, s in sorted(self._sums.get(sensor, {}).items())])


def _bucket(start_ms: int, known: _Sum | None) -> Bucket:
    if known is None:
        return Bucket(start_ms, None, None, None, 0, Flag.FAIL)
    # One doubtful reading among a half day's seventy does not make their band doubtful: crosses would hide the line.
    return Bucket(start_ms, known.low, known.high, known.total / known.count, known.count, Flag.PASS)


def draw(sampler: Sampler, winter: Winter, log: TruthLog, heard: Heard) -> str:
    """Draw a vessel's winter as SVG."""
    return str(vl_convert.vegalite_to_svg(picture(sampler, winter, log, heard), vl_version=VEGA_LITE))


def picture(sampler: Sampler, winter: Winter, log: TruthLog, heard: Heard) -> dict[str, Any]:
    """Give a vessel's winter as a Vega-Lite specification."""
    record, plan, zone = sampler.record, winter.plan, ZoneInfo(winter.calendar.zone)
    begins_ms, ends_ms = plan.begins_ms, plan.ends_ms
    parts: list[dict[str, Any]] = []
    whole: dict[str, Any] = {}
    for panel in panels(record, sampler.buckets, (), begins_ms, ends_ms, zone):
        if panel.key in PANELS:
            made = specification(_near(panel), LIGHT, width=WIDTH_PX, font=FONT)
            whole = {key: made.pop(key) for key in ("$schema", "background", "config")}
            parts.append({k: v for k, v in made.items() if k not in {"autosize", "padding"}})
            parts[-1]["title"] = {"text": f"{panel.title}, {panel.unit}", "anchor": "start", "frame": "group"}
            parts[-1]["layer"][0]["encoding"]["y"]["axis"]["title"] = None
    for title, rows in (
        ("What was true", list(_truth(record.id, log, ends_ms))),
        ("What the watch said: C caution, W warning, A alarm", list(_said(heard.of(record.id), ends_ms))),
    ):
        if rows:
            parts.append(lanes(title, rows, begins_ms, ends_ms, zone, LIGHT, width=WIDTH_PX))
    config = whole.get("config", {})
    return {
        **whole,
        "title": {"text": f"{place_of(record)}: {plan.name}", "anchor": "start", "fontSize": 18, "offset": 14},
        "padding": 12,
        "spacing": 26,
        "vconcat": parts,
        "resolve": {"scale": {"color": "independent", "strokeDash": "independent"}},
        "config": config | {"axisX": {"grid": True}, "title": {"fontSize": 15, "color": LIGHT.ink}},
    }


def _near(panel: Panel) -> Panel:
    """Leave out what a lane shows already, and freezing points that the winter came nowhere near: they flatten it."""
    lowest = min((p.low for s in panel.series for p in s.points if p.low is not None), default=0.0)
    far = lowest - FAR_K if panel.key == "temperatures" else -math.inf
    return replace(panel, marks=(), limits=[limit for limit in panel.limits if limit.value >= far])


def _truth(vessel: str, log: TruthLog, ends_ms: int) -> Iterable[Row]:
    rows: dict[str, list[Bar]] = {}
    for cause in log.causes:
        if cause.vessel == vessel:
            to_ms = ends_ms if cause.ends_ms is None else cause.ends_ms
            bar = Bar(cause.begins_ms, to_ms, LIGHT.series[1], 0.5)
            rows.setdefault(f"{cause.kind}, {cause.subject}", []).append(bar)
    for mark in log.marks:
        if mark.vessel == vessel:
            bar = Bar(mark.at_ms, mark.at_ms, LIGHT.ink, 0.75)
            rows.setdefault(f"{mark.kind}, {mark.subject}", []).append(bar)
    for harm in log.harms:
        if harm.vessel == vessel:
            bar = Bar(harm.at_ms, ends_ms if harm.ended_ms is None else harm.ended_ms, LIGHT.ink)
            rows.setdefault(f"Harm: {harm.kind}, {harm.subject}", []).append(bar)
    for name, bars in rows.items():
        times = f" ({len(bars)} times)" if len(bars) > 1 else ""
        yield Row(name + times, bars)


def _said(said: Iterable[Said], ends_ms: int) -> Iterable[Row]:
    by_key: dict[tuple[str, str], list[tuple[int, int]]] = {}
    for one in said:
        by_key.setdefault(one.key, []).append((one.event.at_ms, one.level))
    for (rule, subject), changes in by_key.items():
        standing = [level for level in levels_of(changes, ends_ms) if level.level]
        bars = []
        for level in standing:
            priority = Priority(level.level)
            bars.append(
                Bar(
                    level.from_ms,
                    level.to_ms,
                    LIGHT.alerts[priority],
                    SHARES[priority],
                    priority.word[0].upper(),
                    LIGHT.numeral[priority],
                )
            )
        if bars:
            highest = Priority(max(level.level for level in standing)).word
            yield Row(f"{rule}, {subject}: highest {highest}", bars)
