"""The tests in their order: gross range, usual range by season, flat line, rate of change, spike."""

from monitor.model.quantity import Quantity
from monitor.model.reading import Reading
from monitor.model.scale import Flag
from monitor.quality.expected import SensorTests
from monitor.quality.flat import is_flat
from monitor.quality.limits import LIMITS
from monitor.quality.memory import SensorQuality
from monitor.quality.spike import settle


def assess(state: SensorQuality, tests: SensorTests, reading: Reading) -> list[Reading]:
    """Flag a reading and say which readings have now settled.

    Args:
        state: what is kept of the sensor; updated.
        tests: its tests, by the record.
        reading: the newest reading; its ``flag`` is set.

    Returns:
        The readings whose flag is final now, oldest first: usually the reading itself. One that stands away from the
        last believed value waits for its neighbour with `Flag.NOT_EVALUATED`, and comes out with the next reading that
        does not fail.
    """
    value, at_ms = reading.value, reading.event_ms
    if not tests.low <= value <= tests.high:
        reading.flag = Flag.FAIL
        return [reading]
    # Every test is asked, since each learns from what it is asked.
    doubts = tests.may_stick and is_flat(state, tests, value, at_ms)
    last = state.last
    if last is not None and (last - value if tests.falls_only else abs(value - last)) > tests.step:
        doubts |= _too_fast(tests, last, value, at_ms - state.last_ms)
    cold, warm = tests.cold, tests.warm
    if not (cold[0] <= value <= cold[1] and warm[0] <= value <= warm[1]):
        doubts |= _unusual(tests, value, at_ms)
    if value == _POWER_ON_DEGC:
        doubts |= _is_power_on(state, tests, value)
    state.last, state.last_ms = value, at_ms
    reading.flag = Flag.SUSPECT if doubts else Flag.PASS
    if tests.spike == _NOT_TESTED:
        return [reading]
    return settle(state, tests, reading)


def _unusual(tests: SensorTests, value: float, at_ms: int) -> bool:
    day = at_ms / _DAY_MS % _YEAR_DAYS
    winter_in_north = not _APRIL <= day < _OCTOBER
    low, high = tests.cold if winter_in_north == tests.cold_is_north else tests.warm
    return not low <= value <= high


def _too_fast(tests: SensorTests, last: float, value: float, apart_ms: int) -> bool:
    change = last - value if tests.falls_only else abs(value - last)
    if min(last, value) < tests.off_below or _is_power_on_value(tests, last):
        return False
    return change > tests.step + tests.rate_per_ms * apart_ms


def _is_power_on(state: SensorQuality, tests: SensorTests, value: float) -> bool:
    if not _is_power_on_value(tests, value):
        return False
    return state.believed is None or value - state.believed > _POWER_ON_STEP


def _is_power_on_value(tests: SensorTests, value: float) -> bool:
    return value == _POWER_ON_DEGC and tests.quantity is Quantity.TEMPERATURE


_NOT_TESTED = float("inf")
_DAY_MS, _YEAR_DAYS, _APRIL, _OCTOBER = 86_400_000, 365.2425, 90, 273
_POWER_ON_DEGC, _POWER_ON_STEP = LIMITS["power_on_degc"], LIMITS["power_on_step"]
