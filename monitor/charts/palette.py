"""Inks of the charts, on light and on dark ground. Hue is for what is abnormal: series differ by dash and weight."""

from dataclasses import dataclass

from monitor.model.scale import Priority


@dataclass(frozen=True, slots=True)
class Palette:
    """One ground's inks.

    Attributes:
        ink: text.
        muted: axes and lesser text.
        grid: grid lines.
        ground: what it is drawn on.
        series: the lines, one after another.
        limit: limit lines and their names.
        hatch: strokes over a gap.
        suspect: readings that are not to be believed.
        edge: outline of an alert mark.
        alerts: fill of alert marks by priority.
        numeral: text inside an alert mark, by priority.
    """

    ink: str
    muted: str
    grid: str
    ground: str
    series: tuple[str, ...]
    limit: str
    hatch: str
    suspect: str
    edge: str
    alerts: dict[Priority, str]
    numeral: dict[Priority, str]


LIGHT = Palette(
    ink="#1c2327",
    muted="#4d585e",
    grid="#e3e5e1",
    ground="#ffffff",
    series=("#1f2d36", "#78939f", "#1f2d36", "#53666f", "#78939f"),
    limit="#4d585e",
    hatch="#b9bfbd",
    suspect="#4d585e",
    edge="#1c2327",
    alerts={Priority.ALARM: "#960F1C", Priority.WARNING: "#BF5209", Priority.CAUTION: "#F5C92E"},
    numeral={Priority.ALARM: "#ffffff", Priority.WARNING: "#ffffff", Priority.CAUTION: "#1c2327"},
)
DARK = Palette(
    ink="#e6e9e8",
    muted="#a7b0b3",
    grid="#2b3236",
    ground="#181d20",
    series=("#e4eaec", "#7f9aa6", "#e4eaec", "#a9bcc4", "#7f9aa6"),
    limit="#a7b0b3",
    hatch="#4a5357",
    suspect="#a7b0b3",
    edge="#181d20",
    alerts={Priority.ALARM: "#F4574F", Priority.WARNING: "#FFB04A", Priority.CAUTION: "#FFF09A"},
    numeral={Priority.ALARM: "#14181a", Priority.WARNING: "#14181a", Priority.CAUTION: "#14181a"},
)
DASHES: tuple[tuple[int, ...], ...] = ((1, 0), (1, 0), (6, 3), (2, 2), (9, 3, 2, 3))
