"""What one chart shows, before it is drawn."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from zoneinfo import ZoneInfo

from monitor.model.scale import Flag, Priority


@dataclass(frozen=True, slots=True)
class Point:
    """A series at one time: its mean and how far it went; None where readings came but none can be believed."""

    at_ms: int
    value: float | None
    low: float | None
    high: float | None
    flag: Flag = Flag.PASS


@dataclass(frozen=True, slots=True)
class Series:
    """One line.

    Attributes:
        name: its name.
        points: its points in time order.
        gap_ms: how far apart points may be before it counts as a gap.
        newest: its last reading as (time, value), where that is known; a point is the mean of all readings of its step.
    """

    name: str
    points: Sequence[Point]
    gap_ms: int
    newest: tuple[int, float] | None = None


@dataclass(frozen=True, slots=True)
class LimitLine:
    """A limit, named on its line.

    Attributes:
        name: what stands on the line.
        value: where it lies.
        holds_for: names of the series it is held against; a limit for none of them only stands there.
        harm_above: harm lies above it; else below.
        told_after_ms: how long it must be passed before anybody is told; None where that is not said.
    """

    name: str
    value: float
    holds_for: frozenset[str] = frozenset()
    harm_above: bool = False
    told_after_ms: int | None = None


@dataclass(frozen=True, slots=True)
class AlertMark:
    """An alert's opening."""

    at_ms: int
    priority: Priority
    title: str


class MarkKind(StrEnum):
    """What else stands on the time axis, beside alerts: its letter stands in its mark. The first has the room first."""

    VISIT = "V"
    MOVE = "M"
    RECORD = "R"


@dataclass(frozen=True, slots=True)
class Happening:
    """Something that people did, at its time."""

    at_ms: int
    kind: MarkKind
    words: str


@dataclass(frozen=True, slots=True)
class Band:
    """What is foretold.

    Attributes:
        name: of what.
        points: the best estimate and how far it may be off, in time order.
        came_ms: when it was foretold.
    """

    name: str
    points: Sequence[Point]
    came_ms: int


@dataclass(frozen=True, slots=True)
class Panel:
    """One chart.

    Attributes:
        key: its name in addresses.
        title: its heading.
        unit: unit of its axis, as printed.
        digits: decimals of its figures.
        series: its lines.
        limits: its limits.
        marks: alerts that it bears on.
        from_ms: start of its time axis.
        to_ms: end of it.
        zone: the yard's time zone.
        sentences: what it shows, in words.
        now_ms: the time now, None where all of the axis is past; nothing can have been heard after it.
        foretold: what is foretold from now on.
        happenings: what people did.
        aside: spans (ms UTC) in which alerts that it bears on were put aside.
        told: whether an alert that it bears on is open.
        floor: the axis reaches down to this at least, and ``ceiling`` up, where they are given.
    """

    key: str
    title: str
    unit: str
    digits: int
    series: Sequence[Series]
    limits: Sequence[LimitLine]
    marks: Sequence[AlertMark]
    from_ms: int
    to_ms: int
    zone: ZoneInfo
    sentences: Sequence[str] = field(default_factory=tuple)
    now_ms: int | None = None
    foretold: Sequence[Band] = ()
    happenings: Sequence[Happening] = ()
    aside: Sequence[tuple[int, int]] = ()
    told: bool = False
    floor: float | None = None
    ceiling: float | None = None

    @property
    def heard_to_ms(self) -> int:
        """The end of the time of which something can have been heard."""
        return self.to_ms if self.now_ms is None else min(self.to_ms, self.now_ms)

    @property
    def has_lane(self) -> bool:
        """Whether marks stand above it."""
        return bool(self.marks or self.happenings)

    @property
    def is_empty(self) -> bool:
        """Whether not one reading stands in it."""
        return not any(p.value is not None for s in self.series for p in s.points)
