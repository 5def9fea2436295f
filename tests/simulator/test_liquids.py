"""Liquids that freeze, held against TEOS-10 (gsw), Melinder's glycol curves (CoolProp) and sums by hand."""

from math import log
from random import Random

import pytest
from pydantic import ValidationError

from monitor.model.equipment import Liquid
from simulator.liquid import FUSION, LiquidPlan, Substance, substance

MELINDER = {Liquid.ETHYLENE_GLYCOL: "MEG", Liquid.PROPYLENE_GLYCOL: "MPG"}
WATER = LiquidPlan(kg=1, liquid=Liquid.FRESH_WATER, w_k=2)
COOLANT = LiquidPlan(kg=20, liquid=Liquid.ETHYLENE_GLYCOL, w_k=30, freezes_degc=-8)
SEA = LiquidPlan(kg=3, liquid=Liquid.SEA_WATER, w_k=2, salinity_g_per_kg=30)


def _melinder_degc(liquid: Liquid, share: float) -> float:
    coolprop = pytest.importorskip("CoolProp.CoolProp")
    kelvin: float = coolprop.PropsSI("T_FREEZE", "T", 300, "P", 101_325, f"INCOMP::{MELINDER[liquid]}[{share}]")
    return kelvin - 273.15


def _share_that_freezes_at(liquid: Liquid, degc: float) -> float:
    low, high = 0.01, 0.6
    for _ in range(50):
        middle = (low + high) / 2
        low, high = (middle, high) if _melinder_degc(liquid, middle) > degc else (low, middle)
    return low


@pytest.mark.parametrize("liquid", list(MELINDER))
@pytest.mark.parametrize("share", [0.1, 0.2, 0.3, 0.4])
def test_ice_of_a_glycol_mixture_is_that_of_the_lever_on_its_measured_freezing_curve(
    liquid: Liquid, share: float
) -> None:
    freezes = _melinder_degc(liquid, share)
    mixture = substance(LiquidPlan(kg=1, liquid=liquid, w_k=1, freezes_degc=freezes))
    for degc in (-5, -10, -15, -20, -25, -30):
        if degc < freezes:
            expected = 1 - share / _share_that_freezes_at(liquid, degc)
            # An ideal solution against a real one: the two published curves themselves differ by up to 2.9 K
            # (REFERENCES.md), which is 0.06 of ice.
            assert mixture.state(mixture.enthalpy(degc))[1] == pytest.approx(expected, abs=0.04)


@pytest.mark.parametrize("liquid", list(MELINDER))
@pytest.mark.parametrize("share", [0.2, 0.3])
def test_the_specific_heat_of_a_glycol_mixture_is_measured_within_seven_percent(liquid: Liquid, share: float) -> None:
    coolprop = pytest.importorskip("CoolProp.CoolProp")
    mixture = substance(LiquidPlan(kg=1, liquid=liquid, w_k=1, freezes_degc=_melinder_degc(liquid, share)))
    measured = coolprop.PropsSI("C", "T", 278.15, "P", 101_325, f"INCOMP::{MELINDER[liquid]}[{share}]")
    # Mixed by mass, without heat of mixing, which CoolProp's measured values hold.
    assert mixture.enthalpy(6) - mixture.enthalpy(5) == pytest.approx(measured, rel=0.07)


@pytest.mark.parametrize("salinity", [10, 20, 35])
def test_sea_water_freezes_where_teos_10_has_it(salinity: float) -> None:
    gsw = pytest.importorskip("gsw")
    sea = substance(LiquidPlan(kg=1, liquid=Liquid.SEA_WATER, w_k=1, salinity_g_per_kg=salinity))
    # In proportion to salinity, where TEOS-10 bends by 0.02 K; 35.16504 / 35 makes absolute of practical salinity.
    assert sea.state(0.0)[0] == pytest.approx(gsw.t_freezing(salinity * 35.16504 / 35, 0, 0), abs=0.02)


@pytest.mark.parametrize("salinity", [20, 35])
def test_ice_of_sea_water_by_its_enthalpy_is_that_of_teos_10(salinity: float) -> None:
    gsw = pytest.importorskip("gsw")
    sea = substance(LiquidPlan(kg=1, liquid=Liquid.SEA_WATER, w_k=1, salinity_g_per_kg=salinity))
    absolute = salinity * 35.16504 / 35
    begins = gsw.enthalpy(absolute, gsw.CT_from_t(absolute, sea.state(0.0)[0], 0), 0)
    for degc in (-2.5, -3, -4, -5):
        lost = sea.enthalpy(degc)
        assert sea.state(lost)[1] == pytest.approx(gsw.frazil_properties(absolute, begins + lost, 0)[2], abs=0.005)


def test_water_gives_its_heat_of_fusion_at_0_degc() -> None:
    water = substance(WATER)
    # 333.55 kJ/kg (IAPWS); ice share by half of it.
    assert water.enthalpy(0.0) - water.enthalpy(-1e-9) == pytest.approx(333_550, abs=1)
    assert water.state(-0.5 * FUSION) == (0.0, 0.5)


@pytest.mark.parametrize("plan", [WATER, COOLANT, SEA], ids=lambda p: p.liquid.value)
@pytest.mark.parametrize("degc", [12.0, 1.0, -0.5, -3.0, -9.0, -25.0])
def test_temperature_follows_from_enthalpy_and_enthalpy_from_temperature(plan: LiquidPlan, degc: float) -> None:
    what = substance(plan)
    assert what.state(what.enthalpy(degc))[0] == pytest.approx(degc, abs=1e-9)


def _stepped(what: Substance, start_degc: float, place_degc: float, w_k_kg: float, lasts_s: float, parts: int) -> float:
    enthalpy = what.enthalpy(start_degc)
    for _ in range(parts):
        enthalpy = what.advance(enthalpy, place_degc, w_k_kg, lasts_s / parts)
    return enthalpy


def test_a_kilogram_of_water_freezes_in_the_time_that_a_sum_by_hand_gives() -> None:
    # From 5 degC in -10 degC by 2 W/K: 4190 / 2 ln(15 / 10) = 849 s to 0 degC, then 333550 / (2 * 10) = 16,678 s.
    water, begins, ends = substance(WATER), 849.5, 849.5 + 16_677.5
    assert 4190 / 2 * log(15 / 10) == pytest.approx(begins, abs=0.1)
    assert water.state(water.advance(water.enthalpy(5), -10, 2, begins))[1] == pytest.approx(0, abs=1e-4)
    half = water.advance(water.enthalpy(5), -10, 2, begins + 16_677.5 / 2)
    assert water.state(half) == (0.0, pytest.approx(0.5, abs=1e-4))
    assert water.state(water.advance(water.enthalpy(5), -10, 2, ends - 5))[1] < 1
    degc, share = water.state(water.advance(water.enthalpy(5), -10, 2, ends + 5))
    assert share == 1
    assert -0.1 < degc < 0


@pytest.mark.parametrize(("start_degc", "place_degc"), [(5, -10), (-10, 5), (3, 8), (-2, -12)])
def test_one_long_step_of_water_is_as_good_as_many_short_ones(start_degc: float, place_degc: float) -> None:
    water = substance(WATER)
    for lasts_s in (600, 3_600, 30_000):
        # A hose of 0.2 kg on 1 W/K: 5 W/K for each kilogram.
        once = water.advance(water.enthalpy(start_degc), place_degc, 5, lasts_s)
        assert once == pytest.approx(_stepped(water, start_degc, place_degc, 5, lasts_s, 1000), abs=1e-5)


@pytest.mark.parametrize("plan", [COOLANT, SEA], ids=lambda p: p.liquid.value)
@pytest.mark.parametrize(("start_degc", "place_degc"), [(5, -15), (-15, 5), (-9, -20), (-20, -10)])
def test_hours_steps_of_a_small_solution_agree_with_those_of_a_second(
    plan: LiquidPlan, start_degc: float, place_degc: float
) -> None:
    what = substance(plan)
    for lasts_s in (3_600, 7_200):
        coarse = what.state(_stepped(what, start_degc, place_degc, 5, lasts_s, lasts_s // 3_600))
        fine = what.state(_stepped(what, start_degc, place_degc, 5, lasts_s, lasts_s))
        # A thermometer's own error is 0.5 K (common practice).
        assert coarse[0] == pytest.approx(fine[0], abs=0.5)
        assert coarse[1] == pytest.approx(fine[1], abs=0.03)


@pytest.mark.parametrize("plan", [WATER, COOLANT, SEA], ids=lambda p: p.liquid.value)
def test_no_step_however_long_goes_past_the_place(plan: LiquidPlan) -> None:
    what = substance(plan)
    for start, place in ((8.0, -12.0), (-12.0, 8.0), (0.0, 0.0), (-2.0, 0.0), (2.0, 0.0)):
        low, high = min(start, place) - 1e-9, max(start, place) + 1e-9
        for w_k_kg in (0.01, 1, 100, 10_000):
            assert low <= what.state(what.advance(what.enthalpy(start), place, w_k_kg, 3_600))[0] <= high


@pytest.mark.parametrize(
    ("plan", "said"),
    [
        ({"liquid": "ethylene glycol"}, "ethylene glycol needs its freezes_degc"),
        ({"liquid": "sea water"}, "sea water needs its salinity_g_per_kg"),
        ({"liquid": "fresh water", "freezes_degc": -5}, "fresh water has no freezes_degc"),
        ({"liquid": "propylene glycol", "freezes_degc": -5, "salinity_g_per_kg": 3}, "has no salinity_g_per_kg"),
    ],
)
def test_a_plan_that_does_not_say_when_its_liquid_freezes_is_refused(plan: dict[str, object], said: str) -> None:
    with pytest.raises(ValidationError, match=said):
        LiquidPlan.model_validate({"kg": 1, "w_k": 1, **plan})


def test_a_solution_that_freezes_in_the_cold_gives_less_heat_of_fusion_as_kirchhoff_has_it() -> None:
    coolant = substance(LiquidPlan(kg=1, liquid=Liquid.ETHYLENE_GLYCOL, w_k=1, freezes_degc=-20))
    lost = -coolant.enthalpy(-20.001)
    ice = coolant.state(-lost)[1]
    sensible = 0.001 * (coolant.enthalpy(-19) - coolant.enthalpy(-20))
    # L(-20) = 333.55 - (4.19 - 2.10) * 20 kJ/kg.
    assert (lost - sensible) / ice == pytest.approx(291_750, rel=1e-3)


def test_liquids_of_any_size_and_strength_move_towards_their_place_and_never_past_it() -> None:
    chance = Random(3)
    for _ in range(3_000):
        kind = chance.choice(list(Liquid))
        plan = LiquidPlan(
            kg=10 ** chance.uniform(-3, 3),
            liquid=kind,
            w_k=10 ** chance.uniform(-2, 3),
            freezes_degc=-(10 ** chance.uniform(-4, 1.69)) if kind in MELINDER else None,
            salinity_g_per_kg=10 ** chance.uniform(-3, 1.6) if kind is Liquid.SEA_WATER else None,
        )
        what, w_k_kg = substance(plan), plan.w_k / plan.kg
        degc = chance.uniform(-40, 30)
        for place in (chance.uniform(-40, 30), 0.0, 1e-12, -1e-12, chance.uniform(-40, 30)):
            after, ice = what.state(what.advance(what.enthalpy(degc), place, w_k_kg, 10 ** chance.uniform(0, 5)))
            assert min(degc, place) - 1e-6 <= after <= max(degc, place) + 1e-6, plan
            assert 0 <= ice <= 1
            degc = after
