"""How a reading goes into a bilge's memory: what is believed, what stays in doubt, and what the trend makes of it."""

from monitor.model.reading import Reading, Seen
from monitor.model.scale import Flag
from monitor.rules.bilge_limits import LIMITS
from monitor.rules.bilge_memory import BilgeMemory, Missed
from monitor.rules.blocks import complete, gather
from monitor.rules.cadence import hear, usual_gap_ms
from monitor.rules.compartment import Compartment
from monitor.rules.rising import fast_is_over, fast_rise, rise_of_days, rise_of_weeks, slow_is_over
from monitor.rules.rule import HOUR_MS
from monitor.science.moments import RecentMoments, add_recent


def hear_float(memory: BilgeMemory, place: Compartment, reading: Reading) -> None:
    """Take the float switch. Up stands until it says down."""
    hear(memory.float_heard, reading.event_ms, place.float_interval_ms, learns=False)
    up = reading.value > _UP
    if reading.flag is Flag.FAIL:
        if up:
            memory.float_doubt_ms = reading.event_ms
    elif not up:
        memory.float_up_ms = memory.float_doubt_ms = None
    elif memory.float_up_ms is None:
        memory.float_up_ms = reading.event_ms


def hear_level(memory: BilgeMemory, place: Compartment, reading: Reading) -> None:
    """Take a level: believed where it passed its tests, in doubt where it is high and has not."""
    at, value, before = reading.event_ms, reading.value, memory.level
    hear(memory.heard, at, place.level_interval_ms)
    if reading.flag is Flag.PASS:
        if before is None or at > before.at_ms:
            _believe(memory, place, reading)
        return
    if value < place.bilge.high_m:
        return
    usual = usual_gap_ms(memory.heard, place.level_interval_ms)
    no_jump = before is not None and value - before.value <= _NO_JUMP and at - before.at_ms <= _FRESH * usual
    if reading.flag is Flag.NOT_EVALUATED and no_jump:
        memory.high = Seen(reading.sensor, at, value)
    elif memory.doubt is None or at >= memory.doubt.at_ms:
        memory.doubt = Seen(reading.sensor, at, value)


def hear_temperature(memory: BilgeMemory, reading: Reading) -> None:
    """Take the bilge's thermometer."""
    at, degc = reading.event_ms, reading.value
    gather(memory.temperature_days, at, degc, block_ms=_DAYS_BLOCK_MS, span_ms=_DAYS_SPAN_MS)
    gather(memory.temperature_weeks, at, degc, block_ms=_WEEKS_BLOCK_MS, span_ms=_WEEKS_SPAN_MS)


def hear_late(memory: BilgeMemory, place: Compartment, reading: Reading) -> None:
    """Note high water that nobody heard of at its time."""
    by_float = reading.sensor == place.bilge.float_sensor
    if reading.value <= _UP if by_float else reading.value < place.bilge.high_m:
        return
    at, missed = reading.event_ms, memory.missed
    if missed is None:
        missed = memory.missed = Missed(at, at)
    missed.from_ms, missed.to_ms = min(missed.from_ms, at), max(missed.to_ms, at)
    if by_float:
        missed.by_float = True
    else:
        missed.highest_m = max(reading.value, missed.highest_m or 0.0)


def forget_trend(memory: BilgeMemory) -> None:
    """Begin the trend anew: zero is set again after every lift, and the trim is another one."""
    _clear_levels(memory)
    memory.slow = None
    memory.urgent = False


_UP = 0.5
_ROOT_2 = 2.0**0.5
_NO_JUMP, _FRESH, _PUMPED = LIMITS["no_jump"], LIMITS["contradicts_fresh"], LIMITS["pumped"]
_DEADBAND, _NOISE_MEMORY_H = LIMITS["high_deadband"], LIMITS["noise_memory"]
_FAST_BLOCK_MS, _FAST_SPAN_MS = LIMITS.ms("fast_block"), LIMITS.ms("fast_span")
_DAYS_BLOCK_MS, _DAYS_SPAN_MS = LIMITS.ms("slow_block"), LIMITS.ms("slow_span")
_WEEKS_BLOCK_MS, _WEEKS_SPAN_MS = LIMITS.ms("week_block"), LIMITS.ms("week_span")


def _believe(memory: BilgeMemory, place: Compartment, reading: Reading) -> None:
    at, value, before = reading.event_ms, reading.value, memory.level
    memory.level = Seen(reading.sensor, at, value)
    if value >= place.bilge.high_m:
        memory.doubt = None
        if memory.high is None or at >= memory.high.at_ms:
            memory.high = memory.level
    elif value < place.bilge.high_m - _DEADBAND:
        if memory.high is not None and at > memory.high.at_ms:
            memory.high = None
        if memory.doubt is not None and at > memory.doubt.at_ms:
            memory.doubt = None
    if before is not None:
        step = value - before.value
        if step < -_PUMPED:
            # What was seen of a fast rise is over, and shows again soon if she still fills. A slow one has yet to prove
            # over days that it has stopped.
            _clear_levels(memory)
        else:
            step = min(step, _NO_JUMP)
            memory.noise = add_recent(memory.noise, step, at / HOUR_MS, _NOISE_MEMORY_H)
    _follow_hours(memory, place, at, value)
    _follow_days(memory, at, value)


def _follow_hours(memory: BilgeMemory, place: Compartment, at_ms: int, value: float) -> None:
    if not gather(memory.hours, at_ms, value, block_ms=_FAST_BLOCK_MS, span_ms=_FAST_SPAN_MS):
        return
    noise = max(place.accuracy_m, _noise_m(memory.noise))
    risen = fast_rise(memory.hours.blocks, noise)
    if risen is not None:
        memory.fast = risen
    elif memory.fast is not None and fast_is_over(memory.hours.blocks, noise):
        memory.fast = None


def _follow_days(memory: BilgeMemory, at_ms: int, value: float) -> None:
    new_day = gather(memory.weeks, at_ms, value, block_ms=_WEEKS_BLOCK_MS, span_ms=_WEEKS_SPAN_MS)
    if not gather(memory.days, at_ms, value, block_ms=_DAYS_BLOCK_MS, span_ms=_DAYS_SPAN_MS):
        return
    days = complete(memory.days)
    risen = rise_of_days(days, memory.temperature_days.blocks)
    if risen is None and new_day:
        risen = rise_of_weeks(complete(memory.weeks), memory.temperature_weeks.blocks)
    if risen is not None and not slow_is_over(days, risen):
        memory.slow = risen
    elif memory.slow is not None and slow_is_over(days, memory.slow):
        memory.slow = None


def _clear_levels(memory: BilgeMemory) -> None:
    for window in (memory.hours, memory.days, memory.weeks):
        window.blocks.clear()
    memory.fast = None


def _noise_m(steps: RecentMoments) -> float:
    # Neighbouring readings differ by the root of two times their noise.
    return float(steps.variance**0.5) / _ROOT_2
