"""A rate, by the clock and by the processor."""

import time
from collections.abc import Callable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Rate:
    """How fast something was done: by the clock, and of this process's time on the processor alone.

    The clock's figure suffers where others use the machine; the processor's does not.

    Attributes:
        per_s: how many a second by the clock.
        cpu_us: time on the processor for one, microseconds.
    """

    per_s: float
    cpu_us: float

    def of(self, other: "Rate") -> str:
        """Give the ratio to another's rate, and that of the processor's time, in words."""
        return f"{self.per_s / other.per_s:.2f}, by time of the processor {other.cpu_us / self.cpu_us:.2f}"


def timed(act: Callable[[], object], count: int) -> Rate:
    """Do something once that is so many things, and give its rate."""
    began_s, began_cpu_s = time.perf_counter(), time.process_time()
    act()
    took_s, cpu_s = time.perf_counter() - began_s, time.process_time() - began_cpu_s
    return Rate(count / took_s, cpu_s / count * 1e6)
