from collections.abc import Callable

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from monitor.science.air import (
    absolute_humidity_g_per_m3,
    dew_point_degc,
    dew_point_from_pressure_degc,
    frost_point_degc,
    frost_point_from_pressure_degc,
    mixing_ratio,
    rh_at_surface_pct,
    rh_from_dew_point_pct,
    saturation_pressure_ice_pa,
    saturation_pressure_water_pa,
    settling_point_degc,
    vapour_pressure_pa,
)

over_water = st.floats(-45.0, 60.0)
over_ice = st.floats(-65.0, 0.01)
room = st.floats(-20.0, 35.0)
humidity = st.floats(20.0, 100.0)
NAN = float("nan")


@given(over_water, over_water)
def test_warmer_air_holds_more_over_water(one: float, other: float) -> None:
    cold, warm = sorted((one, other))
    assert saturation_pressure_water_pa(cold) <= saturation_pressure_water_pa(warm)


@given(over_water)
def test_dew_point_undoes_saturation(t_degc: float) -> None:
    back = dew_point_from_pressure_degc(saturation_pressure_water_pa(t_degc))
    assert back == pytest.approx(t_degc, abs=1e-9)


@given(over_ice)
def test_frost_point_undoes_saturation(t_degc: float) -> None:
    back = frost_point_from_pressure_degc(saturation_pressure_ice_pa(t_degc))
    assert back == pytest.approx(t_degc, abs=1e-9)


@given(st.floats(-45.0, -0.01))
def test_below_zero_ice_holds_less_than_water(t_degc: float) -> None:
    assert saturation_pressure_ice_pa(t_degc) < saturation_pressure_water_pa(t_degc)


@given(room, humidity)
def test_dew_point_is_never_above_the_air(t_degc: float, rh_pct: float) -> None:
    assert dew_point_degc(t_degc, rh_pct) <= t_degc + 1e-9


@given(room, humidity)
def test_humidity_and_dew_point_turn_back(t_degc: float, rh_pct: float) -> None:
    dew_degc = dew_point_degc(t_degc, rh_pct)
    assume(dew_degc <= t_degc)  # the last bit at 100 %
    assert rh_from_dew_point_pct(t_degc, dew_degc) == pytest.approx(rh_pct, abs=1e-9)


@given(st.floats(-40.0, -1.0), humidity)
def test_frost_comes_before_dew_below_zero(t_degc: float, rh_pct: float) -> None:
    assume(vapour_pressure_pa(t_degc, rh_pct) > 12.0)
    assert frost_point_degc(t_degc, rh_pct) > dew_point_degc(t_degc, rh_pct)
    assert settling_point_degc(t_degc, rh_pct) == frost_point_degc(t_degc, rh_pct)


@given(room, humidity)
def test_a_surface_at_the_dew_point_is_just_wet(t_degc: float, rh_pct: float) -> None:
    assert rh_at_surface_pct(t_degc, rh_pct, dew_point_degc(t_degc, rh_pct)) == pytest.approx(100.0, abs=1e-9)


@given(room, st.floats(0.0, 100.0), room, room)
def test_a_colder_surface_is_damper(t_degc: float, rh_pct: float, one: float, other: float) -> None:
    cold, warm = sorted((one, other))
    assert 0.0 <= rh_at_surface_pct(t_degc, rh_pct, warm) <= rh_at_surface_pct(t_degc, rh_pct, cold) <= 100.0


@given(room, humidity, st.floats(0.0, 15.0))
def test_warming_alone_dries_nothing(t_degc: float, rh_pct: float, warmed_k: float) -> None:
    rh_warm_pct = rh_at_surface_pct(t_degc, rh_pct, t_degc + warmed_k)
    assert mixing_ratio(t_degc + warmed_k, rh_warm_pct) == pytest.approx(mixing_ratio(t_degc, rh_pct), rel=1e-9)


@given(room, st.floats(0.0, 100.0), st.floats(0.0, 100.0))
def test_damper_air_holds_more_water(t_degc: float, one: float, other: float) -> None:
    dry, damp = sorted((one, other))
    assert absolute_humidity_g_per_m3(t_degc, dry) <= absolute_humidity_g_per_m3(t_degc, damp)
    assert mixing_ratio(t_degc, dry) <= mixing_ratio(t_degc, damp)


def test_settling_point_does_not_jump_at_zero() -> None:
    # 611.2 Pa is 0 degC over water and over ice in Sonntag's formulas.
    rh_pct = 100.0 * 611.2 / saturation_pressure_water_pa(10.0)
    assert settling_point_degc(10.0, rh_pct + 1e-6) == pytest.approx(settling_point_degc(10.0, rh_pct - 1e-6), abs=1e-4)


@pytest.mark.parametrize(
    ("formula", "message"),
    [
        (lambda: saturation_pressure_water_pa(-45.1), "temperature is -45.1 degC, outside -45 to 60 degC"),
        (lambda: saturation_pressure_water_pa(60.1), "temperature is 60.1 degC, outside -45 to 60 degC"),
        (lambda: saturation_pressure_water_pa(NAN), "temperature is nan degC"),
        (lambda: saturation_pressure_ice_pa(0.1), "temperature is 0.1 degC, outside -65 to 0.01 degC"),
        (lambda: vapour_pressure_pa(20.0, 100.1), "relative humidity is 100.1 %, outside 0 to 100 %"),
        (lambda: vapour_pressure_pa(20.0, -0.1), "relative humidity is -0.1 %, outside 0 to 100 %"),
        (lambda: dew_point_degc(20.0, 0.0), "vapour pressure is 0 Pa, outside"),
        (lambda: frost_point_degc(20.0, 50.0), "vapour pressure is 1166.3 Pa, outside"),
        (lambda: rh_from_dew_point_pct(10.0, 11.0), "dew point is 11 degC, outside -45 to 10 degC"),
        (lambda: mixing_ratio(20.0, 50.0, 1013.0), "air pressure is 1013 Pa, outside 50000 to 110000 Pa"),
    ],
)
def test_what_the_formula_does_not_cover_is_refused(formula: Callable[[], float], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        formula()
