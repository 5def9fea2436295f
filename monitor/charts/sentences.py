"""What a chart shows, in words: for who cannot see it, and for who wants no more than this."""

from collections.abc import Iterator
from datetime import datetime

from monitor.charts.gaps import gaps
from monitor.charts.panel import LimitLine, Panel, Series
from monitor.model.scale import Flag

HOUR_MS = 3_600_000
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


def _lately(panel: Panel, series: Series, since_ms: int, mean: float) -> str:
    """Say how a line ends: by its last reading and when that was, else by the mean of its last step."""
    if series.newest is not None:
        at_ms, value = series.newest
        return f", last {_figure(panel, value)} {panel.unit} at {_clock(panel, at_ms)}"
    return f", on average {_figure(panel, mean)} {panel.unit} since {_clock(panel, since_ms)}"


def _until(panel: Panel, series: Series, last_ms: int) -> str:
    """Say when a line ends, where it ends before the chart does."""
    if panel.to_ms - last_ms <= series.gap_ms:
        return ""
    at = datetime.fromtimestamp(last_ms / 1000, panel.zone)
    return f", not heard since {at:%H:%M} on {at.day} {at:%b}"


def _clock(panel: Panel, at_ms: int) -> str:
    """Write a time of day, with its day where that is not the chart's last."""
    at, end = datetime.fromtimestamp(at_ms / 1000, panel.zone), datetime.fromtimestamp(panel.to_ms / 1000, panel.zone)
    return f"{at:%H:%M}" if at.date() == end.date() else f"{at:%H:%M} on {at.day} {at:%b}"


def _limits(panel: Panel) -> Iterator[str]:
    for limit in panel.limits:
        said = f"{limit.name[:1].upper()}{limit.name[1:]}"
        held = [_held(series, limit) for series in panel.series if series.name in limit.holds_for]
        yield "; ".join([said, *(words for words in held if words)]) + "."


def _held(series: Series, limit: LimitLine) -> str:
    """Say on which side of a limit a line stayed; empty where it has no readings.

    Only readings that can be trusted say that it stayed: with others among them, that is not known.
    """
    trusted = [p for p in series.points if p.flag is not Flag.SUSPECT]
    if limit.harm_above:
        highest = max((p.high for p in trusted if p.high is not None), default=None)
        went, stayed = highest is not None and highest > limit.value, "stayed below it"
    else:
        lowest = min((p.low for p in trusted if p.low is not None), default=None)
        went, stayed = lowest is not None and lowest < limit.value, "stayed above it"
    if went:
        return f"{series.name} went {'above' if limit.harm_above else 'below'} it"
    if len(trusted) < len(series.points):
        return f"{series.name} cannot be trusted all the time, so whether it did is not known"
    return f"{series.name} {stayed}" if series.points else ""


def _figure(panel: Panel, value: float) -> str:
    text = f"{abs(value):.{panel.digits}f}"
    return f"\u2212{text}" if round(value, panel.digits) < 0 else text


def _hours(hours: float) -> str:
    if hours < 2 * DAY_H:
        return f"{hours:.0f} hour{'s' * (round(hours) != 1)}"
    return f"{hours / DAY_H:.0f} days"
