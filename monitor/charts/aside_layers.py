"""Spans in which alerts were put aside: a barred strip along the top of the plot, named where there is room."""

from typing import Any

from monitor.charts.marks import at
from monitor.charts.palette import Palette
from monitor.charts.panel import Panel
from monitor.charts.walltime import wall_ms

STRIP_Y_PX, NAME_Y_PX = 4, 16
NAME_NEEDS, NARROW_NAME_NEEDS = 0.1, 0.4
"""Share of the axis that the strip's name takes."""


def aside_layers(panel: Panel, palette: Palette, *, narrow: bool) -> list[dict[str, Any]]:
    """Give the layers of a panel's put-aside spans."""
    width, needs = panel.to_ms - panel.from_ms, NARROW_NAME_NEEDS if narrow else NAME_NEEDS
    inside = [(max(begin, panel.from_ms), min(end, panel.to_ms)) for begin, end in panel.aside]
    rows = [{"x": wall_ms(a, panel.zone), "x2": wall_ms(b, panel.zone)} for a, b in inside if a < b]
    wide = [{"x": (row["x"] + row["x2"]) / 2} for row in rows if row["x2"] - row["x"] > width * needs]
    strip = {"type": "rule", "color": palette.muted, "strokeWidth": 7, "strokeDash": [2, 2]}
    name = {"type": "text", "text": "put aside", "baseline": "middle"}
    halo = {"color": palette.ground, "stroke": palette.ground, "strokeWidth": 4}
    return [
        {
            "data": {"values": rows},
            "mark": strip,
            "encoding": {"x": at("x"), "x2": {"field": "x2"}, "y": {"value": STRIP_Y_PX}},
        },
        *(
            {"data": {"values": wide}, "mark": name | ink, "encoding": {"x": at("x"), "y": {"value": NAME_Y_PX}}}
            for ink in (halo, {"color": palette.muted})
        ),
    ]
