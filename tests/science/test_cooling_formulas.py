from collections.abc import Callable
from itertools import pairwise
from math import inf, pi, sin

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from monitor.science.cooling import (
    LONGEST_STEP_H,
    LagFit,
    add_temperatures,
    daily_minimum,
    lag_of,
    lag_step_degc,
    minimum_ahead,
)

temperatures = st.floats(-30.0, 30.0)
constants = st.floats(0.5, 200.0)
steps = st.floats(0.01, 100.0)
NAN = float("nan")


@given(temperatures, temperatures, temperatures, constants, steps, st.floats(0.0, 1.0))
def test_two_steps_are_one(inside: float, u0: float, u1: float, tau: float, hours: float, share: float) -> None:
    between = u0 + (u1 - u0) * share
    half_way = lag_step_degc(inside, u0, between, hours * share, tau)
    two = lag_step_degc(half_way, between, u1, hours * (1.0 - share), tau)
    assert two == pytest.approx(lag_step_degc(inside, u0, u1, hours, tau), abs=1e-6)


@given(temperatures, temperatures, temperatures, constants, steps)
def test_a_space_is_never_colder_than_all_it_has_met(
    inside: float, u0: float, u1: float, tau: float, hours: float
) -> None:
    after = lag_step_degc(inside, u0, u1, hours, tau)
    assert min(inside, u0, u1) - 1e-6 <= after <= max(inside, u0, u1) + 1e-6


@given(temperatures, temperatures, constants)
def test_after_one_time_constant_37_percent_is_left(inside: float, outside: float, tau: float) -> None:
    left = lag_step_degc(inside, outside, outside, tau, tau) - outside
    assert left == pytest.approx(0.36787944 * (inside - outside), abs=1e-6)


def test_no_time_changes_nothing() -> None:
    assert lag_step_degc(7.0, -5.0, -5.0, 0.0, 20.0) == 7.0


def outside_at(hour: float) -> float:
    return 4.0 + 5.0 * sin(2.0 * pi * hour / 24.0) + 3.0 * sin(2.0 * pi * hour / 131.0)


def watched(tau: float, gain: float, days: int, noise: Callable[[int], float], step_h: float = 1.0) -> LagFit:
    fit, inside = LagFit(), outside_at(0.0) + gain
    for k in range(int(days * 24 / step_h)):
        hour = k * step_h
        fit = add_temperatures(fit, hour, inside + noise(k), outside_at(hour))
        inside = lag_step_degc(inside, outside_at(hour) + gain, outside_at(hour + step_h) + gain, step_h, tau)
    return fit


@settings(max_examples=25, deadline=None)
@given(st.floats(3.0, 60.0), st.floats(-2.0, 5.0), st.sampled_from([0.25, 0.5, 1.0, 2.0]))
def test_the_fit_finds_lag_and_gain_of_a_quiet_space(tau: float, gain: float, step_h: float) -> None:
    lag = lag_of(watched(tau, gain, 20, lambda _: 0.0, step_h))
    assert lag is not None
    # the trapezoid rule is off by (dt / tau)^2 / 12
    assert lag.time_constant_h.best == pytest.approx(tau, rel=0.01 + (step_h / tau) ** 2 / 12.0)
    assert lag.gain_k == pytest.approx(gain, abs=0.1)


def test_the_fit_finds_the_lag_under_a_thermometer_that_steps_by_a_tenth() -> None:
    # 0.1 K of resolution, rounded by a walk through the golden ratio, has a standard deviation of 0.03 K
    lag = lag_of(watched(12.0, 1.0, 30, lambda k: (k * 0.618034) % 1.0 * 0.1 - 0.05))
    assert lag is not None
    assert lag.time_constant_h.low <= 12.0 <= lag.time_constant_h.high
    assert lag.time_constant_h.high < 1.2 * lag.time_constant_h.low


def test_more_noise_is_told_as_more_doubt() -> None:
    quiet = lag_of(watched(12.0, 1.0, 20, lambda k: (k * 0.618034) % 1.0 * 0.1))
    noisy = lag_of(watched(12.0, 1.0, 20, lambda k: (k * 0.618034) % 1.0))
    assert quiet is not None
    assert noisy is not None
    width = noisy.time_constant_h.high - noisy.time_constant_h.low
    assert width > quiet.time_constant_h.high - quiet.time_constant_h.low


def test_nothing_is_said_before_a_day_has_been_seen() -> None:
    assert lag_of(LagFit()) is None
    assert lag_of(watched(12.0, 0.0, 1, lambda _: 0.0)) is None


def test_a_space_that_never_differs_from_outside_tells_nothing() -> None:
    fit = LagFit()
    for hour in range(200):
        fit = add_temperatures(fit, float(hour), 5.0, 5.0)
    assert lag_of(fit) is None


def test_a_gap_only_moves_the_starting_point() -> None:
    fit = watched(12.0, 0.0, 10, lambda _: 0.0)
    assert fit.at_h is not None
    after = add_temperatures(fit, fit.at_h + LONGEST_STEP_H + 0.1, -15.0, 20.0)
    before_lag, after_lag = lag_of(fit), lag_of(after)
    assert before_lag is not None
    assert after_lag is not None
    assert after_lag.time_constant_h.best == pytest.approx(before_lag.time_constant_h.best, rel=1e-9)
    assert (after.inside_degc, after.outside_degc) == (-15.0, 20.0)


def test_a_reading_behind_its_time_is_passed_over() -> None:
    fit = watched(12.0, 0.0, 2, lambda _: 0.0)
    assert add_temperatures(fit, 3.0, 0.0, 0.0) == fit


def test_the_fit_forgets_a_cover_that_was_taken_off() -> None:
    fit, inside = LagFit(), outside_at(0.0)
    for hour in range(24 * 120):
        tau = 30.0 if hour < 24 * 40 else 8.0
        fit = add_temperatures(fit, float(hour), inside, outside_at(float(hour)))
        inside = lag_step_degc(inside, outside_at(float(hour)), outside_at(hour + 1.0), 1.0, tau)
    lag = lag_of(fit)
    assert lag is not None
    assert lag.time_constant_h.best == pytest.approx(8.0, rel=0.05)


@settings(max_examples=50, deadline=None)
@given(temperatures, st.lists(st.tuples(st.floats(0.5, 12.0), temperatures), min_size=1, max_size=6), constants)
def test_the_minimum_ahead_is_what_small_steps_find(inside: float, legs: list[tuple[float, float]], tau: float) -> None:
    forecast, hour = [(0.0, 0.0)], 0.0
    for hours, degc in legs:
        hour += hours
        forecast.append((hour, degc))
    told = minimum_ahead(inside, forecast, tau)
    coldest, now = inside, inside
    for (h0, u0), (h1, u1) in pairwise(forecast):
        for k in range(50):
            a, b = u0 + (u1 - u0) * k / 50.0, u0 + (u1 - u0) * (k + 1) / 50.0
            now = lag_step_degc(now, a, b, (h1 - h0) / 50.0, tau)
            coldest = min(coldest, now)
    assert told.t_degc <= coldest + 1e-6
    # within a fiftieth of a leg the space moves by no more than this
    assert told.t_degc == pytest.approx(coldest, abs=60.0 * 12.0 / 50.0 / tau + 1e-6)
    assert 0.0 <= told.hours <= hour


def test_a_space_that_only_warms_is_coldest_now() -> None:
    assert minimum_ahead(-2.0, [(0.0, 5.0), (24.0, 9.0)], 20.0) == (-2.0, 0.0)


@given(st.floats(-10.0, 10.0), st.floats(0.0, 10.0), st.floats(0.5, 100.0))
def test_a_space_is_never_colder_than_the_coldest_of_the_day(mean: float, amplitude: float, tau: float) -> None:
    low = daily_minimum(mean, amplitude, tau)
    assert mean - amplitude <= low.t_degc <= mean
    assert 0.0 < low.hours < 6.0


def test_the_daily_minimum_is_what_stepping_through_days_finds() -> None:
    inside, coldest, tau = 2.0, inf, 12.0
    for k in range(20 * 240):
        now, then = (2.0 + 6.0 * sin(2.0 * pi * h / 240.0) for h in (k, k + 1))
        inside = lag_step_degc(inside, now, then, 0.1, tau)
        if k > 19 * 240:
            coldest = min(coldest, inside)
    assert daily_minimum(2.0, 6.0, tau).t_degc == pytest.approx(coldest, abs=0.001)


@pytest.mark.parametrize(
    ("formula", "message"),
    [
        (lambda: lag_step_degc(5.0, 0.0, 0.0, -1.0, 20.0), "step is -1 h"),
        (lambda: lag_step_degc(5.0, 0.0, 0.0, 1.0, 0.0), "time constant is 0 h"),
        (lambda: lag_step_degc(NAN, 0.0, 0.0, 1.0, 20.0), "space is nan degC"),
        (lambda: lag_step_degc(5.0, 0.0, 99.0, 1.0, 20.0), "air outside next is 99 degC"),
        (lambda: minimum_ahead(5.0, [], 20.0).t_degc, "the forecast is empty"),
        (lambda: minimum_ahead(5.0, [(2.0, 0.0), (1.0, 0.0)], 20.0).t_degc, "goes back from 2 h to 1 h"),
        (lambda: daily_minimum(2.0, -1.0, 20.0).t_degc, "amplitude is -1 K"),
        (lambda: add_temperatures(LagFit(), 0.0, 99.0, 0.0).inside_degc, "space is 99 degC"),
    ],
)
def test_what_the_formula_does_not_cover_is_refused(formula: Callable[[], float], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        formula()
