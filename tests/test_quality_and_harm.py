"""No quality test may hold back, delay or drop heat, a float switch, or water: shown through the watch."""

import random
from typing import Any

import pytest
from boats import HOUR, LAID_UP_MS, MINUTE, boat
from hypothesis import given, settings
from hypothesis import strategies as st

from monitor.model.inputs import Clock
from monitor.model.reading import Reading
from monitor.model.scale import Flag, Priority
from monitor.model.vessel import Vessel
from monitor.quality import SensorQuality, assess, expected_of
from monitor.rules.bilge import Bilge
from monitor.rules.book import RULES
from monitor.watch import Watch

HIGH_M = 0.1


def afloat(**bilge: Any) -> Vessel:
    vessel = boat(mode="afloat laid up", plot=None, berth="A7")
    return vessel.model_copy(update={"bilges": (vessel.bilges[0].model_copy(update=bilge),)})


RECORDS = [afloat(), afloat(pump_lph=900.0)]
# What is no finite number is refused where readings come in.
anything = st.floats(-1.0, 6.0) | st.sampled_from([0.0, 0.02, 0.05, 0.2, 65.535])
gaps_min = st.integers(1, 300)


def told(watch: Watch) -> Priority | None:
    return max((a.priority for a in watch.open_alerts() if a.rule == "bilge" and a.returned_ms is None), default=None)


@pytest.mark.parametrize("record", RECORDS, ids=["no pump", "pump"])
@given(before=st.lists(st.tuples(gaps_min, anything), max_size=30), high_m=st.floats(HIGH_M, 9.0))
@settings(max_examples=60, deadline=None)
def test_a_level_at_its_high_mark_is_told_at_once_whatever_came_before(
    record: Vessel, before: list[tuple[int, float]], high_m: float
) -> None:
    watch, at = Watch(record, LAID_UP_MS, (Bilge,)), LAID_UP_MS
    for minutes, value in before:
        at += minutes * MINUTE
        watch.fold(Reading("tern", "bilge-level", at, at, at, value))
    at += 10 * MINUTE
    watch.fold(Reading("tern", "bilge-level", at, at, at, high_m))
    assert told(watch) in {Priority.WARNING, Priority.ALARM}


@pytest.mark.parametrize("record", RECORDS, ids=["no pump", "pump"])
@given(before=st.lists(st.tuples(gaps_min, anything), max_size=30))
@settings(max_examples=60, deadline=None)
def test_a_float_switch_that_goes_up_is_told_at_once_whatever_the_level_says(
    record: Vessel, before: list[tuple[int, float]]
) -> None:
    watch, at = Watch(record, LAID_UP_MS, (Bilge,)), LAID_UP_MS
    for minutes, value in before:
        at += minutes * MINUTE
        watch.fold(Reading("tern", "bilge-level", at, at, at, value))
        watch.fold(Reading("tern", "bilge-float", at, at, at, 0.0))
    at += 10 * MINUTE
    watch.fold(Reading("tern", "bilge-float", at, at, at, 1.0))
    assert told(watch) in {Priority.WARNING, Priority.ALARM}


@pytest.mark.parametrize("record", RECORDS, ids=["no pump", "pump"])
@given(
    steps=st.lists(st.tuples(gaps_min, st.floats(0.0, 0.5)), min_size=3, max_size=40),
    start_m=st.floats(0.0, 0.05),
)
@settings(max_examples=100, deadline=None)
def test_a_rising_bilge_is_believed_within_one_reading(
    record: Vessel, steps: list[tuple[int, float]], start_m: float
) -> None:
    tests, state = expected_of(record)["bilge-level"], SensorQuality()
    at, level, readings = LAID_UP_MS, start_m, []
    for minutes, rise in steps:
        at, level = at + minutes * MINUTE, min(level + rise, 5.0)
        readings.append(Reading("tern", "bilge-level", at, at, at, level))
    for reading in readings:
        assess(state, tests, reading)
    assert [r.flag for r in readings[:-1]] == [Flag.PASS] * (len(readings) - 1)


@pytest.mark.parametrize("every_min", [1, 10, 60])
@pytest.mark.parametrize("record", RECORDS, ids=["no pump", "pump"])
def test_a_bilge_that_has_a_saw_tooth_and_then_floods_is_told_no_later(record: Vessel, every_min: int) -> None:
    chance = random.Random(every_min)
    for with_teeth in (False, True):
        watch, at, level = Watch(record, LAID_UP_MS, (Bilge,)), LAID_UP_MS, 0.02
        for _ in range(20 * 24 * 60 // every_min):
            at += every_min * MINUTE
            level = (level + 0.013 * every_min / 10) if with_teeth else 0.03
            level = 0.02 if level > 0.08 else level
            watch.fold(Reading("tern", "bilge-level", at, at, at, round(level + chance.gauss(0, 0.002), 3)))
        floods = at
        while told(watch) is not Priority.ALARM:
            at += every_min * MINUTE
            level += 0.02 * every_min / 60
            watch.fold(Reading("tern", "bilge-level", at, at, at, round(level + chance.gauss(0, 0.002), 3)))
            assert at < floods + 6 * HOUR
        # From 30-80 mm at 20 mm an hour the high mark is reached within 4 h.
        assert level <= HIGH_M + 0.02 * max(every_min / 60, 0.2)


@given(
    before=st.lists(st.floats(-30.0, 45.0), max_size=20),
    hot_degc=st.floats(45.0, 85.0, exclude_min=True, exclude_max=True),
    warmer_k=st.floats(0.0, 5.0),
)
@settings(max_examples=100, deadline=None)
def test_heat_in_a_space_is_believed_at_once_whatever_came_before(
    before: list[float], hot_degc: float, warmer_k: float
) -> None:
    tests, state = expected_of(boat())["engine-space"], SensorQuality()
    for hour, degc in enumerate([*before, hot_degc, min(hot_degc + warmer_k, 84.9)]):
        at = LAID_UP_MS + hour * HOUR
        reading = Reading("tern", "engine-space", at, at, at, degc)
        assess(state, tests, reading)
        if degc >= hot_degc:
            assert reading.flag is Flag.PASS


def test_a_level_stuck_at_the_high_mark_keeps_its_alarm() -> None:
    watch, chance = Watch(afloat(), LAID_UP_MS, RULES), random.Random(1)
    for hour in range(24 * 40):
        at = LAID_UP_MS + hour * HOUR
        level = round(0.02 + chance.gauss(0, 0.003), 3) if hour < 24 * 20 else 0.15
        watch.fold(Clock(at))
        watch.fold(Reading("tern", "bilge-level", at, at, at, level))
        if hour >= 24 * 20 + 1:
            assert told(watch) is Priority.ALARM, hour
    assert ("silence", "bilge-level", "stuck") in {(a.rule, a.subject, a.finding.kind) for a in watch.open_alerts()}
