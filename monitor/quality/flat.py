"""Flat line: a run of equal values is suspect only against a sensor that usually moves.

It differs from the manual's fixed count on purpose: a dry bilge and a cold cabin are rightly flat. A run of n equal
values of a sensor that changes in a share c of its readings has the chance (1 - c)^n.
"""

import math

from monitor.model.quantity import Quantity
from monitor.quality.expected import SensorTests
from monitor.quality.limits import LIMITS
from monitor.quality.memory import SensorQuality


def is_flat(state: SensorQuality, tests: SensorTests, value: float, at_ms: int) -> bool:
    """Say whether a value goes on a run that the sensor's own habit does not explain; learn from one that has ended."""
    last = state.last
    if last is None or value != last:
        if last is not None:
            _learn(state, abs(value - last))
        state.run, state.run_from_ms = 0, at_ms
        return False
    state.run += 1
    if at_ms - state.run_from_ms < _LEAST_MS or state.seen < _LEARNS_FROM or state.moves < _MOVES:
        return False
    if tests.quantity is Quantity.HUMIDITY and value >= _SATURATED_RH:
        return False
    return state.run * math.log1p(-min(state.changes, 0.999)) < _LOG_CHANCE


def _learn(state: SensorQuality, change: float) -> None:
    # A run teaches when it ends, not while it lasts: a stuck sensor must not talk its own test down. What is kept of
    # the shares and what the run adds weigh as many readings as they stand for, so that a bilge that was dry for weeks
    # is known to be still.
    step = state.step
    if step is None or change < step:
        step = state.step = change
    readings = state.run + 1
    kept, room = state.seen, _MEMORY - readings
    if kept > room:
        kept = room if room > 0 else 0  # noqa: FURB136 - asked for most readings
    both = kept + readings
    state.changes = (state.changes * kept + 1.0) / both
    state.moves = (state.moves * kept + (change > _MORE_THAN_ONE * step)) / both
    state.seen = both if both < _MEMORY else _MEMORY  # noqa: FURB136 - as above


_LEARNS_FROM, _MEMORY = LIMITS["flat_learns_from"], int(LIMITS["flat_memory"])
_MOVES, _LEAST_MS, _SATURATED_RH = LIMITS["flat_moves"], LIMITS.ms("flat_least"), LIMITS["saturated"]
_LOG_CHANCE = math.log(LIMITS["flat_chance"])
_MORE_THAN_ONE = 1.5
