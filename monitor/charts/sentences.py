"""What a chart shows, in words: for who cannot see it, and for who wants no more than this."""

import math
from collections.abc import Iterator, Sequence
from datetime import datetime

from monitor.charts.gaps import gaps
from monitor.charts.panel import Band, LimitLine, Panel, Point, Series
from monitor.model.scale import Flag

HOUR_MS, MINUTE_MS = 3_600_000, 60_000
DAY_H = 24


def sentences(panel: Panel) -> tuple[str, ...]:
    """Say what a panel shows: each line's range and last value, how near its limits it came, what is missing."""
    if panel.is_empty:
        return ("Nothing was heard in this time.",)
    return tuple(_sentences(panel))


def _sentences(panel: Panel) -> Iterator[str]:
    for series in panel.series:
        yield _range(panel, series)
    yield from _limits(panel)
    for band in panel.foretold:
        yield _foretold(panel, band)
    missing = sum(end - begin for begin, end in gaps(panel)) / HOUR_MS
    if missing >= 1:
        yield f"Nothing was heard for {_hours(missing)} of it."
    suspect = sum(p.flag is Flag.SUSPECT for s in panel.series for p in s.points)
    if suspect:
        yield f"{suspect} point{'s' * (suspect != 1)} marked with a cross cannot be trusted."


def _range(panel: Panel, series: Series) -> str:
    name = f"{series.name[:1].upper()}{series.name[1:]}"
    lows = [p.low for p in series.points if p.low is not None]
    highs = [p.high for p in series.points if p.high is not None]
    last = next((p for p in reversed(series.points) if p.value is not None), None)
    if last is None or last.value is None:
        return f"{name}: nothing heard."
    newest = [] if series.newest is None else [series.newest[1]]
    low, high = _figure(panel, min(lows + newest)), _figure(panel, max(highs + newest))
    if low == high:
        return f"{name}: {low} {panel.unit} throughout{_until(panel, series, last.at_ms)}."
    until = _until(panel, series, last.at_ms)
    return f"{name}: {low} to {high} {panel.unit}{until or _lately(panel, series, last.at_ms, last.value)}."


def _foretold(panel: Panel, band: Band) -> str:
    """Say what is foretold, how cold it may get and when, and how old that is."""
    lowest = min(band.points, key=lambda p: math.inf if p.low is None else p.low)
    lows = [p.low for p in band.points if p.low is not None]
    highs = [p.high for p in band.points if p.high is not None]
    said = f"{_figure(panel, min(lows))} to {_figure(panel, max(highs))} {panel.unit}"
    coldest, until = _day_clock(panel, lowest.at_ms), _day_clock(panel, band.points[-1].at_ms)
    name = f"{band.name[:1].upper()}{band.name[1:]}"
    came = _day_clock(panel, band.came_ms)
    return f"{name} foretold until {until}: {said}, coldest about {coldest} (forecast of {came})."


def _lately(panel: Panel, series: Series, since_ms: int, mean: float) -> str:
    """Say how a line ends: by its last reading and when that was, else by the mean of its last step."""
    if series.newest is not None:
        at_ms, value = series.newest
        return f", last {_figure(panel, value)} {panel.unit} at {_clock(panel, at_ms)}"
    if panel.now_ms is not None and panel.to_ms < panel.now_ms:
        return f", {_figure(panel, mean)} {panel.unit} about {_clock(panel, since_ms)}"
    return f", on average {_figure(panel, mean)} {panel.unit} since {_clock(panel, since_ms)}"


def _until(panel: Panel, series: Series, last_ms: int) -> str:
    """Say when a line ends, where it ends before the chart does."""
    if panel.heard_to_ms - last_ms <= series.gap_ms:
        return ""
    at = datetime.fromtimestamp(last_ms / 1000, panel.zone)
    return f", not heard since {at:%H:%M} on {at.day} {at:%b}"


def _day_clock(panel: Panel, at_ms: int) -> str:
    """Write a time with its day, as it stands on the axis."""
    at = datetime.fromtimestamp(at_ms / 1000, panel.zone)
    return f"{at:%H:%M} on {at.day} {at:%b}"


def _clock(panel: Panel, at_ms: int) -> str:
    """Write a time of day, with its day where that is not the chart's last."""
    at, end = (datetime.fromtimestamp(ms / 1000, panel.zone) for ms in (at_ms, panel.heard_to_ms))
    return f"{at:%H:%M}" if at.date() == end.date() else f"{at:%H:%M} on {at.day} {at:%b}"


def _limits(panel: Panel) -> Iterator[str]:
    for limit in panel.limits:
        said = f"{limit.name[:1].upper()}{limit.name[1:]}"
        held = [_held(panel, series, limit) for series in panel.series if series.name in limit.holds_for]
        yield "; ".join([said, *(words for words in held if words)]) + "."


def _held(panel: Panel, series: Series, limit: LimitLine) -> str:
    """Say on which side of a limit a line stayed; empty where it has no readings.

    Only readings that can be trusted say that it stayed: with others among them, that is not known.
    """
    trusted = [p for p in series.points if p.flag is not Flag.SUSPECT]
    side, other = ("above", "below") if limit.harm_above else ("below", "above")
    if any(_is_past(p, limit) for p in trusted):
        since_ms = _past_since(panel, series, trusted, limit)
        if since_ms is None:
            return f"{series.name} went {side} it"
        return f"{series.name} has been {side} it since {_clock(panel, since_ms)}{_waits(panel, limit, since_ms)}"
    if len(trusted) < len(series.points):
        return f"{series.name} cannot be trusted all the time, so whether it did is not known"
    return f"{series.name} stayed {other} it" if series.points else ""


def _is_past(point: Point, limit: LimitLine) -> bool:
    worst = point.high if limit.harm_above else point.low
    return worst is not None and (worst > limit.value if limit.harm_above else worst < limit.value)


def _past_since(panel: Panel, series: Series, trusted: Sequence[Point], limit: LimitLine) -> int | None:
    """Say since when a line that is heard now has been past a limit; None where it is not past it now."""
    if panel.now_ms is None or panel.to_ms < panel.now_ms or panel.now_ms - trusted[-1].at_ms > series.gap_ms:
        return None
    since_ms = None
    for point in reversed(trusted):
        if not _is_past(point, limit):
            break
        since_ms = point.at_ms
    return since_ms


def _waits(panel: Panel, limit: LimitLine, since_ms: int) -> str:
    """Say what is waited for where a limit is passed and nobody has been told of it yet."""
    if limit.told_after_ms is None or panel.told or panel.heard_to_ms - since_ms >= limit.told_after_ms:
        return ""
    return f": told if it lasts {limit.told_after_ms / MINUTE_MS:.0f} minutes"


def _figure(panel: Panel, value: float) -> str:
    text = f"{abs(value):.{panel.digits}f}"
    return f"\u2212{text}" if round(value, panel.digits) < 0 else text


def _hours(hours: float) -> str:
    if hours < 2 * DAY_H:
        return f"{hours:.0f} hour{'s' * (round(hours) != 1)}"
    return f"{hours / DAY_H:.0f} days"
