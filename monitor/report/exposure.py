"""How long and how far something lay beyond a limit, from the hours of its sensor.

An hour counts where its mean lies at or beyond the limit; its depth is how far beyond that mean lies. An hour whose
mean lies on the right side can have been beyond for minutes: those are counted beside it, by the reading farthest out.
Where nothing was heard, nothing is counted: the true figure can only be larger.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from monitor.model.scale import Flag
from monitor.model.views import Bucket, ReadingView

HOUR_MS = 3_600_000


@dataclass(frozen=True, slots=True)
class Beyond:
    """A thing against one limit, over a span in which its record did not change.

    Attributes:
        what: the thing, and how it was left.
        limit: the limit, in the sensor's unit.
        limit_words: what the limit is, where its figure does not say so.
        above: whether above it is the wrong side.
        from_ms: the begin of the span.
        to_ms: its end.
        hours: hours whose mean was at or beyond it.
        depth_hours: how far beyond, summed over those, in unit times hours.
        touched: hours of which at least one reading was at or beyond it.
        farthest: the reading farthest to the wrong side, None where none was believed.
        farthest_ms: the hour of it.
        heard: hours of which a reading was believed.
        doubted: hours among them of which a reading was suspect or failed.
    """

    what: str
    limit: float
    limit_words: str
    above: bool
    from_ms: int
    to_ms: int
    hours: int
    depth_hours: float
    touched: int
    farthest: float | None
    farthest_ms: int | None
    heard: int
    doubted: int


@dataclass(frozen=True, slots=True)
class Held:
    """What a sensor is held against: the thing in words, the limit and what it is, and which side of it is wrong."""

    what: str
    sensor: str
    limit: float
    limit_words: str = ""
    above: bool = False


def hourly(readings: ReadingView, vessel: str, sensor: str, from_ms: int, to_ms: int, since_ms: int) -> list[Bucket]:
    """Give a sensor's hours of a span; an hour in which the span begins belongs to what was before, if anything was.

    Args:
        readings: what sensors said.
        vessel: whose.
        sensor: which.
        from_ms: the begin of the span.
        to_ms: its end.
        since_ms: the begin of the whole winter.
    """
    at_most = -(-to_ms // HOUR_MS) - from_ms // HOUR_MS
    found = readings.buckets(vessel, sensor, from_ms // HOUR_MS * HOUR_MS, to_ms, at_most).buckets
    return [bucket for bucket in found if from_ms == since_ms or bucket.start_ms >= from_ms]


def beyond(held: Held, hours: Sequence[Bucket], from_ms: int, to_ms: int) -> Beyond:
    """Hold a sensor's hours against a limit."""
    sign = 1.0 if held.above else -1.0
    believed = [
        (b.start_ms, b.high if held.above else b.low, b.mean, b.worst)
        for b in hours
        if b.low is not None and b.high is not None and b.mean is not None
    ]
    ends = [(at, end) for at, end, _, _ in believed if end is not None]
    deep = [sign * (mean - held.limit) for *_, mean, _ in believed if sign * (mean - held.limit) >= 0.0]
    farthest = max(((sign * end, -at) for at, end in ends), default=None)
    return Beyond(
        held.what,
        held.limit,
        held.limit_words,
        held.above,
        from_ms,
        to_ms,
        len(deep),
        sum(deep),
        sum(sign * (end - held.limit) >= 0.0 for _, end in ends),
        None if farthest is None else sign * farthest[0],
        None if farthest is None else -farthest[1],
        len(believed),
        sum(worst >= Flag.SUSPECT for *_, worst in believed),
    )
