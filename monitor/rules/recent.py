"""A bounded window of a sensor's last readings, thinned to an even spacing, and the slope through it."""

from dataclasses import dataclass, field

from monitor.rules.rule import HOUR_MS


@dataclass(slots=True)
class Recent:
    """The last readings of one sensor, oldest first, as (event time ms, value)."""

    points: list[tuple[int, float]] = field(default_factory=list)


def remember(recent: Recent, at_ms: int, value: float, *, span_ms: int, spacing_ms: int) -> None:
    """Add a reading, and drop what is older than the span before it.

    A reading closer than the spacing to the one before takes that one's place, unless that one is the only anchor,
    so that the window holds at most ``span_ms / spacing_ms + 2`` points however fast the sensor talks.
    """
    points = recent.points
    if len(points) > 1 and at_ms - points[-2][0] < spacing_ms:
        points[-1] = (at_ms, value)
    else:
        points.append((at_ms, value))
    oldest = at_ms - span_ms
    drop = 0
    while points[drop][0] < oldest:
        drop += 1
    if drop:
        del points[:drop]


def slope_per_hour(recent: Recent, *, at_least_ms: int) -> float | None:
    """Give the least-squares slope through the window, per hour.

    Returns:
        The slope; None where the window is shorter than ``at_least_ms`` and a slope would be noise.

    >>> slope_per_hour(Recent([(0, 5.0), (3_600_000, 4.0), (7_200_000, 3.0)]), at_least_ms=3_600_000)
    -1.0
    """
    points = recent.points
    if not points or points[-1][0] - points[0][0] < at_least_ms:
        return None
    start = points[0][0]
    hours = [(at - start) / HOUR_MS for at, _ in points]
    mean_h = sum(hours) / len(points)
    mean_v = sum(v for _, v in points) / len(points)
    spread = sum((h - mean_h) ** 2 for h in hours)
    return sum((h - mean_h) * (v - mean_v) for h, (_, v) in zip(hours, points, strict=True)) / spread
