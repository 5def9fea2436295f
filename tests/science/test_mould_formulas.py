from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.science.mould import (
    Mould,
    Sensitivity,
    ceiling_index,
    critical_rh_pct,
    decline_over,
    growth_per_day,
    mould_step,
    weeks_to_first_growth,
)

classes = st.sampled_from(list(Sensitivity))
mild = st.floats(0.1, 49.9)
humidity = st.floats(0.0, 100.0)
VERY = Sensitivity.VERY_SENSITIVE
NAN = float("nan")


@given(classes, st.floats(-40.0, 60.0))
def test_critical_humidity_lies_between_its_bounds(sensitivity: Sensitivity, t_degc: float) -> None:
    assert 80.0 <= critical_rh_pct(t_degc, sensitivity) <= 100.0


@given(classes, st.floats(-10.0, 40.0), st.floats(-10.0, 40.0))
def test_a_colder_surface_needs_more_humidity_to_grow(sensitivity: Sensitivity, one: float, other: float) -> None:
    cold, warm = sorted((one, other))
    # The published cubic dips under 80 % and comes back to 80.04 at 20 degC: a ripple of its own.
    assert critical_rh_pct(warm, sensitivity) <= critical_rh_pct(cold, sensitivity) + 0.04 + 1e-9


@given(mild, st.floats(80.0, 100.0), st.floats(80.0, 100.0))
def test_damper_surfaces_grow_sooner(t_degc: float, one: float, other: float) -> None:
    dry, damp = sorted((one, other))
    assert weeks_to_first_growth(t_degc, damp) <= weeks_to_first_growth(t_degc, dry)


@given(classes, st.floats(0.0, 6.0), st.floats(-40.0, 60.0), humidity)
def test_growth_is_bounded_and_needs_the_critical_humidity(
    sensitivity: Sensitivity, index: float, t_degc: float, rh_pct: float
) -> None:
    rate = growth_per_day(index, t_degc, rh_pct, sensitivity)
    assert 0.0 <= rate < 1.0
    if rh_pct < critical_rh_pct(t_degc, sensitivity) or t_degc <= 0.0 or t_degc >= 50.0:
        assert rate == 0.0
        assert ceiling_index(t_degc, rh_pct, sensitivity) == 0.0
    assert 0.0 <= ceiling_index(t_degc, rh_pct, sensitivity) <= 6.0


@given(mild, humidity)
def test_a_more_resistant_material_comes_to_rest_no_higher(t_degc: float, rh_pct: float) -> None:
    # sensitive classes share a critical humidity, and so do the resistant ones
    ceilings = [ceiling_index(t_degc, rh_pct, sensitivity) for sensitivity in Sensitivity]
    assert ceilings[0] >= ceilings[1] >= 0.0
    assert ceilings[2] >= ceilings[3] >= 0.0


@given(
    classes,
    st.lists(st.tuples(st.floats(0.0, 3.0), st.floats(-20.0, 55.0), humidity), max_size=60),
    st.floats(0.0, 6.0),
)
def test_whatever_happens_the_index_stays_on_its_scale(
    sensitivity: Sensitivity, hours: list[tuple[float, float, float]], start: float
) -> None:
    state = Mould(index=start)
    for step_h, t_degc, rh_pct in hours:
        state = mould_step(state, step_h, t_degc, rh_pct, sensitivity)
        assert 0.0 <= state.index <= 6.0
        assert state.unfavourable_h >= 0.0
    assert state.unheard_h == pytest.approx(sum(max(0.0, step_h - 1.0) for step_h, _, _ in hours))


@given(st.lists(st.floats(0.01, 1.0), min_size=1, max_size=80))
def test_the_length_of_the_steps_does_not_matter_to_the_decline(steps_h: list[float]) -> None:
    state = Mould(index=5.0)
    for step_h in steps_h:
        state = mould_step(state, step_h, 10.0, 40.0, VERY)
    assert state.index == pytest.approx(5.0 - decline_over(sum(steps_h)), abs=1e-9)


@given(st.floats(0.0, 500.0), st.floats(0.0, 500.0))
def test_a_longer_dry_spell_never_leaves_more(one: float, other: float) -> None:
    short, long = sorted((one, other))
    assert decline_over(short) <= decline_over(long)


def test_short_steps_and_hours_grow_alike() -> None:
    hourly, short = Mould(), Mould()
    for _ in range(24 * 30):
        hourly = mould_step(hourly, 1.0, 15.0, 95.0, VERY)
        for _ in range(6):
            short = mould_step(short, 1.0 / 6.0, 15.0, 95.0, VERY)
    assert short.index == pytest.approx(hourly.index, abs=0.01)
    assert hourly.index > 1.0


def test_growth_resumes_the_dry_spell_from_nothing() -> None:
    state = mould_step(Mould(index=2.0), 1.0, 10.0, 40.0, VERY)
    assert state.unfavourable_h == 1.0
    assert mould_step(state, 1.0, 15.0, 95.0, VERY).unfavourable_h == 0.0


def test_a_gap_holds_the_index_and_is_counted() -> None:
    state = mould_step(Mould(index=2.0), 49.0, 15.0, 97.0, VERY)
    assert state.unheard_h == 48.0
    assert state.index == pytest.approx(mould_step(Mould(index=2.0), 1.0, 15.0, 97.0, VERY).index)


def test_frost_stops_growth_even_when_wet() -> None:
    assert growth_per_day(0.0, 0.0, 100.0, VERY) == 0.0
    assert mould_step(Mould(index=1.0), 1.0, -2.0, 100.0, VERY).index < 1.0


@pytest.mark.parametrize(
    ("formula", "message"),
    [
        (lambda: critical_rh_pct(NAN, VERY), "surface temperature is nan degC"),
        (lambda: weeks_to_first_growth(0.0, 90.0), "surface temperature is 0 degC"),
        (lambda: weeks_to_first_growth(20.0, 70.0), "surface humidity is 70 %, outside 75 to 100 %"),
        (lambda: growth_per_day(6.1, 20.0, 90.0, VERY), "mould index is 6.1"),
        (lambda: decline_over(-1.0), "unfavourable spell is -1 h"),
        (lambda: mould_step(Mould(), -1.0, 10.0, 90.0, VERY).index, "step is -1 h"),
        (lambda: mould_step(Mould(), 1.0, 10.0, 101.0, VERY).index, "surface humidity is 101 %"),
        (lambda: mould_step(Mould(), 1.0, 90.0, 90.0, VERY).index, "surface temperature is 90 degC"),
    ],
)
def test_what_the_formula_does_not_cover_is_refused(formula: Callable[[], float], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        formula()
