"""How the time to come is drawn: a line at now, and what is foretold as a pin-striped band about a dotted line."""

from typing import Any

from monitor.charts.marks import at
from monitor.charts.palette import Palette
from monitor.charts.panel import Panel
from monitor.charts.walltime import wall_ms

NAME_Y_PX = 10
MOST_STRIPES = 60
LONG_NAME_NEEDS = 0.22
"""Share of the axis."""


def foretold_layers(panel: Panel, palette: Palette, *, narrow: bool) -> list[dict[str, Any]]:
    """Give the layers of the time to come; none where all of the axis is past. A narrow place has no room for names."""
    if panel.now_ms is None or panel.now_ms >= panel.to_ms:
        return []
    now = {"data": {"values": [{"t": wall_ms(panel.now_ms, panel.zone)}]}}
    line = {"type": "rule", "color": palette.ink, "strokeWidth": 1}
    layers: list[dict[str, Any]] = [now | {"mark": line, "encoding": {"x": at("t")}}]
    for band in panel.foretold:
        rows = [
            {"t": wall_ms(p.at_ms, panel.zone), "v": _tidy(p.value), "lo": _tidy(p.low), "hi": _tidy(p.high)}
            for p in band.points
        ]
        stripes = rows[:: 1 + len(rows) // MOST_STRIPES]
        best = {"type": "line", "color": palette.ink, "strokeWidth": 1.6, "strokeDash": [1, 3], "strokeCap": "square"}
        layers += [
            _layer(stripes, {"type": "rule", "color": palette.muted, "strokeWidth": 1, "opacity": 0.55}, "lo", "hi"),
            _layer(rows, {"type": "line", "color": palette.muted, "strokeWidth": 1}, "lo"),
            _layer(rows, {"type": "line", "color": palette.muted, "strokeWidth": 1}, "hi"),
            _layer([row | {"s": f"{band.name}, foretold"} for row in rows], best, "v"),
        ]
    room = (panel.to_ms - panel.now_ms) / (panel.to_ms - panel.from_ms)
    name = "now, then foretold" if panel.foretold and room > LONG_NAME_NEEDS and not narrow else "now"
    text = {"type": "text", "text": name, "align": "left", "dx": 4}
    encoding = {"x": at("t"), "y": {"value": NAME_Y_PX}}
    halo = {"color": palette.ground, "stroke": palette.ground, "strokeWidth": 4}
    return [*layers, *(now | {"mark": text | ink, "encoding": encoding} for ink in (halo, {"color": palette.muted}))]


def _layer(rows: list[dict[str, Any]], mark: dict[str, Any], y: str, y2: str | None = None) -> dict[str, Any]:
    encoding = {"x": at("t"), "y": {"field": y, "type": "quantitative"}}
    return {"data": {"values": rows}, "mark": mark, "encoding": encoding | ({"y2": {"field": y2}} if y2 else {})}


def _tidy(value: float | None) -> float | None:
    return None if value is None else round(value, 2)
