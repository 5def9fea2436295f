"""Is this reading believable? Streaming tests with QARTOD flag values, one small state a sensor.

Tests here: gross range (fail), spike on levels (suspect, settled one reading later) and flat line judged against the
sensor's own noise (suspect). Source of the tests and flags: US IOOS, Manual for Real-Time Quality Control of Water
Level Data, v2.1, 2021. The flat-line test differs from the manual's fixed count on purpose: a dry bilge is rightly
flat, so a run of equal values counts only against a sensor that usually moves.
"""

import math
from dataclasses import dataclass

from monitor.model.equipment import Sensor
from monitor.model.quantity import SPANS, Quantity
from monitor.model.reading import Reading
from monitor.model.scale import Flag

VERSION = 2

# A level that leaves both its neighbours by more than this, on the same side, is a spike. 0.03 m is ten times the noise
# of an ordinary level sensor: common practice, no source. The manual's own test (against the mean of the neighbours)
# also takes the first reading of a flood for a spike.
SPIKE_M = 0.03

# Flat line. A run of n equal values of a sensor that changes in a share c of its readings has the chance (1 - c)^n;
# below this chance it is suspect. Readings follow each other, so the chance is set far below what independence asks.
FLAT_CHANCE = 1e-9
FLAT_AT_LEAST_MS = 6 * 3_600_000
FLAT_LEARNS_FROM = 48
FLAT_MEMORY = 200
# A sensor that only ever flickers between two neighbouring steps of its resolution may rest on one of them for days: it
# is tested only where at least this share of its readings move by more than one step. Invented.
FLAT_MOVES = 0.05
_FLAT_QUANTITIES = frozenset({Quantity.TEMPERATURE, Quantity.HUMIDITY, Quantity.LEVEL, Quantity.VOLTAGE})
_SATURATED_RH = 99.0
_MORE_THAN_ONE = 1.5


@dataclass(slots=True)
class SensorQuality:
    """What the tests keep of one sensor.

    Attributes:
        last: newest value that passed the gross range.
        last_ms: its event time.
        before: the believable value before the one that is waiting for its neighbour, None where there is none.
        waiting: a level whose flag waits for its neighbour.
        run_from_ms: event time from which the value has not changed.
        run: how many readings the value has not changed.
        changes: running share of readings that differed from the one before.
        moves: running share of readings that differed by more than one step of the sensor's resolution.
        step: smallest change seen, which is that step; None before the first change.
        seen: how many readings the shares rest on, up to `FLAT_MEMORY`.
    """

    last: float | None = None
    last_ms: int | None = None
    before: float | None = None
    waiting: Reading | None = None
    run_from_ms: int = 0
    run: int = 0
    changes: float = 0.0
    moves: float = 0.0
    step: float | None = None
    seen: int = 0


def assess(state: SensorQuality, sensor: Sensor, reading: Reading) -> list[Reading]:
    """Flag a reading and say which readings have now settled.

    Args:
        state: what is kept of the sensor; updated.
        sensor: the sensor, as recorded.
        reading: the newest reading; its ``flag`` is set.

    Returns:
        The readings whose flag is final now, oldest first: usually the reading itself; for a level the one before it.
        A level waiting for its neighbour keeps `Flag.NOT_EVALUATED` until then.
    """
    span = SPANS[sensor.quantity]
    if not span.low <= reading.value <= span.high:
        reading.flag = Flag.FAIL
        return [reading]
    flat = _is_flat(state, sensor, reading)
    state.last, state.last_ms = reading.value, reading.event_ms
    reading.flag = Flag.SUSPECT if flat else Flag.PASS
    if sensor.quantity is not Quantity.LEVEL:
        return [reading]
    return _settle_level(state, reading)


def _settle_level(state: SensorQuality, reading: Reading) -> list[Reading]:
    waiting, state.waiting = state.waiting, reading
    verdict = reading.flag
    if verdict is Flag.PASS:
        reading.flag = Flag.NOT_EVALUATED
    if waiting is None:
        return []
    if waiting.flag is Flag.NOT_EVALUATED:
        spike = _stands_out(state.before, waiting.value, reading.value)
        waiting.flag = Flag.SUSPECT if spike else Flag.PASS
    if waiting.flag is Flag.PASS:
        state.before = waiting.value
    return [waiting]


def _stands_out(before: float | None, middle: float, after: float) -> bool:
    # A step that stays is water and no spike, also where noise brings the next reading back by a hair: only a value
    # that leaves both its neighbours by more than noise can, on the same side, stands out. The very first value has one
    # neighbour: where it stands above that, it is not believed.
    if before is None:
        return middle - after > SPIKE_M
    above, below = min(middle - before, middle - after), min(before - middle, after - middle)
    return max(above, below) > SPIKE_M


def _is_flat(state: SensorQuality, sensor: Sensor, reading: Reading) -> bool:
    if sensor.quantity not in _FLAT_QUANTITIES:
        return False
    if state.last is None or reading.value != state.last:
        if state.last is not None:
            _learn(state, abs(reading.value - state.last))
        state.run, state.run_from_ms = 0, reading.event_ms
        return False
    state.run += 1
    if sensor.quantity is Quantity.HUMIDITY and reading.value >= _SATURATED_RH:
        return False
    if state.seen < FLAT_LEARNS_FROM or state.moves < FLAT_MOVES:
        return False
    if reading.event_ms - state.run_from_ms < FLAT_AT_LEAST_MS:
        return False
    return state.run * math.log1p(-min(state.changes, 0.999)) < math.log(FLAT_CHANCE)


def _learn(state: SensorQuality, change: float) -> None:
    # A run teaches when it ends, not while it lasts: a stuck sensor must not talk its own test down. What is kept of
    # the shares and what the run adds weigh as many readings as they stand for, so that a bilge that was dry for weeks
    # is known to be still.
    state.step = change if state.step is None else min(state.step, change)
    moved = change > _MORE_THAN_ONE * state.step
    readings = state.run + 1
    kept = max(min(state.seen, FLAT_MEMORY - readings), 0)
    state.changes = (state.changes * kept + 1.0) / (kept + readings)
    state.moves = (state.moves * kept + moved) / (kept + readings)
    state.seen = min(kept + readings, FLAT_MEMORY)
