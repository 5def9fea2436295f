"""Marks in a lane above the plot, pushed apart, each with a leader to its true time: alerts, and what people did."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from monitor.charts.palette import Palette
from monitor.charts.panel import MarkKind, Panel
from monitor.charts.walltime import wall_ms
from monitor.model.scale import Priority

APART, NARROW_APART = 0.026, 0.075  # of the axis, about a mark's own width
LANE_PX = -13
SHAPES = {
    # Corners of the shapes on a circle of radius 1; Vega scales them.
    Priority.ALARM: "M.41-1L1-.41 1 .41 .41 1-.41 1-1 .41-1-.41-.41-1Z",
    Priority.WARNING: "M0-1.15L1.1.85-1.1.85Z",
    Priority.CAUTION: "M0-1.15L1.15 0 0 1.15-1.15 0Z",
}
DONE = {
    # A pin for who was aboard, a sheet for the record, an arrow for where she was brought.
    MarkKind.VISIT: "M-.9-1H.9V.35L0 1.2-.9.35Z",
    MarkKind.RECORD: "M-.85-1H.35L.9-.45V1H-.85Z",
    MarkKind.MOVE: "M-1.25-.9H.55L1.5 0 .55.9H-1.25Z",
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


@dataclass(frozen=True, slots=True)
class _Mark:
    """A mark in the lane: of equals in a crowd the one of higher weight stays."""

    at_ms: int
    weight: int
    shape: str
    sign: str
    fill: str
    ink: str
    edge: str


def mark_layers(panel: Panel, palette: Palette, apart: float = APART) -> list[dict[str, Any]]:
    """Give the layers that draw a panel's marks: alerts, and what people did.

    Args:
        panel: what it shows.
        palette: the inks.
        apart: share of the axis that a mark takes.
    """
    begin, end = wall_ms(panel.from_ms, panel.zone), wall_ms(panel.to_ms, panel.zone)
    marks = _room_for(_marks(panel, palette), apart)
    true = [min(max(wall_ms(m.at_ms, panel.zone), begin), end) for m in marks]
    placed = pushed_apart(true, (end - begin) * apart, begin, end)
    layers: list[dict[str, Any]] = []
    rows = [{"t": t, "p": p, "k": m.sign} for t, p, m in zip(true, placed, marks, strict=True)]
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
    for one in {mark.sign: mark for mark in sorted(marks, key=lambda m: -m.weight)}.values():
        some = [row for row in rows if row["k"] == one.sign]
        layers.append(
            {
                "data": {"values": some},
                "mark": {"type": "point", "shape": one.shape, "size": 230, "filled": True, "opacity": 1}
                | {"color": one.fill, "stroke": one.edge, "strokeWidth": 1, "clip": False},
                "encoding": {**at_placed, "y": {"value": LANE_PX}},
            }
        )
        layers.append(
            {
                "data": {"values": some},
                "mark": {"type": "text", "text": one.sign, "fontWeight": "bold", "fontSize": 11, "dy": 0.5}
                | {"color": one.ink, "baseline": "middle"},
                "encoding": {**at_placed, "y": {"value": LANE_PX}},
            }
        )
    return layers


def _marks(panel: Panel, palette: Palette) -> list[_Mark]:
    alerts = [
        _Mark(
            m.at_ms,
            len(MarkKind) + m.priority,
            SHAPES[m.priority],
            NUMBERS[m.priority],
            palette.alerts[m.priority],
            palette.numeral[m.priority],
            palette.edge,
        )
        for m in panel.marks
    ]
    kinds = list(MarkKind)
    return alerts + [
        _Mark(
            h.at_ms,
            len(kinds) - kinds.index(h.kind),
            DONE[h.kind],
            h.kind.value,
            palette.ground,
            palette.ink,
            palette.muted,
        )
        for h in panel.happenings
    ]


def _room_for(marks: Sequence[_Mark], apart: float) -> list[_Mark]:
    """Give what the lane has room for, in time order: the weightiest, and of those the newest."""
    kept = sorted(marks, key=lambda m: (m.weight, m.at_ms))[-int(1 / apart) :]
    return sorted(kept, key=lambda m: m.at_ms)
