"""Is a reading believable? QARTOD's flag values, on streams written as values in and a string of flags out."""

import math
import random
from collections.abc import Sequence

import pytest
from boats import HOUR, MINUTE, sensor
from hypothesis import given
from hypothesis import strategies as st

from monitor.model.equipment import Sensor
from monitor.model.quantity import SPANS, Quantity
from monitor.model.reading import Reading
from monitor.model.scale import Flag
from monitor.quality import SensorQuality, assess

MARKS = {Flag.PASS: ".", Flag.NOT_EVALUATED: "?", Flag.SUSPECT: "s", Flag.FAIL: "F"}


def flags(quantity: str, values: Sequence[float], every_ms: int = HOUR) -> str:
    """One mark a value: ``.`` pass, ``?`` not settled, ``s`` suspect, ``F`` fail."""
    fitted = Sensor.model_validate(sensor("s", quantity, every_ms / 1000))
    state = SensorQuality()
    readings = [Reading("tern", "s", k * every_ms, k * every_ms, k * every_ms, v) for k, v in enumerate(values)]
    for reading in readings:
        assess(state, fitted, reading)
    return "".join(MARKS[reading.flag] for reading in readings)


def noisy(level: float, sd: float, digits: int, n: int, seed: int = 1) -> list[float]:
    chance = random.Random(seed)
    return [round(level + chance.gauss(0.0, sd), digits) for _ in range(n)]


# -- gross range ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("quantity", list(Quantity))
def test_what_no_sound_sensor_can_say_fails(quantity: Quantity) -> None:
    span = SPANS[quantity]
    assert flags(quantity, [span.low - 1, span.high + 1, math.inf, -math.inf, math.nan]) == "FFFFF"


@pytest.mark.parametrize("quantity", [q for q in Quantity if q is not Quantity.LEVEL])
def test_the_ends_of_the_span_pass(quantity: Quantity) -> None:
    span = SPANS[quantity]
    assert flags(quantity, [span.low, span.high]) == ".."


def test_a_failed_reading_does_not_disturb_its_neighbours() -> None:
    assert flags("level", [0.02, 0.02, 99.0, 0.02, 0.02]) == "..F.?"


# -- spikes of a level ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("levels", "expected"),
    [
        ([0.02, 0.02, 0.50, 0.02, 0.02], "..s.?"),
        ([0.50, 0.50, 0.02, 0.50, 0.50], "..s.?"),
        ([0.02, 0.02, 0.30, 0.29, 0.30], "....?"),  # a flood whose next reading noise brings back by a hair
        ([0.02, 0.02, 0.30, 0.31, 0.30], "....?"),
        ([0.02, 0.02, 0.045, 0.02, 0.02], "....?"),  # within ten times the noise
        ([0.02, 0.10, 0.18, 0.26, 0.34], "....?"),  # fast water
        ([0.30, 0.30, 0.05, 0.02, 0.02], "....?"),  # a pump
        ([0.50, 0.02, 0.02], "s.?"),  # the first word after switching on
        ([0.02, 0.50, 0.50], "..?"),
        ([0.30, 0.30, 0.30], "..?"),  # wet from the first
        ([0.02, 0.02, 0.50, 0.40, 0.02, 0.02], "..ss.?"),
    ],
)
def test_a_spike_leaves_both_neighbours_and_water_does_not(levels: list[float], expected: str) -> None:
    assert flags("level", levels) == expected


def test_the_newest_level_waits_for_its_neighbour() -> None:
    fitted, state = Sensor.model_validate(sensor("s", "level")), SensorQuality()
    first, second = (Reading("tern", "s", k, k, k, 0.02) for k in (0, HOUR))
    assert assess(state, fitted, first) == []
    assert first.flag is Flag.NOT_EVALUATED
    assert assess(state, fitted, second) == [first]
    assert (first.flag, second.flag) == (Flag.PASS, Flag.NOT_EVALUATED)


@given(st.lists(st.floats(-0.05, 5.0, allow_nan=False), min_size=3, max_size=40))
def test_a_level_that_only_rises_is_never_a_spike(levels: list[float]) -> None:
    assert "s" not in flags("level", sorted(levels))


@given(st.lists(st.floats(-1.0, 6.0) | st.just(math.nan), max_size=40))
def test_every_level_settles_once_and_in_order(levels: list[float]) -> None:
    fitted, state = Sensor.model_validate(sensor("s", "level")), SensorQuality()
    settled: list[Reading] = []
    readings = [Reading("tern", "s", k, k, k, value) for k, value in enumerate(levels)]
    for reading in readings:
        settled += assess(state, fitted, reading)
    believed = [r for r in settled if r.flag is not Flag.FAIL]
    assert [r.event_ms for r in believed] == sorted(r.event_ms for r in believed)
    assert len({r.event_ms for r in settled}) == len(settled)
    assert [r.event_ms for r in readings if r not in settled] == (
        [] if state.waiting is None else [state.waiting.event_ms]
    )


# -- flat line --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("quantity", "level", "sd", "digits", "within_h"),
    [("temperature", 5.0, 0.1, 1, 24), ("level", 0.02, 0.003, 3, 12), ("voltage", 12.7, 0.008, 2, 30)],
)
def test_a_sensor_that_moves_and_then_stops_is_suspect_within_a_day(
    quantity: str, level: float, sd: float, digits: int, within_h: int
) -> None:
    moving = noisy(level, sd, digits, 400)
    marks = flags(quantity, [*moving, *[moving[-1]] * (within_h + 1)])
    assert "s" not in marks[:400]
    assert "s" in marks[400:]


def test_a_stuck_sensor_stays_suspect_until_it_moves() -> None:
    moving = noisy(5.0, 0.1, 1, 400)
    marks = flags("temperature", [*moving, *[5.0] * 2_000, 5.1, 5.2])
    assert marks[500:2_400] == "s" * 1_900
    assert marks[-2:] == ".."


def test_a_dry_bilge_is_rightly_flat() -> None:
    assert "s" not in flags("level", [0.0] * 4_000)


@pytest.mark.parametrize("flips_at", [60, 200, 1_000])
def test_a_dry_bilge_that_flips_by_one_digit_once_in_weeks_is_rightly_flat(flips_at: int) -> None:
    assert "s" not in flags("level", [*[0.0] * flips_at, *[0.001] * 1_000])


@pytest.mark.parametrize("every_ms", [HOUR, 10 * MINUTE, MINUTE])
def test_a_resting_battery_that_flickers_between_two_digits_and_then_rests_on_one_is_not_stuck(every_ms: int) -> None:
    # 2 mV a day through a resolution of 10 mV with 1 mV of noise: flickers for a day, then still for four.
    chance = random.Random(2)
    per_day = 24 * HOUR // every_ms
    volts = [round(12.75 - 0.002 * k / per_day + chance.gauss(0.0, 0.001), 2) for k in range(30 * per_day)]
    assert "s" not in flags("voltage", volts, every_ms)


@pytest.mark.parametrize("every_ms", [HOUR, MINUTE])
def test_a_slow_cold_cabin_is_not_stuck(every_ms: int) -> None:
    per_day = 24 * HOUR // every_ms
    degc = [round(4.0 + 0.3 * math.sin(2 * math.pi * k / per_day) + 0.02 * k / per_day, 1) for k in range(40 * per_day)]
    assert "s" not in flags("temperature", degc, every_ms)


def test_saturated_air_is_rightly_flat() -> None:
    assert "s" not in flags("humidity", [*noisy(90.0, 0.5, 1, 200), *[100.0] * 400])


def test_switches_are_never_flat() -> None:
    assert flags("float_switch", [0.0] * 500) == "." * 500


def test_six_hours_at_least_before_a_fast_sensor_is_called_stuck() -> None:
    moving = noisy(5.0, 0.1, 1, 400)
    marks = flags("temperature", [*moving, *[5.0] * 400], MINUTE)
    assert "s" not in marks[: 400 + 6 * 60]
    assert "s" in marks[400 + 6 * 60 :]


def test_a_stuck_level_is_not_believed_when_it_has_settled() -> None:
    moving = noisy(0.02, 0.003, 3, 400)
    marks = flags("level", [*moving, *[0.021] * 40])
    assert marks.endswith("ssss")
