"""Spike: a value that leaves both its neighbours by more than it can, on the same side, and not as a habit.

It differs from the manual's test (against the mean of the neighbours) on purpose: that one also takes the first
reading of a flood, or of a pump's work, for a spike. A step that stays is water. What comes again and again is a pump
or wash: a saw-tooth below the high mark is believed.
"""

from monitor.model.quantity import Quantity
from monitor.model.reading import Reading
from monitor.model.scale import Flag
from monitor.quality.expected import SensorTests
from monitor.quality.limits import LIMITS
from monitor.quality.memory import SensorQuality, Tooth


def settle(state: SensorQuality, tests: SensorTests, reading: Reading) -> list[Reading]:
    """Give the reading that waited its flag, and say whether the newest has to wait.

    Args:
        state: what is kept of the sensor; updated.
        tests: its tests.
        reading: the newest reading, flagged by the other tests; `Flag.NOT_EVALUATED` from here on where it waits.

    Returns:
        What has settled, oldest first.
    """
    settled, waiting = [], state.waiting
    if waiting is not None:
        state.waiting = None
        if _is_spike(state, tests, waiting, reading):
            waiting.flag = Flag.SUSPECT
        else:
            waiting.flag, state.believed = Flag.PASS, waiting.value
        settled.append(waiting)
    if reading.flag is Flag.PASS:
        if not _is_near(state.believed, tests, reading.value):
            reading.flag, state.waiting = Flag.NOT_EVALUATED, reading
            return settled
        state.believed = reading.value
    settled.append(reading)
    return settled


def _is_near(believed: float | None, tests: SensorTests, value: float) -> bool:
    """Say whether a value cannot be a spike, whatever its next neighbour says."""
    if tests.falls_only:
        return believed is None or believed - value <= tests.spike
    if believed is None:
        return False
    if believed < tests.pumped_below and value < tests.pumped_below:
        return True
    return abs(value - believed) <= tests.spike


def _is_spike(state: SensorQuality, tests: SensorTests, waiting: Reading, after: Reading) -> bool:
    middle, believed = waiting.value, state.believed
    if after.event_ms - waiting.event_ms > tests.near_ms:
        return False
    if believed is None:
        # The very first value has one neighbour: where it stands above that, it is not believed.
        return middle - after.value > tests.spike
    above, below = min(middle - believed, middle - after.value), min(believed - middle, after.value - middle)
    if max(above, below) <= tests.spike:
        return False
    return middle >= tests.high_m or not _is_habit(state, tests, waiting, upward=above > below)


def _is_habit(state: SensorQuality, tests: SensorTests, waiting: Reading, *, upward: bool) -> bool:
    """Say whether a level stood out so far at least twice of late: a pump or wash makes it, and no fault."""
    at_ms, value = waiting.event_ms, waiting.value
    known = [tooth for tooth in state.teeth if at_ms - tooth.at_ms <= _TEETH_WITHIN_MS]
    state.teeth = [*known[-_TEETH_KEPT:], Tooth(at_ms, value, upward)]
    if tests.quantity is not Quantity.LEVEL:
        return False
    alike = [t for t in known if t.upward == upward and (t.value - value) * (1 if upward else -1) >= -tests.spike]
    return len(alike) >= _TEETH


_TEETH, _TEETH_WITHIN_MS = LIMITS["teeth"], LIMITS.ms("teeth_within")
_TEETH_KEPT = 11
