"""A panel as a Vega-Lite specification."""

import math
from typing import Any

from monitor.charts.ahead_layers import foretold_layers
from monitor.charts.aside_layers import aside_layers
from monitor.charts.gaps import gaps, hatching, pieces
from monitor.charts.marks import APART, NARROW_APART, at, mark_layers
from monitor.charts.palette import DASHES, Palette
from monitor.charts.panel import Panel, Point, Series
from monitor.charts.style import style
from monitor.charts.walltime import wall_ms
from monitor.model.scale import Flag

SCHEMA = "https://vega.github.io/schema/vega-lite/v6.json"
VEGA_LITE = "6.4"
"""The version that specifications are drawn by."""
HEIGHT = 170
LANE = 26
NAME_PX = 17
NARROW_NAME_PX = 230
DAY_MS = 86_400_000
Layer = dict[str, Any]
X = at("t")


def specification(
    panel: Panel, palette: Palette, *, width: int | str = "container", font: str = "system-ui", columns: int = 0
) -> Layer:
    """Draw a panel.

    Args:
        panel: what it shows.
        palette: the inks.
        width: pixels, or ``container`` to fill what holds it.
        font: font family of its text.
        columns: for a narrow place, how many names of lines stand beside each other; 0 puts all in one row.
    """
    low, high = y_domain(panel)
    layers = [
        *_gap_layers(panel, palette, low, high),
        *foretold_layers(panel, palette, narrow=bool(columns)),
        *_series_layers(panel, palette, columns),
        *_limit_layers(panel, palette, low, high, NARROW_NAME_PX if columns else None),
        *_suspect_layers(panel, palette),
        *aside_layers(panel, palette, narrow=bool(columns)),
        *mark_layers(panel, palette, NARROW_APART if columns else APART),
    ]
    return {
        "$schema": SCHEMA,
        "description": " ".join((f"{panel.title}.", *panel.sentences)),
        "width": width,
        "height": HEIGHT,
        "autosize": {"type": "fit-x", "contains": "padding"},
        "padding": {
            "left": 4,
            "right": 8,
            "top": LANE if panel.has_lane and len(panel.series) == 1 else 6,
            "bottom": 4,
        },
        "background": palette.ground,
        "layer": [_frame(panel, low, high), *(layer for layer in layers if layer["data"]["values"])],
        "config": style(palette, font),
    }


def y_domain(panel: Panel) -> tuple[float, float]:
    """Give the ends of the value axis: every reading and every limit lies inside."""
    values = [v for s in panel.series for p in s.points for v in (p.low, p.high) if v is not None]
    values += [limit.value for limit in panel.limits]
    values += [v for band in panel.foretold for p in band.points for v in (p.low, p.high) if v is not None]
    values += [v for v in (panel.floor, panel.ceiling) if v is not None]
    low, high = min(values, default=0.0), max(values, default=1.0)
    room = max((high - low) * 0.08, 10.0**-panel.digits)
    return low - (0.0 if panel.floor == low else room), high + (0.0 if panel.ceiling == high else room)


def _frame(panel: Panel, low: float, high: float) -> Layer:
    """Set both axes up, and draw nothing."""
    begin, end = wall_ms(panel.from_ms, panel.zone), wall_ms(panel.to_ms, panel.zone)
    long = panel.to_ms - panel.from_ms > 20 * DAY_MS
    day = "utcFormat(datum.value, '%-d %b')"
    hour = "utchours(datum.value) == 0 ? utcFormat(datum.value, '%a %-d') : utcFormat(datum.value, '%H:%M')"
    # The two invisible points span the axis: a domain given as such is an expression that the page's policy breaks.
    x_axis = {"title": None, "labelExpr": day if long else hour, "labelOverlap": True, "tickCount": 8}
    y_scale = {"domain": [low, high], "nice": False, "zero": False}
    y_axis = {"title": panel.unit, "tickCount": 5, "labelExpr": "replace(datum.label, '-', '\u2212')"}
    return {
        "data": {"values": [{"t": begin, "v": low}, {"t": end, "v": high}]},
        "mark": {"type": "point", "opacity": 0},
        "encoding": {
            "x": X | {"axis": x_axis},
            "y": {
                "field": "v",
                "type": "quantitative",
                "scale": y_scale,
                "axis": y_axis,
            },
        },
    }


def _series_layers(panel: Panel, palette: Palette, columns: int) -> list[Layer]:
    rows: list[Layer] = []
    bands: list[Layer] = []
    dots: list[Layer] = []
    inks = [palette.series[n % len(palette.series)] for n in range(len(panel.series))]
    y = {"field": "v", "type": "quantitative"}
    low_high = {"y": {"field": "lo", "type": "quantitative"}, "y2": {"field": "hi"}}
    detail = {"field": "g", "type": "nominal"}
    for series, ink in zip(panel.series, inks, strict=True):
        own: list[Layer] = []
        alone: list[Layer] = []
        for number, piece in enumerate(pieces(series)):
            (own if len(piece) > 1 else alone).extend(_row(panel, series, number, p) for p in piece)
        rows += own
        band = {"type": "area", "opacity": 0.16, "line": False, "color": ink}
        if any(row["lo"] != row["hi"] for row in own):
            bands.append({"data": {"values": own}, "mark": band, "encoding": {"x": X, **low_high, "detail": detail}})
        dot = {"type": "point", "filled": True, "size": 14, "opacity": 1, "color": ink}
        if alone:
            dots.append({"data": {"values": alone}, "mark": dot, "encoding": {"x": X, "y": y}})
    names = [s.name for s in panel.series]
    legend = {"orient": "top", "title": None, "symbolType": "stroke", "labelLimit": 260, "columns": columns}
    legend["offset"] = 4 + LANE if panel.has_lane else 6
    shown = {"field": "s", "type": "nominal", "legend": legend if len(names) > 1 else None}
    dashes = [list(DASHES[n % len(DASHES)]) for n in range(len(names))]
    colour = shown | {"scale": {"domain": names, "range": inks}}
    dash = shown | {"scale": {"domain": names, "range": dashes}}
    line = {
        "data": {"values": rows},
        "mark": {"type": "line", "strokeCap": "butt", "strokeJoin": "round", "strokeWidth": 1.8},
        "encoding": {"x": X, "y": y, "color": colour, "strokeDash": dash, "detail": detail},
    }
    return [*bands, line, *dots]


def _row(panel: Panel, series: Series, number: int, point: Point) -> Layer:
    digits = panel.digits
    return {
        "t": _place(panel, point.at_ms),
        "v": _tidy(point.value, digits),
        "lo": _tidy(point.low, digits),
        "hi": _tidy(point.high, digits),
        "s": series.name,
        "g": f"{series.name} {number}",
    }


def _place(panel: Panel, at_ms: int) -> int:
    """Give where a point stands: a bucket that begins before the axis does is drawn at its edge."""
    return wall_ms(max(at_ms, panel.from_ms), panel.zone)


def _limit_layers(panel: Panel, palette: Palette, low: float, high: float, name_px: int | None) -> list[Layer]:
    y = {"field": "v", "type": "quantitative"}
    lines = [{"v": limit.value} for limit in panel.limits]
    line = {"type": "rule", "color": palette.limit, "strokeWidth": 1, "strokeDash": [10, 4]}
    layers: list[Layer] = [{"data": {"values": lines}, "mark": line, "encoding": {"y": y}}]
    # Names of limits that lie close together stand at different places along their lines.
    at: list[tuple[Layer, Layer]] = [
        ({"value": 0}, {"align": "left", "dx": 5}),
        ({"value": "width"}, {"align": "right", "dx": -5}),
    ]
    close = (high - low) * NAME_PX / HEIGHT
    side, before = 0, -math.inf
    for limit in sorted(panel.limits, key=lambda limit: limit.value):
        side = 1 - side if limit.value - before < close else 0
        before = limit.value
        x, placed = at[side]
        name = {"type": "text", "baseline": "bottom", "dy": -3, "color": palette.limit, **placed}
        if name_px is not None:
            name["limit"] = name_px
        # A halo of the ground keeps the name readable where lines cross it.
        halo = {"color": palette.ground, "stroke": palette.ground, "strokeWidth": 3, "opacity": 0.85}
        encoding = {"x": x, "y": y, "text": {"value": limit.name}}
        values = {"values": [{"v": limit.value}]}
        layers += [{"data": values, "mark": mark, "encoding": encoding} for mark in (name | halo, name)]
    return layers


def _suspect_layers(panel: Panel, palette: Palette) -> list[Layer]:
    rows = [
        {"t": _place(panel, p.at_ms), "v": _tidy(p.value, panel.digits)}
        for s in panel.series
        for p in s.points
        if p.flag is Flag.SUSPECT and p.value is not None
    ]
    return [
        {
            "data": {"values": rows},
            "mark": {"type": "point", "shape": "cross", "size": 60, "angle": 45, "filled": False, "opacity": 1}
            | {"color": palette.suspect, "strokeWidth": 1.2},
            "encoding": {"x": X, "y": {"field": "v", "type": "quantitative"}},
        }
    ]


def _gap_layers(panel: Panel, palette: Palette, low: float, high: float) -> list[Layer]:
    spans = [(wall_ms(a, panel.zone), wall_ms(b, panel.zone)) for a, b in gaps(panel)]
    width = wall_ms(panel.to_ms, panel.zone) - wall_ms(panel.from_ms, panel.zone)
    strokes = hatching(spans, width, low, high)
    rows = [{"x": round(x), "y": y, "x2": round(x2), "y2": y2} for x, y, x2, y2 in strokes]
    wide = [{"x": (a + b) / 2} for a, b in spans if b - a > width * 0.12]
    return [
        {
            "data": {"values": rows},
            "mark": {"type": "rule", "color": palette.hatch, "strokeWidth": 1},
            "encoding": {
                "x": at("x"),
                "x2": {"field": "x2"},
                "y": {"field": "y", "type": "quantitative"},
                "y2": {"field": "y2"},
            },
        },
        *(
            {
                "data": {"values": wide},
                "mark": {"type": "text", "text": "nothing heard", "baseline": "middle"} | ink,
                "encoding": {"x": at("x"), "y": {"value": HEIGHT / 2}},
            }
            for ink in (
                {"color": palette.ground, "stroke": palette.ground, "strokeWidth": 6},
                {"color": palette.muted},
            )
        ),
    ]


def _tidy(value: float | None, digits: int) -> float | None:
    return None if value is None or not math.isfinite(value) else round(value, digits + 1)
