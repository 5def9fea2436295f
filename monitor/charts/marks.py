"""Alert marks in a lane above the plot, pushed apart, each with a leader to its true time."""

from collections.abc import Sequence
from typing import Any

from monitor.charts.palette import Palette
from monitor.charts.panel import Panel
from monitor.charts.walltime import wall_ms
from monitor.model.scale import Priority

APART = 0.026  # of the axis, about a mark's own width
LANE_PX = -13
SHAPES = {
    # Corners of the shapes on a circle of radius 1; Vega scales them.
    Priority.ALARM: "M.41-1L1-.41 1 .41 .41 1-.41 1-1 .41-1-.41-.41-1Z",
    Priority.WARNING: "M0-1.15L1.1.85-1.1.85Z",
    Priority.CAUTION: "M0-1.15L1.15 0 0 1.15-1.15 0Z",
}
NUMBERS = {Priority.ALARM: "1", Priority.WARNING: "2", Priority.CAUTION: "3"}


def at(field: str) -> dict[str, Any]:
    """Encode a field of wall times on the time axis."""
    return {"field": field, "type": "temporal", "scale": {"type": "utc", "nice": False}}


def pushed_apart(places: Sequence[float], apart: float, low: float, high: float) -> list[float]:
    """Move marks so that none is nearer to the next than ``apart``, as little as a pass each way can, within the axis.

    >>> pushed_apart([0.0, 5.0, 5.0], 2.0, 0.0, 6.0)
    [0.0, 4.0, 6.0]
    """
    moved = sorted(places)
    for n in range(1, len(moved)):
        moved[n] = max(moved[n], moved[n - 1] + apart)
    reach = high
    for n in reversed(range(len(moved))):
        moved[n] = max(min(moved[n], reach), low)
        reach = moved[n] - apart
    return moved


def mark_layers(panel: Panel, palette: Palette) -> list[dict[str, Any]]:
    """Give the layers that draw a panel's alert marks."""
    begin, end = wall_ms(panel.from_ms, panel.zone), wall_ms(panel.to_ms, panel.zone)
    marks = sorted(panel.marks, key=lambda m: m.at_ms)[-int(1 / APART) :]
    true = [min(max(wall_ms(m.at_ms, panel.zone), begin), end) for m in marks]
    placed = pushed_apart(true, (end - begin) * APART, begin, end)
    layers: list[dict[str, Any]] = []
    rows = [{"t": t, "p": p, "k": m.priority.word} for t, p, m in zip(true, placed, marks, strict=True)]
    if not rows:
        return layers
    at_true = {"x": at("t")}
    at_placed = {"x": at("p")}
    thin = {"type": "rule", "color": palette.muted, "strokeWidth": 1}
    layers.append(
        {
            "data": {"values": rows},
            "mark": {**thin, "strokeDash": [1, 3]},
            "encoding": {**at_true, "y": {"value": 0}, "y2": {"value": "height"}},
        }
    )
    layers.append(
        {
            "data": {"values": rows},
            "mark": thin,
            "encoding": {**at_placed, "x2": {"field": "t"}, "y": {"value": LANE_PX + 6}, "y2": {"value": 0}},
        }
    )
    for priority in Priority:
        some = [row for row in rows if row["k"] == priority.word]
        if not some:
            continue
        layers.append(
            {
                "data": {"values": some},
                "mark": {"type": "point", "shape": SHAPES[priority], "size": 230, "filled": True, "opacity": 1}
                | {"color": palette.alerts[priority], "stroke": palette.edge, "strokeWidth": 1, "clip": False},
                "encoding": {**at_placed, "y": {"value": LANE_PX}},
            }
        )
        layers.append(
            {
                "data": {"values": some},
                "mark": {"type": "text", "text": NUMBERS[priority], "fontWeight": "bold", "fontSize": 11, "dy": 0.5}
                | {"color": palette.numeral[priority], "baseline": "middle"},
                "encoding": {**at_placed, "y": {"value": LANE_PX}},
            }
        )
    return layers
