"""Yard time on a chart: Vega knows UTC and the reader's own zone, so instants are given as the yard's wall reads."""

from datetime import datetime
from functools import lru_cache
from zoneinfo import ZoneInfo

QUARTER_MS = 900_000
"""No zone of today changes its offset within a quarter of an hour."""


def wall_ms(at_ms: float, zone: ZoneInfo) -> int:
    """Give the instant at which a UTC clock reads what the yard's wall reads at ``at_ms``.

    The hour that autumn repeats is drawn twice over itself, and the one that spring leaves out stays empty.

    >>> wall_ms(1_374_000_000_000, ZoneInfo("Europe/London")) - 1_374_000_000_000
    3600000
    """
    return round(at_ms + _offset_ms(int(at_ms // QUARTER_MS), zone))


@lru_cache(maxsize=2**15)
def _offset_ms(quarter: int, zone: ZoneInfo) -> float:
    """Give by how much the yard's wall is ahead of UTC; a chart of a winter asks for thousands of points."""
    offset = datetime.fromtimestamp(quarter * QUARTER_MS / 1000, zone).utcoffset()
    return 0.0 if offset is None else offset.total_seconds() * 1000
