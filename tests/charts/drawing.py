"""Panels to draw in tests."""

from collections.abc import Sequence
from zoneinfo import ZoneInfo

from monitor.charts.panel import AlertMark, LimitLine, Panel, Point, Series
from monitor.model.scale import Flag

HOUR_MS = 3_600_000
T0 = 1_386_547_200_000  # 9 December 2013, 00:00 UTC
ZONE = ZoneInfo("Europe/London")


def points(values: Sequence[float | None], flags: str = "") -> list[Point]:
    """Give an hourly line; None leaves the hour out, an x in ``flags`` makes it suspect."""
    return [
        Point(T0 + n * HOUR_MS, v, v - 0.5, v + 0.5, Flag.SUSPECT if flags[n : n + 1] == "x" else Flag.PASS)
        for n, v in enumerate(values)
        if v is not None
    ]


def panel(
    *lines: Sequence[Point], limits: Sequence[LimitLine] = (), marks: Sequence[AlertMark] = (), hours: int = 24
) -> Panel:
    """Give a panel of lines that may miss two hours."""
    series = [Series(f"line {n}", line, 3 * HOUR_MS) for n, line in enumerate(lines)]
    return Panel("temperatures", "Temperatures", "°C", 1, series, limits, marks, T0, T0 + hours * HOUR_MS, ZONE)
