"""The wall clock, for when things are tried and sent; event time is the watch's."""

import time


def wall_ms() -> int:
    """Give the wall clock's time (ms UTC)."""
    return time.time_ns() // 1_000_000
