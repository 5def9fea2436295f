from collections.abc import Callable
from math import inf

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from monitor.science.battery import (
    Chemistry,
    Rest,
    charge_from_rested_v,
    decline_pct_per_day,
    rest_of,
    rested_v_at_reference,
    rested_v_from_charge,
)
from monitor.science.discharge import (
    days_to_charge,
    excess_load_ma,
    load_ma_from_pct_per_day,
    load_pct_per_day,
    self_discharge_pct_per_day,
)
from monitor.science.electrolyte import (
    battery_freezing_point_degc,
    cell_rested_v_from_sg,
    charge_from_sg_pct,
    electrolyte_freezing_point_degc,
    sg_from_cell_rested_v,
    sg_from_charge,
)
from monitor.science.span import Span

LEAD = [Chemistry.FLOODED, Chemistry.AGM, Chemistry.GEL]
charges = st.floats(0.0, 100.0)
temperatures = st.floats(-30.0, 45.0)
nominals = st.sampled_from([6.0, 12.0, 24.0, 48.0])
NAN = float("nan")


@given(st.floats(1.0, 1.3), st.floats(1.0, 1.3))
def test_stronger_acid_freezes_no_warmer(one: float, other: float) -> None:
    weak, strong = sorted((one, other))
    assert electrolyte_freezing_point_degc(strong) <= electrolyte_freezing_point_degc(weak) <= 0.0


@given(charges)
def test_charge_and_specific_gravity_turn_back(charge_pct: float) -> None:
    assert charge_from_sg_pct(sg_from_charge(charge_pct)) == pytest.approx(charge_pct, abs=1e-9)


@given(st.floats(1.05, 1.299))
def test_specific_gravity_and_cell_volts_turn_back(sg: float) -> None:
    assert sg_from_cell_rested_v(cell_rested_v_from_sg(sg)) == pytest.approx(sg, abs=1e-12)


def test_a_flat_battery_freezes_in_an_ordinary_frost() -> None:
    assert battery_freezing_point_degc(0.0) == -10.0
    assert battery_freezing_point_degc(100.0) < -40.0


@given(st.sampled_from(LEAD), charges, temperatures, nominals)
def test_lead_volts_and_charge_turn_back(
    chemistry: Chemistry, charge_pct: float, t_degc: float, nominal: float
) -> None:
    rest_v = rested_v_from_charge(chemistry, charge_pct, t_degc, nominal)
    told = charge_from_rested_v(chemistry, rest_v, t_degc, nominal)
    assert told.best_pct == pytest.approx(charge_pct, abs=1e-6)
    assert told.low_pct <= charge_pct + 1e-6
    assert told.high_pct >= charge_pct - 1e-6


@given(st.sampled_from(list(Chemistry)), st.floats(0.0, 13.5), st.floats(0.0, 13.5), temperatures)
def test_more_volts_never_tell_less_charge(chemistry: Chemistry, one: float, other: float, t_degc: float) -> None:
    less, more = (charge_from_rested_v(chemistry, v, t_degc) for v in sorted((one, other)))
    assert less.low_pct <= more.low_pct
    assert less.high_pct <= more.high_pct
    assert 0.0 <= less.low_pct <= less.high_pct <= 100.0
    if less.best_pct is not None and more.best_pct is not None:
        assert less.best_pct <= more.best_pct


@given(st.sampled_from(list(Chemistry)), st.floats(11.0, 13.5), st.floats(0.0, 0.5), st.floats(0.0, 0.5))
def test_a_worse_meter_never_narrows_the_charge(chemistry: Chemistry, v: float, one: float, other: float) -> None:
    good, bad = (charge_from_rested_v(chemistry, v, 10.0, error_v=error) for error in sorted((one, other)))
    assert bad.low_pct <= good.low_pct
    assert good.high_pct <= bad.high_pct


@given(st.sampled_from(LEAD), st.floats(11.5, 13.0), temperatures)
def test_a_24_volt_bank_is_two_of_12(chemistry: Chemistry, v: float, t_degc: float) -> None:
    two = charge_from_rested_v(chemistry, 2.0 * v, t_degc, 24.0, 0.06)
    assert two == pytest.approx(charge_from_rested_v(chemistry, v, t_degc, 12.0, 0.03), abs=1e-6)


def test_the_same_volts_tell_more_charge_in_the_cold() -> None:
    # +0.2 mV/K a cell: 12.45 V at 0 degC is 12.48 V at 26.7.
    assert rested_v_at_reference(12.45, 0.0) == pytest.approx(12.482, abs=0.0005)
    cold = charge_from_rested_v(Chemistry.FLOODED, 12.45, 0.0).best_pct
    warm = charge_from_rested_v(Chemistry.FLOODED, 12.45, 26.7).best_pct
    assert cold is not None
    assert warm is not None
    assert cold > warm


@pytest.mark.parametrize("rest_v", [12.9, 13.0, 13.1, 13.2, 13.3])
def test_lithium_in_the_flat_part_cannot_tell(rest_v: float) -> None:
    told = charge_from_rested_v(Chemistry.LIFEPO4, rest_v, 10.0)
    assert told.best_pct is None
    assert told.high_pct - told.low_pct > 30.0


@pytest.mark.parametrize(("rest_v", "low", "high"), [(11.5, 0.0, 15.0), (13.7, 90.0, 100.0)])
def test_lithium_at_its_ends_does_tell(rest_v: float, low: float, high: float) -> None:
    told = charge_from_rested_v(Chemistry.LIFEPO4, rest_v, 10.0)
    assert told.best_pct is not None
    assert low <= told.low_pct <= told.best_pct <= told.high_pct <= high


@given(st.sampled_from(list(Chemistry)), temperatures, temperatures)
def test_warmth_never_slows_self_discharge(chemistry: Chemistry, one: float, other: float) -> None:
    cold, warm = (self_discharge_pct_per_day(chemistry, t) for t in sorted((one, other)))
    assert all(slow <= fast for slow, fast in zip(cold, warm, strict=True))
    assert 0.0 <= cold.low <= cold.best <= cold.high


@given(st.sampled_from(LEAD), st.floats(-30.0, 35.0))
def test_self_discharge_doubles_each_ten_kelvin(chemistry: Chemistry, t_degc: float) -> None:
    cold, warm = self_discharge_pct_per_day(chemistry, t_degc), self_discharge_pct_per_day(chemistry, t_degc + 10.0)
    assert warm == pytest.approx(tuple(2.0 * rate for rate in cold), rel=1e-9)


@pytest.mark.parametrize(
    ("hours", "slope", "verdict"),
    [
        (0.0, 0.0, Rest.WORKING),
        (0.99, None, Rest.WORKING),
        (1.0, 0.0, Rest.RESTED),
        (1.0, None, Rest.SETTLING),
        (5.9, 0.011, Rest.SETTLING),
        (5.9, -0.009, Rest.RESTED),
        (6.0, None, Rest.WELL_RESTED),
        (6.0, 0.0, Rest.WELL_RESTED),
        (48.0, -0.02, Rest.SETTLING),
    ],
)
def test_rest_is_judged_by_time_and_slope(hours: float, slope: float | None, verdict: Rest) -> None:
    assert rest_of(hours, slope) is verdict


@given(st.floats(0.0, 1e4), st.floats(1.0, 1e3))
def test_load_and_its_share_turn_back(load_ma: float, capacity_ah: float) -> None:
    share = load_pct_per_day(load_ma, capacity_ah)
    assert load_ma_from_pct_per_day(share, capacity_ah) == pytest.approx(load_ma, abs=1e-6)


@given(st.sampled_from(LEAD), st.floats(1.0, 500.0), temperatures, st.floats(40.0, 400.0))
def test_a_real_load_lies_in_the_range_that_is_told(c: Chemistry, load_ma: float, t_degc: float, ah: float) -> None:
    own = self_discharge_pct_per_day(c, t_degc)
    for fading in own:
        decline = load_pct_per_day(load_ma, ah) + fading
        told = excess_load_ma(Span(decline, decline, decline), own, ah)
        assert 0.0 <= told.low <= told.best <= told.high
        assert told.low <= load_ma + 1e-6
        assert told.high >= load_ma - 1e-6


def test_self_discharge_alone_is_no_load() -> None:
    own = self_discharge_pct_per_day(Chemistry.FLOODED, 10.0)
    assert excess_load_ma(own, own, 100.0).low == 0.0
    assert excess_load_ma(own, own, 100.0).best == 0.0


@given(st.sampled_from(LEAD), st.floats(20.0, 80.0), st.floats(0.05, 1.0))
def test_decline_from_volts_is_the_decline_of_charge(chemistry: Chemistry, charge_pct: float, loss_pct: float) -> None:
    assume(charge_pct // 25.0 == (charge_pct - loss_pct) // 25.0)  # between two rows, where the table is straight
    v = [rested_v_from_charge(chemistry, charge, 26.7) for charge in (charge_pct, charge_pct - loss_pct)]
    told = decline_pct_per_day(chemistry, sum(v) / 2.0, v[1] - v[0], 0.001)
    assert told.best == pytest.approx(loss_pct, abs=1e-6)
    assert told.low < told.best < told.high


@given(charges, charges, st.floats(0.01, 10.0))
def test_time_to_a_charge_is_never_negative(charge_pct: float, floor_pct: float, rate: float) -> None:
    days = days_to_charge(charge_pct, floor_pct, rate)
    assert days >= 0.0
    assert charge_pct - days * rate == pytest.approx(min(charge_pct, floor_pct), abs=1e-6)


def test_a_battery_that_does_not_fall_never_gets_there() -> None:
    assert days_to_charge(90.0, 75.0, 0.0) == inf
    assert days_to_charge(90.0, 75.0, -0.1) == inf
    assert days_to_charge(70.0, 75.0, 0.0) == 0.0


@pytest.mark.parametrize(
    ("formula", "message"),
    [
        (lambda: electrolyte_freezing_point_degc(1.31), r"specific gravity is 1.31 \(26.7 degC\), outside 1 to 1.3"),
        (lambda: sg_from_charge(100.1), "charge is 100.1 %, outside 0 to 100 %"),
        (lambda: sg_from_charge(NAN), "charge is nan %"),
        (lambda: sg_from_cell_rested_v(12.6), "rested cell voltage is 12.6 V, outside 1.89 to 2.14 V"),
        (
            lambda: charge_from_rested_v(Chemistry.AGM, 14.4, 20.0).high_pct,
            "rested voltage is 14.4 V, outside 0 to 13.5 V",
        ),
        (lambda: charge_from_rested_v(Chemistry.AGM, 12.6, 80.0).high_pct, "battery temperature is 80 degC, outside"),
        (lambda: charge_from_rested_v(Chemistry.LIFEPO4, 15.0, 20.0).high_pct, "rested voltage is 15 V, outside"),
        (
            lambda: charge_from_rested_v(Chemistry.AGM, 12.6, 20.0, error_v=-0.1).high_pct,
            "error of the voltage is -0.1 V",
        ),
        (lambda: rested_v_from_charge(Chemistry.LIFEPO4, 50.0, 20.0), "does not tell its charge"),
        (lambda: decline_pct_per_day(Chemistry.LIFEPO4, 13.2, 0.0, 0.0).best, "does not tell its charge"),
        (lambda: self_discharge_pct_per_day(Chemistry.GEL, 61.0).best, "battery temperature is 61 degC, outside"),
        (lambda: load_pct_per_day(20.0, 0.0), "capacity is 0 Ah, outside 1 to 10000 Ah"),
        (lambda: days_to_charge(101.0, 75.0, 1.0), "charge is 101 %"),
    ],
)
def test_what_the_formula_does_not_cover_is_refused(formula: Callable[[], float], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        formula()


def test_a_negative_rest_is_refused() -> None:
    with pytest.raises(ValueError, match="time since charge or load is -1 h"):
        rest_of(-1.0, 0.0)
