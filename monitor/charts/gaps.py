"""Where a line breaks, and the hatching over the time in which nothing was heard."""

from collections.abc import Iterator, Sequence

from monitor.charts.panel import Panel, Point, Series

HATCH_APART_PX = 8.0
DRAWN_PX = (760.0, 170.0)


def pieces(series: Series) -> Iterator[list[Point]]:
    """Cut a series where it has a gap, and where nothing could be believed."""
    piece: list[Point] = []
    for point in series.points:
        if point.value is None or (piece and point.at_ms - piece[-1].at_ms > series.gap_ms):
            if piece:
                yield piece
            piece = []
        if point.value is not None:
            piece.append(point)
    if piece:
        yield piece


def gaps(panel: Panel) -> list[tuple[int, int]]:
    """Give the spans in which no series of a panel has a point, as (from, to) in ms."""
    covered = [(p[0].at_ms, p[-1].at_ms, s.gap_ms) for s in panel.series for p in pieces(s)]
    found = []
    reached, allowed = panel.from_ms, max((s.gap_ms for s in panel.series), default=0)
    for begin, end, gap_ms in sorted(covered):
        if begin - reached > gap_ms:
            found.append((reached, begin))
        reached = max(reached, end)
    if panel.heard_to_ms - reached > allowed:
        found.append((reached, panel.heard_to_ms))
    return found


def hatching(
    spans: Sequence[tuple[float, float]], width: float, low: float, high: float
) -> list[tuple[float, float, float, float]]:
    """Give slanting strokes over spans of time, as (x, y, x2, y2).

    Args:
        spans: spans to cover, in the unit of the x axis.
        width: length of the x axis in its unit.
        low: lower end of the y axis.
        high: upper end of it.
    """
    apart = width * HATCH_APART_PX / DRAWN_PX[0]
    slant = width * DRAWN_PX[1] / DRAWN_PX[0]
    strokes = []
    for begin, end in spans:
        # Strokes stand on one grid over the whole axis, so that neighbouring gaps are hatched alike.
        number = int((begin - slant) // apart)
        while number * apart < end:
            foot = number * apart
            x0, x1 = max(foot, begin), min(foot + slant, end)
            if x0 < x1:
                strokes.append((x0, _at(x0, foot, slant, low, high), x1, _at(x1, foot, slant, low, high)))
            number += 1
    return strokes


def _at(x: float, foot: float, slant: float, low: float, high: float) -> float:
    return low + (high - low) * (x - foot) / slant
