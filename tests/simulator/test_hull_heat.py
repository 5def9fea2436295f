"""Heat: balances that close, and a hull that lags."""

from math import exp

import pytest

from simulator import weather
from simulator.harbour import FREEZES_DEGC, Harbour
from simulator.heat import Heat, HeatPlan

ASHORE = HeatPlan()
AFLOAT = HeatPlan(cabin_to_water_w_k=60, engine_space_to_water_w_k=40)


@pytest.mark.parametrize("plan", [ASHORE, AFLOAT], ids=["ashore", "afloat"])
def test_the_heat_taken_in_over_a_winter_is_the_heat_stored(plan: HeatPlan) -> None:
    heat = Heat(plan, 10.0)
    largest = 0.0
    for hour in weather.load().hours:
        heat.step(3600, hour.outside_degc, 6.0, cabin_w=25.0)
        largest = max(largest, abs(heat.taken_j))
    assert heat.stored_j(above_degc=10.0) == pytest.approx(heat.taken_j, abs=1e-9 * largest)


def test_with_no_coupling_the_cabin_cools_as_newton_has_it() -> None:
    plan = HeatPlan(cabin_to_engine_space_w_k=0, cabin_to_locker_w_k=0)
    heat = Heat(plan, 20.0)
    for _ in range(6 * 60):
        heat.step(60, 0.0, 0.0)
    # Newton: T = T0 exp(-t UA / C); the step's own error is first order, half a step in time.
    exact = 20.0 * exp(-6 * 3600 * plan.cabin_to_air_w_k / (plan.cabin_kj_k * 1000))
    assert heat.cabin_degc == pytest.approx(exact, rel=0.005)


def test_after_long_the_engine_space_lies_between_air_and_water_by_their_conductances() -> None:
    plan = HeatPlan(cabin_to_engine_space_w_k=0, engine_space_to_air_w_k=20, engine_space_to_water_w_k=60)
    heat = Heat(plan, 10.0)
    for _ in range(1000):
        heat.step(3600, -8.0, 4.0)
    # Balance of two flows: (20 * -8 + 60 * 4) / 80 = 1 degC.
    assert heat.engine_space_degc == pytest.approx(1.0)
    assert heat.block_degc == pytest.approx(1.0)


def test_a_heater_of_105_w_warms_the_cabin_by_one_kelvin() -> None:
    plan = HeatPlan(cabin_to_air_w_k=105, cabin_to_engine_space_w_k=0, cabin_to_locker_w_k=0)
    heat = Heat(plan, 0.0)
    for _ in range(1000):
        heat.step(3600, 0.0, 0.0, cabin_w=105)
    assert heat.cabin_degc == pytest.approx(1.0)


def test_steps_of_an_hour_agree_with_steps_of_a_minute_on_a_real_winter() -> None:
    real = weather.load()
    coarse, fine = Heat(ASHORE, 17.0), Heat(ASHORE, 17.0)
    apart = []
    for before, hour in zip(real.hours[:1000], real.hours[1:1001], strict=True):
        coarse.step(3600, hour.outside_degc, 0.0)
        for minute in range(1, 61):
            fine.step(60, real.at(before.at_ms + minute * 60_000).outside_degc, 0.0)
        apart.append(abs(coarse.engine_space_degc - fine.engine_space_degc))
    # An ordinary thermometer's error is 0.5 K (common practice): the step must not be what a rule sees.
    assert max(apart) < 0.5


def test_the_block_lags_behind_the_engine_space_and_the_cabin_behind_the_air() -> None:
    heat = Heat(ASHORE, 10.0)
    for _ in range(3):
        heat.step(3600, -5.0, 0.0)
    assert -5.0 < heat.engine_space_degc < heat.block_degc < 10.0
    assert -5.0 < heat.cabin_degc < 10.0


def test_water_keeps_an_engine_space_afloat_warmer_than_one_ashore_on_the_coldest_night() -> None:
    ashore, afloat, harbour = Heat(ASHORE, 17.0), Heat(AFLOAT, 17.0), Harbour()
    coldest_ashore = coldest_afloat = 20.0
    for hour in weather.load().hours:
        harbour.step(3600, hour.outside_degc)
        ashore.step(3600, hour.outside_degc, harbour.water_degc)
        afloat.step(3600, hour.outside_degc, harbour.water_degc)
        coldest_ashore = min(coldest_ashore, ashore.engine_space_degc)
        coldest_afloat = min(coldest_afloat, afloat.engine_space_degc)
    assert coldest_ashore < -8.0
    assert coldest_afloat > -3.0


def test_the_harbour_follows_the_air_with_its_lag() -> None:
    harbour = Harbour(start_degc=12.0)
    for _ in range(14 * 24):
        harbour.step(3600, 0.0)
    # One time constant: all but 1/e of the way from 12 degC to the 2 K above the air.
    assert harbour.water_degc == pytest.approx(2 + 10 * exp(-1))


def test_the_harbour_does_not_go_below_its_own_freezing_point() -> None:
    harbour = Harbour(start_degc=0.0)
    for _ in range(100 * 24):
        harbour.step(3600, -20.0)
    assert harbour.water_degc == FREEZES_DEGC
