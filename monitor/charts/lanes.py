"""Lanes under a vessel's charts: rows of named bars on the same time axis, which say what was so, and when."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any
from zoneinfo import ZoneInfo

from monitor.charts.marks import at
from monitor.charts.palette import Palette
from monitor.charts.walltime import wall_ms

ROW_PX, BAR_TOP_PX, BAR_PX = 36, 19, 14
FOOT_PX = 6
NARROWEST = 0.003  # of the axis: what lasted a minute is still seen
LETTER_NEEDS = 0.014
CHAR_PX = 6.8  # about a letter's width at 13 px


@dataclass(frozen=True, slots=True)
class Bar:
    """A time in a row.

    Attributes:
        from_ms: since when, ms UTC.
        to_ms: until when.
        ink: its fill.
        share: how much of the row's height it fills, 0 to 1.
        letter: what stands in it where there is room.
        letter_ink: ink of that.
    """

    from_ms: int
    to_ms: int
    ink: str
    share: float = 1.0
    letter: str = ""
    letter_ink: str = ""


@dataclass(frozen=True, slots=True)
class Row:
    """A named row of bars."""

    name: str
    bars: Sequence[Bar]


def lanes(
    title: str, rows: Sequence[Row], from_ms: int, to_ms: int, zone: ZoneInfo, palette: Palette, *, width: int
) -> dict[str, Any]:
    """Draw rows over each other, each with its name above its bars.

    Args:
        title: what stands over them.
        rows: the rows, the first one on top.
        from_ms: start of the time axis, ms UTC.
        to_ms: end of it.
        zone: the yard's time zone.
        palette: the inks.
        width: of the time axis, pixels.
    """
    begin, end = wall_ms(from_ms, zone), wall_ms(to_ms, zone)
    bars, letters, names = [], [], []
    for n, row in enumerate(rows):
        top = n * ROW_PX
        foot = top + BAR_TOP_PX + BAR_PX
        placed = [_place(bar, begin, end, zone) for bar in row.bars]
        for bar, (x, x2) in zip(row.bars, placed, strict=True):
            bars.append({"t": x, "t2": x2, "y": foot - BAR_PX * bar.share, "y2": foot, "ink": bar.ink})
            if bar.letter and x2 - x > LETTER_NEEDS * (end - begin):
                middle = foot - BAR_PX * bar.share / 2
                letters.append({"t": (x + x2) / 2, "y": middle, "s": bar.letter, "ink": bar.letter_ink})
        first, last = min(x for x, _ in placed), max(x2 for _, x2 in placed)
        right = width * (first - begin) / (end - begin) + CHAR_PX * len(row.name) > width
        names.append({"t": last if right else first, "y": top + BAR_TOP_PX - 3, "s": row.name, "right": right})
    height = len(rows) * ROW_PX + FOOT_PX
    y = {"field": "y", "type": "quantitative", "axis": None, "scale": {"domain": [height, 0], "nice": False}}
    ink = {"field": "ink", "type": "nominal", "scale": None, "legend": None}
    text = {"field": "s", "type": "nominal"}
    axis = {"title": None, "labelExpr": "utcFormat(datum.value, '%-d %b')", "labelOverlap": True, "tickCount": 8}
    span = [{"t": begin, "y": 0}, {"t": end, "y": height}]
    layers = [
        {
            "data": {"values": span},
            "mark": {"type": "point", "opacity": 0},
            "encoding": {"x": at("t") | {"axis": axis}, "y": y},
        },
        {
            "data": {"values": bars},
            "mark": {"type": "rect", "stroke": palette.edge, "strokeWidth": 0.5},
            "encoding": {"x": at("t"), "x2": {"field": "t2"}, "y": y, "y2": {"field": "y2"}, "color": ink},
        },
        {
            "data": {"values": letters},
            "mark": {"type": "text", "baseline": "middle", "fontSize": 11, "fontWeight": "bold", "dy": 0.5},
            "encoding": {"x": at("t"), "y": y, "text": text, "color": ink},
        },
    ]
    for right, align in ((False, "left"), (True, "right")):
        some = [{k: v for k, v in name.items() if k != "right"} for name in names if name["right"] is right]
        mark = {"type": "text", "align": align, "baseline": "bottom", "color": palette.ink}
        layers.append({"data": {"values": some}, "mark": mark, "encoding": {"x": at("t"), "y": y, "text": text}})
    return {
        "title": {"text": title, "anchor": "start", "frame": "group"},
        "width": width,
        "height": height,
        "layer": [layer for layer in layers if layer["data"]["values"]],  # type: ignore[index]
    }


def _place(bar: Bar, begin: int, end: int, zone: ZoneInfo) -> tuple[float, float]:
    """Give a bar's ends on the axis, wide enough to be seen and within it."""
    narrowest = NARROWEST * (end - begin)
    x = min(max(wall_ms(bar.from_ms, zone), begin), end - narrowest)
    return x, min(max(wall_ms(bar.to_ms, zone), x + narrowest), end)
