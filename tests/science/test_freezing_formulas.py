import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.science.blending import (
    diluted_volume_pct,
    drain_and_replace_l,
    freezing_point_after_dilution,
    volume_pct_to_protect,
)
from monitor.science.freezing import (
    FRESH_WATER_DEGC,
    Glycol,
    freezing_point_from_mass_pct,
    freezing_point_from_volume_pct,
    mass_pct_for_freezing_point,
    mass_pct_from_volume_pct,
    max_volume_pct,
    sea_water_freezing_point_degc,
    volume_pct_for_freezing_point,
    volume_pct_from_mass_pct,
)

glycols = st.sampled_from(list(Glycol))
mass_pcts = st.floats(0.0, 60.0)
litres = st.floats(0.1, 500.0)
NAN = float("nan")


@given(glycols, mass_pcts, mass_pcts)
def test_more_glycol_freezes_colder(glycol: Glycol, one: float, other: float) -> None:
    weak, strong = sorted((one, other))
    assert freezing_point_from_mass_pct(glycol, strong).t_degc <= freezing_point_from_mass_pct(glycol, weak).t_degc


@given(glycols, mass_pcts, mass_pcts)
def test_sources_never_agree_better_about_a_stronger_mixture(glycol: Glycol, one: float, other: float) -> None:
    weak, strong = (freezing_point_from_mass_pct(glycol, pct).uncertainty_k for pct in sorted((one, other)))
    assert 0.0 <= weak <= strong


@given(glycols, mass_pcts)
def test_freezing_point_and_strength_turn_back(glycol: Glycol, mass_pct: float) -> None:
    t_degc = freezing_point_from_mass_pct(glycol, mass_pct).t_degc
    assert mass_pct_for_freezing_point(glycol, t_degc) == pytest.approx(mass_pct, abs=1e-6)
    back = freezing_point_from_volume_pct(glycol, volume_pct_for_freezing_point(glycol, t_degc)).t_degc
    assert back == pytest.approx(t_degc, abs=1e-6)


@given(glycols, mass_pcts)
def test_mass_and_volume_turn_back(glycol: Glycol, mass_pct: float) -> None:
    volume_pct = volume_pct_from_mass_pct(glycol, mass_pct)
    assert 0.0 <= volume_pct <= max_volume_pct(glycol)
    assert mass_pct_from_volume_pct(glycol, volume_pct) == pytest.approx(mass_pct, abs=1e-9)


@pytest.mark.parametrize("glycol", list(Glycol))
def test_no_glycol_is_fresh_water_without_doubt(glycol: Glycol) -> None:
    assert freezing_point_from_mass_pct(glycol, 0.0) == (FRESH_WATER_DEGC, 0.0)
    assert mass_pct_for_freezing_point(glycol, FRESH_WATER_DEGC) == pytest.approx(0.0, abs=1e-8)


@pytest.mark.parametrize("percent", [-0.1, 60.1, NAN, float("inf")])
@pytest.mark.parametrize("glycol", list(Glycol))
def test_nothing_is_extrapolated_past_sixty_percent(glycol: Glycol, percent: float) -> None:
    with pytest.raises(ValueError, match=r"glycol by mass is .* %, outside 0 to 60 %"):
        freezing_point_from_mass_pct(glycol, percent)
    with pytest.raises(ValueError, match=r"glycol by mass is .* %, outside 0 to 60 %"):
        volume_pct_from_mass_pct(glycol, percent)
    with pytest.raises(ValueError, match=r"glycol by volume is .* %, outside 0 to"):
        freezing_point_from_volume_pct(glycol, percent)


@pytest.mark.parametrize("t_degc", [0.1, -60.0, NAN])
def test_no_mixture_freezes_there(t_degc: float) -> None:
    with pytest.raises(ValueError, match=r"freezing point is .* degC, outside"):
        mass_pct_for_freezing_point(Glycol.ETHYLENE, t_degc)


@given(st.floats(0.0, 40.0), st.floats(0.0, 40.0), st.floats(0.0, 500.0), st.floats(0.0, 500.0))
def test_saltier_and_deeper_water_freezes_colder(s1: float, s2: float, p1: float, p2: float) -> None:
    (fresh, salt), (shallow, deep) = sorted((s1, s2)), sorted((p1, p2))
    assert sea_water_freezing_point_degc(salt, deep) <= sea_water_freezing_point_degc(fresh, shallow) + 1e-12
    assert -2.6 < sea_water_freezing_point_degc(salt, deep) <= FRESH_WATER_DEGC


def test_sea_water_without_salt_at_the_surface_is_fresh() -> None:
    assert sea_water_freezing_point_degc(0.0) == FRESH_WATER_DEGC


@pytest.mark.parametrize(("salinity", "pressure"), [(-1.0, 0.0), (40.1, 0.0), (35.0, -1.0), (35.0, 501.0), (NAN, 0.0)])
def test_sea_water_out_of_range_is_refused(salinity: float, pressure: float) -> None:
    with pytest.raises(ValueError, match="outside 0 to"):
        sea_water_freezing_point_degc(salinity, pressure)


@given(st.floats(0.0, 100.0), litres, st.floats(0.0, 500.0))
def test_dilution_keeps_the_glycol(poured_pct: float, poured_l: float, residual_l: float) -> None:
    left_pct = diluted_volume_pct(poured_pct, poured_l, residual_l)
    assert 0.0 <= left_pct <= poured_pct * (1.0 + 1e-12)
    assert left_pct * (poured_l + residual_l) == pytest.approx(poured_pct * poured_l, abs=1e-9)


@given(glycols, st.floats(0.0, 57.0), litres, st.floats(0.0, 500.0))
def test_residual_water_never_protects(glycol: Glycol, poured_pct: float, poured_l: float, residual_l: float) -> None:
    poured = freezing_point_from_volume_pct(glycol, poured_pct).t_degc
    assert freezing_point_after_dilution(glycol, poured_pct, poured_l, residual_l).t_degc >= poured - 1e-9


def test_blend_stronger_than_the_tables_is_refused() -> None:
    with pytest.raises(ValueError, match="glycol by volume is 90 %"):
        freezing_point_after_dilution(Glycol.ETHYLENE, 100.0, 9.0, 1.0)


@given(glycols, st.floats(-45.0, 0.0))
def test_strength_to_protect_holds_by_both_sources(glycol: Glycol, wanted_degc: float) -> None:
    point = freezing_point_from_volume_pct(glycol, volume_pct_to_protect(glycol, wanted_degc))
    assert sum(point) == pytest.approx(wanted_degc, abs=1e-6)


def test_protection_the_tables_cannot_promise_is_refused() -> None:
    with pytest.raises(ValueError, match="wanted protection is -50 degC"):
        volume_pct_to_protect(Glycol.ETHYLENE, -50.0)


@given(litres, st.floats(0.0, 99.0), st.floats(0.0, 100.0))
def test_draining_and_replacing_reaches_what_was_wanted(system_l: float, present: float, wanted: float) -> None:
    drained_l = drain_and_replace_l(system_l, present, wanted)
    assert 0.0 <= drained_l <= system_l * (1.0 + 1e-12)
    after_pct = (present * (system_l - drained_l) + 100.0 * drained_l) / system_l
    assert after_pct == pytest.approx(max(present, wanted), abs=1e-6)


def test_strong_enough_already_drains_nothing() -> None:
    assert drain_and_replace_l(10.0, 50.0, 40.0) == 0.0


def test_fill_weaker_than_wanted_is_refused() -> None:
    with pytest.raises(ValueError, match="fill glycol by volume is 40 %, outside 50 to 100 %"):
        drain_and_replace_l(10.0, 20.0, 50.0, 40.0)


@pytest.mark.parametrize(("poured", "residual"), [(0.0, 1.0), (-1.0, 1.0), (1.0, -0.1), (NAN, 1.0)])
def test_amounts_that_cannot_be_are_refused(poured: float, residual: float) -> None:
    with pytest.raises(ValueError, match="outside"):
        diluted_volume_pct(50.0, poured, residual)
