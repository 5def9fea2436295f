"""Yard time on a chart: Vega knows UTC and the reader's own zone, so instants are given as the yard's wall reads."""

from datetime import UTC, datetime
from zoneinfo import ZoneInfo


def wall_ms(at_ms: float, zone: ZoneInfo) -> int:
    """Give the instant at which a UTC clock reads what the yard's wall reads at ``at_ms``.

    The hour that autumn repeats is drawn twice over itself, and the one that spring leaves out stays empty.

    >>> wall_ms(1_374_000_000_000, ZoneInfo("Europe/London")) - 1_374_000_000_000
    3600000
    """
    offset = datetime.fromtimestamp(at_ms / 1000, zone).utcoffset()
    return round(at_ms + (0 if offset is None else offset.total_seconds() * 1000))


def wall_text(at_ms: int, zone: ZoneInfo) -> str:
    """Give a wall time as ISO 8601 without a zone, as chart data carries it."""
    return datetime.fromtimestamp(wall_ms(at_ms, zone) / 1000, UTC).isoformat(timespec="seconds").removesuffix("+00:00")
