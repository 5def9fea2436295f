"""Yard time on a chart: Vega knows UTC and the reader's own zone, so instants are given as the yard's wall reads."""

from datetime import datetime
from zoneinfo import ZoneInfo


def wall_ms(at_ms: float, zone: ZoneInfo) -> int:
    """Give the instant at which a UTC clock reads what the yard's wall reads at ``at_ms``.

    The hour that autumn repeats is drawn twice over itself, and the one that spring leaves out stays empty.

    >>> wall_ms(1_374_000_000_000, ZoneInfo("Europe/London")) - 1_374_000_000_000
    3600000
    """
    offset = datetime.fromtimestamp(at_ms / 1000, zone).utcoffset()
    return round(at_ms + (0 if offset is None else offset.total_seconds() * 1000))
