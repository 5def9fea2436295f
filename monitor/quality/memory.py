"""What the quality tests keep of one sensor. Bounded: it does not grow with the winter."""

from dataclasses import dataclass, field

from monitor.model.reading import Reading


@dataclass(frozen=True, slots=True)
class Tooth:
    """A value that stood out from both its neighbours: when (event time ms), what, and on which side."""

    at_ms: int
    value: float
    upward: bool


@dataclass(slots=True)
class SensorQuality:
    """One sensor as its tests know it.

    Attributes:
        last: newest value that did not fail.
        last_ms: its event time.
        believed: newest value that passed, None before the first.
        waiting: a reading whose flag waits for its neighbour.
        teeth: the last values that stood out from both their neighbours, oldest first; of a level, below its high mark.
        run_from_ms: event time from which the value has not changed.
        run: how many readings the value has not changed.
        changes: running share of readings that differed from the one before.
        moves: running share of readings that differed by more than one step of the sensor's resolution.
        step: smallest change seen, which is that step; None before the first change.
        seen: how many readings the shares rest on.
    """

    last: float | None = None
    last_ms: int = 0
    believed: float | None = None
    waiting: Reading | None = None
    teeth: list[Tooth] = field(default_factory=list)
    run_from_ms: int = 0
    run: int = 0
    changes: float = 0.0
    moves: float = 0.0
    step: float | None = None
    seen: int = 0
