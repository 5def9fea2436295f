"""The wall clock, believed with care: a step is not taken for time that has passed until there is reason to.

A small computer without a battery clock starts in another year and is put right by the network minutes later; a wrong
time server can throw a clock far ahead for a moment. Event time never falls, so one tick in the wrong year would leave
the rules waiting for that year. Between steps the time is carried by a clock that nobody sets.
"""

import time
from collections.abc import Callable

STEP_MS = 5 * 60_000
LEAP_MS = 24 * 3_600_000
BELIEVED_AFTER_MS = 10 * 60_000
LEAP_BELIEVED_AFTER_MS = 3_600_000


def wall_ms() -> int:
    """Give what the wall clock says, ms UTC."""
    return time.time_ns() // 1_000_000


def running_ms() -> int:
    """Give milliseconds of a clock that nobody sets and that goes on while the machine sleeps."""
    return time.clock_gettime_ns(time.CLOCK_BOOTTIME) // 1_000_000


class WallClock:
    """Tells the time, and what to make of a wall that was put forward or back.

    Args:
        not_before_ms: a time that is known to have passed, such as the last one in the journal; None where none is.
        wall: what the wall clock says.
        running: a clock that nobody sets.
    """

    def __init__(
        self,
        not_before_ms: int | None,
        wall: Callable[[], int] = wall_ms,
        running: Callable[[], int] = running_ms,
    ) -> None:
        self._wall, self._running = wall, running
        self._stepped_from: int | None = None
        self._set(wall() if not_before_ms is None else max(wall(), not_before_ms))

    @property
    def doubted(self) -> bool:
        """Whether the wall now says another time than is believed."""
        return self._stepped_from is not None

    def now_ms(self) -> int:
        """Give the time that is believed."""
        running = self._running()
        believed = self._believed_at_ms + running - self._running_at_ms
        step = self._wall() - believed
        if abs(step) < STEP_MS:
            self._stepped_from = None
            if step > 0:
                self._set(believed + step)
            return max(believed, believed + step)
        if self._stepped_from is None:
            self._stepped_from = running
        patience_ms = BELIEVED_AFTER_MS if step < LEAP_MS else LEAP_BELIEVED_AFTER_MS
        if step < 0 or running - self._stepped_from < patience_ms:
            return believed
        self._set(believed + step)
        return believed + step

    def hint(self, stated_ms: int) -> None:
        """Take a sensor's word for it: a wall that agrees with a reading's stated time is believed at once."""
        if self._stepped_from is not None and abs(self._wall() - stated_ms) < STEP_MS:
            wall, believed = self._wall(), self.now_ms()
            if wall > believed:
                self._set(wall)

    def _set(self, at_ms: int) -> None:
        self._believed_at_ms, self._running_at_ms = at_ms, self._running()
        self._stepped_from = None
