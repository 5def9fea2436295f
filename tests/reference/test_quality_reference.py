"""Quality flags against ioos-qc 3.0.0, the reference library of QARTOD: the same series through both.

Gross range, rate of change and spike agree reading by reading where they test the same thing. Where ours differs on
purpose, the difference is asserted too: the spike test by averages calls a flood's first reading a spike, and the flat
line test by a fixed time calls a dry bilge stuck.
"""

import math
import random
import warnings
from collections.abc import Callable, Sequence
from functools import cache, partial

import numpy as np
import pytest

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    from ioos_qc import qartod

from monitor.model.quantity import SPANS, Quantity
from monitor.model.reading import Reading
from monitor.model.scale import Flag
from monitor.quality import SensorQuality, SensorTests, assess
from monitor.quality.limits import LIMITS

HOUR_MS = 3_600_000
IOOS = "ioos-qc 3.0.0, qartod.{}, the same {} readings"
EXACT = "counts of the same readings"
N = 2_000
PASS, NOT_EVALUATED, SUSPECT, FAIL = (int(f) for f in (Flag.PASS, Flag.NOT_EVALUATED, Flag.SUSPECT, Flag.FAIL))


def ours(tests: SensorTests, times_ms: Sequence[int], values: Sequence[float]) -> list[int]:
    state = SensorQuality()
    readings = [Reading("v", "s", at, at, at, value) for at, value in zip(times_ms, values, strict=True)]
    for reading in readings:
        assess(state, tests, reading)
    return [int(reading.flag) for reading in readings]


def irregular(n: int, seed: int) -> list[int]:
    """Times of a sensor that speaks each hour, more or less."""
    chance, at, times = random.Random(seed), 1_383_296_400_000, []
    for _ in range(n):
        at += round(HOUR_MS * chance.uniform(0.2, 3.0) / 1000) * 1000
        times.append(at)
    return times


def dates(times_ms: Sequence[int]) -> "np.ndarray[tuple[int], np.dtype[np.datetime64]]":
    return np.array(times_ms, dtype="datetime64[ms]")


def walk(n: int, seed: int, sd: float, start: float, digits: int = 3) -> list[float]:
    chance, value, values = random.Random(seed), start, []
    for _ in range(n):
        value += chance.gauss(0.0, sd)
        values.append(round(value, digits))
    return values


# -- gross range ------------------------------------------------------------------------------------------------------

OUTSIDE = (LIMITS["outside_cold_low"], LIMITS["outside_cold_high"])


@cache
def gross_range() -> tuple[list[int], list[int]]:
    chance = random.Random(1)
    span = SPANS[Quantity.TEMPERATURE]
    values = [round(chance.uniform(-70.0, 100.0), 1) for _ in range(N)]
    values[10], values[20] = OUTSIDE
    values[30], values[40] = span.low, span.high
    tests = SensorTests(Quantity.TEMPERATURE, span.low, span.high, cold=OUTSIDE, warm=OUTSIDE)
    # The power-on value is suspect by a test that theirs has no word for.
    values = [84.9 if value == LIMITS["power_on_degc"] else value for value in values]
    theirs = qartod.gross_range_test(values, (span.low, span.high), OUTSIDE)
    return ours(tests, irregular(N, 2), values), [int(flag) for flag in theirs]


# -- rate of change ---------------------------------------------------------------------------------------------------

PER_H = 3.0


@cache
def rate_of_change() -> tuple[list[int], list[int]]:
    times, values = irregular(N, 3), walk(N, 4, 2.5, 50.0)
    values = [min(max(value, 1.0), 99.0) + 0.001 * (k % 7) for k, value in enumerate(values)]
    span = SPANS[Quantity.HUMIDITY]
    # With no free step: theirs has none. Ours adds one, because two readings a second apart differ by noise.
    tests = SensorTests(Quantity.HUMIDITY, span.low, span.high, step=0.0, rate_per_ms=PER_H / HOUR_MS)
    theirs = qartod.rate_of_change_test(values, dates(times), PER_H / 3600.0)
    return ours(tests, times, values), [int(flag) for flag in theirs]


# -- spike ------------------------------------------------------------------------------------------------------------

LEVEL = SPANS[Quantity.LEVEL]
SPIKE_TESTS = SensorTests(Quantity.LEVEL, LEVEL.low, LEVEL.high, spike=LIMITS["spike_level"])


def levels_with_spikes() -> list[float]:
    """A bilge that fills slowly, with a spike up or down every hundred hours: too rare for a habit."""
    chance = random.Random(5)
    values = [round(0.2 + 0.0001 * k + chance.gauss(0.0, 0.003), 3) for k in range(N)]
    for k in range(50, N - 50, 100):
        values[k] = round(values[k] + chance.choice((-1, 1)) * chance.uniform(0.05, 0.19), 3)
    return values


@cache
def spikes(method: str = "differential") -> tuple[list[int], list[int]]:
    values = levels_with_spikes()
    times = [1_383_296_400_000 + k * HOUR_MS for k in range(N)]
    theirs = qartod.spike_test(values, LIMITS["spike_level"], None, method)
    return ours(SPIKE_TESTS, times, values), [int(flag) for flag in theirs]


# -- flat line --------------------------------------------------------------------------------------------------------

STUCK_AT = 1_000


@cache
def flat_line(after_h: int) -> tuple[list[int], list[int]]:
    chance = random.Random(6)
    values = [round(5.0 + chance.gauss(0.0, 0.3), 1) for _ in range(STUCK_AT)]
    values += [values[-1]] * 200
    times = [1_383_296_400_000 + k * HOUR_MS for k in range(len(values))]
    span = SPANS[Quantity.TEMPERATURE]
    tests = SensorTests(Quantity.TEMPERATURE, span.low, span.high, may_stick=True)
    theirs = qartod.flat_line_test(values, dates(times), after_h * 3600, 10_000_000, 0.01)
    return ours(tests, times, values), [int(flag) for flag in theirs]


def count(series: Callable[[], tuple[list[int], list[int]]], which: int, flag: int) -> float:
    return float(series()[which].count(flag))


def first_flagged_h(which: int) -> float:
    return float(flat_line(FLAT_H)[which].index(SUSPECT) - STUCK_AT)


# A sensor that changes in 0.87 of its readings repeats itself 11 times with a chance of (1 - 0.87)^11 = 2e-10.
FLAT_H = 11
KINDS = (("gross_range_test", gross_range, (SUSPECT, FAIL)), ("rate_of_change_test", rate_of_change, (SUSPECT,)))

# check, source, ours, theirs, tolerance, why that tolerance
CHECKS: list[tuple[str, str, Callable[[], float], Callable[[], float] | float, float, str]] = [
    (
        f"{name.removesuffix('_test').replace('_', ' ')}: readings flagged {flag}",
        IOOS.format(name, N),
        partial(count, series, 0, flag),
        partial(count, series, 1, flag),
        0.0,
        EXACT,
    )
    for name, series, marks in KINDS
    for flag in marks
]
CHECKS += [
    (
        "spike: readings flagged 3",
        IOOS.format("spike_test (differential)", N),
        partial(count, spikes, 0, SUSPECT),
        partial(count, spikes, 1, SUSPECT),
        0.0,
        EXACT,
    ),
    (
        "flat line of a moving sensor: hours until flagged 3",
        IOOS.format("flat_line_test at 11 h", STUCK_AT + 200),
        partial(first_flagged_h, 0),
        partial(first_flagged_h, 1),
        2.0,
        "ours goes by the sensor's own habit, theirs by a fixed time: chosen alike for this sensor",
    ),
]


@pytest.mark.parametrize("series", [gross_range, rate_of_change], ids=["gross range", "rate of change"])
def test_every_flag_is_theirs(series: Callable[[], tuple[list[int], list[int]]]) -> None:
    mine, theirs = series()
    assert mine == theirs


def test_every_spike_flag_is_theirs_but_for_the_ends() -> None:
    mine, theirs = spikes()
    assert mine[1:-1] == theirs[1:-1]
    # Theirs has no word on the first and last reading. Ours believes a last one that is near the one before.
    assert (theirs[0], theirs[-1]) == (NOT_EVALUATED, NOT_EVALUATED)
    assert mine[-1] == PASS


def test_their_spike_by_averages_takes_a_floods_first_readings_for_spikes_and_ours_does_not() -> None:
    values = [0.02] * 20 + [0.30] * 20
    times = [1_383_296_400_000 + k * HOUR_MS for k in range(len(values))]
    theirs = [int(flag) for flag in qartod.spike_test(values, LIMITS["spike_level"])]
    assert theirs[19:21] == [SUSPECT, SUSPECT]
    assert SUSPECT not in ours(SPIKE_TESTS, times, values)


def test_their_rate_of_change_would_drop_a_flood_and_ours_has_none_for_levels() -> None:
    values = [0.02] * 20 + [0.30] * 20
    times = [1_383_296_400_000 + k * HOUR_MS for k in range(len(values))]
    theirs = [int(flag) for flag in qartod.rate_of_change_test(values, dates(times), 0.1 / 3600)]
    assert theirs[20] == SUSPECT
    assert SPIKE_TESTS.step == math.inf


def test_their_flat_line_calls_a_dry_bilge_stuck_and_ours_does_not() -> None:
    values = [0.0] * 500
    times = [1_383_296_400_000 + k * HOUR_MS for k in range(len(values))]
    theirs = [int(flag) for flag in qartod.flat_line_test(values, dates(times), 6 * 3600, 24 * 3600, 0.001)]
    assert theirs.count(FAIL) > 400
    tests = SensorTests(Quantity.LEVEL, LEVEL.low, LEVEL.high, spike=LIMITS["spike_level"], may_stick=True)
    assert set(ours(tests, times, values)[:-1]) == {PASS}


def test_the_flags_have_their_values() -> None:
    flags = qartod.QartodFlags
    assert tuple(int(f) for f in Flag) == (flags.GOOD, flags.UNKNOWN, flags.SUSPECT, flags.FAIL, flags.MISSING)
