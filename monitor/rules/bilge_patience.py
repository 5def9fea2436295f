"""How long a bilge's sensors may be unheard before it counts."""

from monitor.rules.bilge_limits import LIMITS
from monitor.rules.bilge_memory import BilgeMemory
from monitor.rules.cadence import usual_gap_ms
from monitor.rules.compartment import Compartment


def level_silent_at(memory: BilgeMemory, place: Compartment, deaf_to_ms: int) -> int:
    """Give the time at which the level counts as not heard any more."""
    gap = usual_gap_ms(memory.heard, place.level_interval_ms)
    return _after(memory.heard.last_ms or 0, gap, deaf_to_ms)


def level_unbelieved_at(memory: BilgeMemory, place: Compartment, deaf_to_ms: int) -> int:
    """Give the time at which the level counts as not believably heard any more: 0 where it never was."""
    level, heard_ms = memory.level, memory.heard.last_ms
    if level is None:
        return 0
    gap = usual_gap_ms(memory.heard, place.level_interval_ms)
    # One that was heard since may be waiting for its neighbour, and is believed only when that one has been heard.
    waits = heard_ms is not None and heard_ms > level.at_ms
    return _after(level.at_ms + (gap if waits else 0.0), gap, deaf_to_ms)


def float_silent_at(memory: BilgeMemory, place: Compartment, deaf_to_ms: int) -> int:
    """Give the time at which the float switch counts as not heard any more: 0 where it never was."""
    last = memory.float_heard.last_ms
    return 0 if last is None else _after(last, place.float_interval_ms, deaf_to_ms)


def is_silent_from(memory: BilgeMemory, deaf_to_ms: int) -> int:
    """Give the time before which the level cannot count as not heard, whatever is learnt of its cadence until then."""
    return max(0 if memory.level is None else memory.level.at_ms, deaf_to_ms) + _LEAST_MS + 1


def contradiction_ends_at(memory: BilgeMemory, place: Compartment) -> int:
    """Give the time at which the newest believed level is too old to speak against a float switch."""
    if memory.level is None:
        return 0
    return memory.level.at_ms + int(_FRESH * usual_gap_ms(memory.heard, place.level_interval_ms)) + 1


_FRESH, _CADENCES, _LEAST_MS = LIMITS["contradicts_fresh"], LIMITS["silent_after"], LIMITS.ms("silent_least")


def _after(heard_ms: float, gap_ms: float, deaf_to_ms: int) -> int:
    return int(max(heard_ms, deaf_to_ms) + max(_CADENCES * gap_ms, _LEAST_MS)) + 1
