"""How a reading goes into a bilge's memory: what is believed, what stays in doubt, and what the trend makes of it."""

from collections.abc import Sequence

from monitor.model.reading import Reading, Seen
from monitor.model.scale import Flag
from monitor.rules.bilge_drift import learn, without_drift
from monitor.rules.bilge_limits import LIMITS
from monitor.rules.bilge_memory import BilgeMemory, Missed
from monitor.rules.bilge_pump import hear_tooth
from monitor.rules.blocks import Block, complete, gather, merge
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
        if memory.float_up_ms is not None or memory.float_doubt_ms is not None:
            memory.float_down_ms = reading.event_ms
        memory.float_up_ms = memory.float_doubt_ms = None
    elif memory.float_up_ms is None:
        memory.float_up_ms = reading.event_ms


def hear_level(memory: BilgeMemory, place: Compartment, reading: Reading, *, closely: bool = False) -> None:
    """Take a level: believed where it passed its tests, in doubt where it is high and has not.

    Args:
        memory: what is kept of the bilge; updated.
        place: the bilge.
        reading: the level.
        closely: whether a small rise counts: after a thaw.
    """
    at, value, before = reading.event_ms, reading.value, memory.level
    hear(memory.heard, at, place.level_interval_ms)
    if place.has_pump and at > memory.pump.at_ms and reading.flag is not Flag.FAIL:
        hear_tooth(memory.pump, place, at, value, _noise_m(memory.noise))
    if reading.flag is Flag.PASS:
        if before is None or at > before.at_ms:
            _believe(memory, place, reading, closely=closely)
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
    if gather(memory.temperature_days, at, degc, block_ms=_DAYS_BLOCK_MS, span_ms=_DAYS_SPAN_MS):
        whole = complete(memory.temperature_days)
        if whole:
            merge(memory.temperature_weeks, whole[-1], block_ms=_WEEKS_BLOCK_MS, span_ms=_WEEKS_SPAN_MS)


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
    memory.pump.level_m = memory.pump.starts_m = None


_UP = 0.5
_NO_LEVEL_M = 1e3
_LEAST, _LEAST_CLOSELY = LIMITS["fast_rise"], LIMITS["thaw_rise"]
_ROOT_2 = 2.0**0.5
_NO_JUMP, _FRESH, _PUMPED = LIMITS["no_jump"], LIMITS["contradicts_fresh"], LIMITS["pumped"]
_DEADBAND, _NOISE_MEMORY_H = LIMITS["high_deadband"], LIMITS["noise_memory"]
_FAST_BLOCK_MS, _FAST_SPAN_MS = LIMITS.ms("fast_block"), LIMITS.ms("fast_span")
_DAYS_BLOCK_MS, _DAYS_SPAN_MS = LIMITS.ms("slow_block"), LIMITS.ms("slow_span")
_WEEKS_BLOCK_MS, _WEEKS_SPAN_MS = LIMITS.ms("week_block"), LIMITS.ms("week_span")


def _believe(memory: BilgeMemory, place: Compartment, reading: Reading, *, closely: bool) -> None:
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
    _follow_hours(memory, place, at, value, closely=closely)
    if gather(memory.days, at, value, block_ms=_DAYS_BLOCK_MS, span_ms=_DAYS_SPAN_MS):
        _follow_days(memory)


def _follow_hours(memory: BilgeMemory, place: Compartment, at_ms: int, value: float, *, closely: bool) -> None:
    opened = gather(memory.hours, at_ms, value, block_ms=_FAST_BLOCK_MS, span_ms=_FAST_SPAN_MS)
    memory.lowest_m = min(memory.lowest_m, value)
    if not opened:
        return
    if memory.fast is None and value - memory.lowest_m < (_LEAST_CLOSELY if closely else _LEAST):
        return  # spares the look through the window, where nothing in it can have risen
    blocks = memory.hours.blocks
    memory.lowest_m = min([block.value for block in blocks])
    noise = max(place.accuracy_m, _noise_m(memory.noise))
    risen = fast_rise(blocks, noise, closely=closely)
    if risen is not None:
        memory.fast = risen
    elif memory.fast is not None and fast_is_over(blocks, noise):
        memory.fast = None


def _follow_days(memory: BilgeMemory) -> None:
    days = complete(memory.days)
    if not days:
        return
    new_day = merge(memory.weeks, days[-1], block_ms=_WEEKS_BLOCK_MS, span_ms=_WEEKS_SPAN_MS)
    by_day = memory.temperature_days.blocks
    if memory.slow is None and memory.fast is None:
        learn(memory.drift, days, by_day)

    def steady_days(window: Sequence[Block], swing_k: float) -> tuple[Sequence[Block], float]:
        return without_drift(memory.drift, window, by_day, swing_k)

    def steady_weeks(window: Sequence[Block], swing_k: float) -> tuple[Sequence[Block], float]:
        return without_drift(memory.drift, window, memory.temperature_weeks.blocks, swing_k)

    risen = rise_of_days(days, steady_days)
    if risen is None and new_day:
        risen = rise_of_weeks(complete(memory.weeks), steady_weeks)
    if risen is None and memory.slow is None:
        return
    taken, _ = steady_days(days, 0.0)
    if risen is not None and not slow_is_over(taken, risen):
        memory.slow = risen
    elif memory.slow is not None and slow_is_over(taken, memory.slow):
        memory.slow = None


def _clear_levels(memory: BilgeMemory) -> None:
    for window in (memory.hours, memory.days, memory.weeks):
        window.blocks.clear()
    memory.fast = None
    memory.lowest_m = _NO_LEVEL_M


def _noise_m(steps: RecentMoments) -> float:
    # Neighbouring readings differ by the root of two times their noise.
    return float(steps.variance**0.5) / _ROOT_2
