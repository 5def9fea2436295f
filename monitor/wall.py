"""The wall clock, believed with care: a step is not taken for time that has passed until there is reason to.

A small computer without a battery clock starts in another year and is put right by the network minutes later; a wrong
time server can throw a clock far ahead for a moment. Event time never falls, so one tick in the wrong year would leave
the rules waiting for that year. Between steps the time is carried by a clock that nobody sets. Where a wrong time was
believed all the same, the time goes at half its speed, and so never back, until the wall has come up with it.
"""

import time
from collections.abc import Callable

STEP_MS = 5 * 60_000
LEAP_MS = 24 * 3_600_000
BELIEVED_AFTER_MS = 10 * 60_000
LEAP_BELIEVED_AFTER_MS = 3_600_000
SLOW_RATE = 0.5


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
        # What is believed, at which time of the running clock, and how fast it goes on: one, since pages ask from
        # threads of their own.
        self._base: tuple[int, int, float]
        self._set(wall() if not_before_ms is None else max(wall(), not_before_ms))

    @property
    def doubted(self) -> bool:
        """Whether the wall now says another time than is believed."""
        return self._stepped_from is not None

    @property
    def trouble(self) -> str | None:
        """What is wrong with the wall, in words; None where it agrees with what is believed."""
        believed = self.now_ms()
        ahead_min = (self._wall() - believed) / 60_000
        if abs(ahead_min) * 60_000 < STEP_MS:
            return None
        ends = "Look at the time server and the clock of the agent's machine."
        if ahead_min > 0:
            return (
                f"The clock of the agent's machine was put {_span(ahead_min)} forward. It is not believed before it has"
                f" stood unopposed, or a sensor agrees: times stated here may be behind. {ends}"
            )
        return (
            f"Times stated here are {_span(-ahead_min)} ahead of the clock of the agent's machine, which was wrong"
            f" before, or is now: sensors may be called silent that are not; water is told at once as always. {ends}"
        )

    def now_ms(self) -> int:
        """Give the time that is believed."""
        running = self._running()
        believed_at_ms, running_at_ms, rate = self._base
        believed = believed_at_ms + int((running - running_at_ms) * rate)
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
        """Take a sensor's word for it: a wall that agrees with a reading's stated time is right.

        It is believed at once where it is ahead. Where it is behind, by less than a day, what is believed goes slowly
        from here on. A sensor that agrees with what is believed has the wall wait anew.
        """
        if self._stepped_from is None:
            return
        wall, believed = self._wall(), self.now_ms()
        if abs(wall - stated_ms) >= STEP_MS:
            if wall > believed and abs(stated_ms - believed) < STEP_MS:
                self._stepped_from = self._running()
        elif wall > believed:
            self._set(wall)
        elif STEP_MS <= believed - wall < LEAP_MS and self._base[2] == 1:
            self._base = (believed, self._running(), SLOW_RATE)

    def _set(self, at_ms: int) -> None:
        self._base = (at_ms, self._running(), 1)
        self._stepped_from = None


def _span(minutes: float) -> str:
    """Say how long in the unit that fits.

    >>> _span(61), _span(60 * 24 * 400)
    ('61 minutes', '400 days')
    """
    for unit, of_unit in (("days", 1440), ("hours", 60)):
        if minutes >= 2 * of_unit:
            return f"{minutes / of_unit:.0f} {unit}"
    return f"{minutes:.0f} minutes"
