from collections.abc import Callable
from math import inf, sqrt
from statistics import fmean, linear_regression, stdev

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from monitor.science.cusum import Cusum, cusum_run_length, cusum_step
from monitor.science.moments import Moments, RecentMoments, add_recent, add_value
from monitor.science.trend import (
    MOST_POINTS,
    LineFit,
    add_point,
    days_to_prove_slope,
    line_of,
    push_point,
    robust_slope,
)

values = st.floats(-1e3, 1e3)
several = st.lists(values, min_size=2, max_size=60)
NAN = float("nan")


def fitted(points: list[tuple[float, float]]) -> LineFit:
    fit = LineFit()
    for x, y in points:
        fit = add_point(fit, x, y)
    return fit


def moments_of(xs: list[float]) -> Moments:
    moments = Moments()
    for x in xs:
        moments = add_value(moments, x)
    return moments


@given(several)
def test_moments_are_those_of_the_whole_list(xs: list[float]) -> None:
    moments = moments_of(xs)
    assert moments.n == len(xs)
    assert moments.mean == pytest.approx(fmean(xs), abs=1e-9)
    assert moments.sd == pytest.approx(stdev(xs), abs=1e-6)


def test_one_value_has_no_spread() -> None:
    assert moments_of([5.0]).sd is None
    assert Moments().sd is None


@given(several)
def test_recent_moments_with_a_long_memory_are_plain_ones(xs: list[float]) -> None:
    recent = RecentMoments()
    for hour, x in enumerate(xs):
        recent = add_recent(recent, x, float(hour), 1e12)
    plain = moments_of(xs)
    assert recent.mean == pytest.approx(plain.mean, abs=1e-6)
    assert recent.variance == pytest.approx(plain.m2 / plain.n, abs=1e-3)


def test_recent_moments_forget() -> None:
    recent = RecentMoments()
    for hour in range(1000):
        recent = add_recent(recent, 10.0 if hour < 500 else 20.0, float(hour), 24.0)
    assert recent.mean == pytest.approx(20.0, abs=1e-6)
    assert recent.variance == pytest.approx(0.0, abs=1e-6)
    assert recent.weight < 25.0


def test_recent_moments_after_a_long_gap_start_afresh() -> None:
    recent = add_recent(add_recent(RecentMoments(), 10.0, 0.0, 24.0), 20.0, 1e4, 24.0)
    assert recent.mean == pytest.approx(20.0)


@given(st.lists(st.tuples(values, values), min_size=3, max_size=60))
def test_the_line_is_that_of_the_whole_list(points: list[tuple[float, float]]) -> None:
    xs = [x for x, _ in points]
    assume(max(xs) - min(xs) > 1.0)
    line = line_of(fitted(points))
    assert line is not None
    whole = linear_regression(xs, [y for _, y in points])
    assert line.slope == pytest.approx(whole.slope, abs=1e-6)
    assert line.intercept == pytest.approx(whole.intercept, abs=1e-5)
    assert line.at(3.0) == pytest.approx(line.intercept + 3.0 * line.slope)


@given(values, st.floats(-10.0, 10.0), st.floats(-10.0, 10.0))
def test_points_on_a_line_leave_no_doubt(intercept: float, slope: float, far: float) -> None:
    line = line_of(fitted([(far + x, intercept + slope * (far + x)) for x in (0.0, 1.0, 2.0, 5.0)]))
    assert line is not None
    assert line.slope == pytest.approx(slope, abs=1e-6)
    assert line.slope_error == pytest.approx(0.0, abs=1e-5)


def test_hours_since_1970_lose_no_digits() -> None:
    epoch_h = 490_000.0
    line = line_of(fitted([(epoch_h + k / 6.0, 0.020 + 0.0001 * k / 6.0) for k in range(1000)]))
    assert line is not None
    assert line.slope == pytest.approx(0.0001, rel=1e-6)


def test_too_few_points_or_one_place_give_no_line() -> None:
    assert line_of(LineFit()) is None
    assert line_of(fitted([(1.0, 2.0)])) is None
    assert line_of(fitted([(1.0, 2.0), (1.0, 3.0), (1.0, 4.0)])) is None


def test_two_points_give_a_line_that_nobody_should_trust() -> None:
    line = line_of(fitted([(0.0, 0.0), (1.0, 2.0)]))
    assert line is not None
    assert (line.slope, line.slope_error, line.residual_sd) == (2.0, inf, inf)


@given(st.floats(1e-3, 1e3), st.floats(1e-3, 1e3), st.floats(0.1, 1e3))
def test_days_to_prove_a_slope_give_that_standard_error(slope: float, noise: float, samples: float) -> None:
    days = days_to_prove_slope(slope, noise, samples)
    assert noise * sqrt(12.0 / (samples * days**3)) == pytest.approx(slope / 3.0, rel=1e-6)


distinct = st.lists(st.tuples(st.integers(0, 500), values), min_size=6, max_size=40, unique_by=lambda p: p[0])


@given(distinct)
def test_the_robust_slope_lies_in_its_interval(raw: list[tuple[int, float]]) -> None:
    found = robust_slope([(float(x), y) for x, y in raw])
    assert found is not None
    assert found.low <= found.slope <= found.high
    assert 0.0 <= found.confidence <= 1.0


@given(distinct)
def test_the_robust_slope_turns_with_the_data(raw: list[tuple[int, float]]) -> None:
    up = robust_slope([(float(x), y) for x, y in raw])
    down = robust_slope([(float(x), -y) for x, y in raw])
    assert up is not None
    assert down is not None
    assert down.slope == pytest.approx(-up.slope, abs=1e-9)
    assert down.confidence == pytest.approx(up.confidence, abs=1e-9)


@given(st.floats(-5.0, 5.0), st.lists(st.integers(0, 19), min_size=0, max_size=4, unique=True))
def test_a_fifth_of_bad_points_does_not_bend_the_slope(slope: float, bad: list[int]) -> None:
    points = [(float(k), slope * k + (1e4 if k in bad else 0.0)) for k in range(20)]
    found = robust_slope(points)
    assert found is not None
    assert found.slope == pytest.approx(slope, abs=1e-6)


def test_a_steady_rise_is_sure_and_a_flat_line_is_not() -> None:
    rising = robust_slope([(float(k), 0.1 * k) for k in range(20)])
    flat = robust_slope([(float(k), 1.0) for k in range(20)])
    assert rising is not None
    assert flat is not None
    assert rising.confidence > 0.999
    assert (flat.slope, flat.confidence) == (0.0, 0.0)


def test_too_few_points_give_no_robust_slope() -> None:
    assert robust_slope([]) is None
    assert robust_slope([(0.0, 0.0), (1.0, 1.0), (2.0, 2.0)]) is None
    assert robust_slope([(1.0, float(k)) for k in range(10)]) is None


def test_a_window_too_large_is_refused() -> None:
    with pytest.raises(ValueError, match="points is 513"):
        robust_slope([(float(k), 0.0) for k in range(MOST_POINTS + 1)])


@given(st.lists(st.floats(0.0, 50.0), min_size=1, max_size=120), st.integers(2, 40))
def test_a_window_keeps_its_bounds_and_its_order(steps: list[float], most: int) -> None:
    points: tuple[tuple[float, float], ...] = ()
    hour = 0.0
    for k, step in enumerate(steps):
        hour += step
        points = push_point(points, (hour, float(k)), span=100.0, most=most)
        assert points[-1] == (hour, float(k))
        assert len(points) <= most
        assert points[0][0] >= hour - 100.0
        assert [x for x, _ in points] == sorted(x for x, _ in points)


def test_a_point_behind_the_newest_is_refused() -> None:
    with pytest.raises(ValueError, match="the point at 1 lies behind the newest at 2"):
        push_point(((2.0, 0.0),), (1.0, 0.0), span=10.0)


@given(st.lists(st.floats(-6.0, 6.0), max_size=100))
def test_cusum_sums_are_never_negative_and_mirror_each_other(deviations: list[float]) -> None:
    sums, mirrored = Cusum(), Cusum()
    for z in deviations:
        sums, mirrored = cusum_step(sums, z), cusum_step(mirrored, -z)
        assert sums.high >= 0.0
        assert sums.low >= 0.0
        assert (sums.high, sums.low) == (mirrored.low, mirrored.high)


def test_a_small_lasting_shift_piles_up_and_stops_at_the_cap() -> None:
    sums = Cusum()
    for _ in range(20):
        sums = cusum_step(sums, 1.0)
    assert sums.high == pytest.approx(10.0)
    for _ in range(10_000):
        sums = cusum_step(sums, 1.0, most_sd=50.0)
    assert sums.high == 50.0


@given(st.floats(0.5, 20.0), st.floats(0.5, 20.0), st.floats(0.0, 2.0))
def test_a_higher_limit_trips_later(one: float, other: float, shift: float) -> None:
    low, high = sorted((one, other))
    assert cusum_run_length(low, shift_sd=shift) <= cusum_run_length(high, shift_sd=shift) * (1.0 + 1e-6)


def test_run_length_passes_smoothly_through_a_shift_equal_to_the_slack() -> None:
    at = cusum_run_length(5.0, 0.5, 0.5)
    assert at == pytest.approx(cusum_run_length(5.0, 0.5, 0.5001), rel=0.001)
    assert at == pytest.approx(cusum_run_length(5.0, 0.5, 0.4999), rel=0.001)


@pytest.mark.parametrize(
    ("formula", "message"),
    [
        (lambda: add_value(Moments(), NAN).mean, "the value nan is not finite"),
        (lambda: add_recent(RecentMoments(), inf, 0.0, 24.0).mean, "the value inf is not finite"),
        (lambda: add_recent(RecentMoments(1.0, 0.0, 0.0, 5.0), 1.0, 4.0, 24.0).mean, "time is 4 h, outside 5 to inf h"),
        (lambda: add_point(LineFit(), 0.0, NAN).y_mean, r"the point \(0.0, nan\) is not finite"),
        (lambda: cusum_step(Cusum(), inf).high, "the deviation inf is not finite"),
        (lambda: cusum_step(Cusum(), 0.0, -1.0).high, "slack is -1 sd"),
        (lambda: cusum_run_length(0.1), "limit is 0.1 sd, outside 0.5 to 50 sd"),
        (lambda: days_to_prove_slope(0.0, 1.0, 1.0), "slope is 0 unit/day"),
    ],
)
def test_what_the_formula_does_not_cover_is_refused(formula: Callable[[], float], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        formula()
