"""Liquid systems through frost and thaw: the heat they give is the enthalpy they lose, and events are told."""

from itertools import pairwise
from random import Random
from time import perf_counter

import pytest

from monitor.model.equipment import Liquid
from simulator import weather
from simulator.heat import Heat, HeatPlan
from simulator.ice import FreezingLiquid, IceEvent
from simulator.liquid import LiquidPlan

HOSE = LiquidPlan(kg=0.2, liquid=Liquid.FRESH_WATER, w_k=1)
TANK = LiquidPlan(kg=60, liquid=Liquid.FRESH_WATER, w_k=8)
COOLANT = LiquidPlan(kg=20, liquid=Liquid.ETHYLENE_GLYCOL, w_k=30, freezes_degc=-4)
STRAINER = LiquidPlan(kg=1.5, liquid=Liquid.SEA_WATER, w_k=1.5, salinity_g_per_kg=30)
ALL = pytest.mark.parametrize("plan", [HOSE, TANK, COOLANT, STRAINER], ids=["hose", "tank", "coolant", "strainer"])


def _events(liquid: FreezingLiquid, places_degc: list[float]) -> list[IceEvent]:
    found = []
    for degc in places_degc:
        liquid.step(3600, degc)
        found += liquid.events
    return found


@ALL
def test_over_a_random_winter_the_heat_given_out_is_the_enthalpy_lost(plan: LiquidPlan) -> None:
    chance = Random(7)
    liquid = FreezingLiquid(plan, 8.0)
    began = liquid.enthalpy_j
    given = passed = 0.0
    for _ in range(10_000):
        dt_s = chance.choice((60, 600, 3600))
        given_j = dt_s * liquid.step(dt_s, chance.uniform(-18, 12))
        given += given_j
        passed += abs(given_j)
    assert given == pytest.approx(began - liquid.enthalpy_j, abs=1e-9 * passed)


@ALL
def test_the_heat_given_is_the_conductance_times_the_gap_to_the_place(plan: LiquidPlan) -> None:
    liquid = FreezingLiquid(plan, 4.0)
    given = flowed = 0.0
    for second in range(40_000):
        place = -9.0 if second < 25_000 else 6.0
        before = liquid.degc
        given += liquid.step(1.0, place)
        flowed += plan.w_k * ((before + liquid.degc) / 2 - place)
        if second % 5000 == 4999:
            # The trapezoid over steps of a second.
            assert given == pytest.approx(flowed, rel=1e-3)


def test_a_hull_and_the_water_in_her_locker_keep_their_heat_together() -> None:
    heat, tank = Heat(HeatPlan(), 8.0), FreezingLiquid(TANK, 8.0)
    began, given = tank.enthalpy_j, 0.0
    taken = 0.0
    for hour in weather.load().hours[:2000]:
        taken += 3600 * given
        heat.step(3600, hour.outside_degc, 0.0, locker_w=given)
        given = tank.step(3600, heat.locker_degc)
    # What the tank gave in the last step is still under way.
    assert taken + 3600 * given == pytest.approx(began - tank.enthalpy_j)


def test_water_that_freezes_in_a_locker_holds_its_temperature_near_zero_for_a_while() -> None:
    plan = HeatPlan(cabin_to_locker_w_k=0)
    dry, wet, tank = Heat(plan, 3.0), Heat(plan, 3.0), FreezingLiquid(TANK, 3.0)
    given = 0.0
    for _ in range(30):
        dry.step(3600, -6.0, 0.0)
        wet.step(3600, -6.0, 0.0, locker_w=given)
        given = tank.step(3600, wet.locker_degc)
    assert dry.locker_degc < -5.9
    assert 0 < tank.ice_share < 1
    # Two conductances in series: 5 W/K to the air at -6, 8 W/K to the ice at 0: -30 / 13.
    assert wet.locker_degc == pytest.approx(-30 / 13, abs=0.01)


def test_a_frost_and_a_thaw_are_told_once_each_in_order() -> None:
    frost = [2.0] * 3 + [-6.0] * 48 + [4.0] * 72
    assert _events(FreezingLiquid(HOSE, 5.0), frost) == [IceEvent.BEGINS, IceEvent.SOLID, IceEvent.THAWED]


def test_a_night_too_short_to_freeze_solid_begins_and_thaws() -> None:
    tank = FreezingLiquid(TANK, 1.0)
    assert _events(tank, [-8.0] * 8 + [9.0] * 24) == [IceEvent.BEGINS, IceEvent.THAWED]
    assert not tank.frozen


def test_ice_that_comes_and_goes_about_its_limit_is_solid_once() -> None:
    hose = FreezingLiquid(HOSE, 1.0)
    events = _events(hose, [-8.0] * 24 + [1.0, 1.0, -5.0, -5.0, -5.0] * 12)
    assert events == [IceEvent.BEGINS, IceEvent.SOLID]


def test_a_hose_may_begin_and_be_solid_within_one_step_and_says_both() -> None:
    hose = FreezingLiquid(HOSE, 0.1)
    # 0.2 kg of 333.55 kJ/kg on 1 W/K at -25 degC freezes in 45 minutes.
    hose.step(3600, -25.0)
    assert hose.events == (IceEvent.BEGINS, IceEvent.SOLID)
    hose.step(3600, -25.0)
    assert hose.events == ()


def test_coolant_above_its_freezing_point_is_told_nothing_of() -> None:
    assert _events(FreezingLiquid(COOLANT, 8.0), [-3.9] * 500) == []


def test_coolant_a_kelvin_below_its_freezing_point_is_slush_and_well_below_it_counts_as_solid() -> None:
    coolant = FreezingLiquid(COOLANT, 0.0)
    assert _events(coolant, [-5.0] * 200) == [IceEvent.BEGINS]
    # Ideal solution of molality 4 / 1.86 = 2.15: 0.882 of it water, of which 4 / 5 stays liquid at -5 degC.
    assert coolant.ice_share == pytest.approx(0.882 / 5, abs=0.001)
    assert _events(coolant, [-9.0] * 200) == [IceEvent.SOLID]


def test_what_begins_the_winter_frozen_is_frozen_and_thaws() -> None:
    hose = FreezingLiquid(HOSE, -3.0)
    assert hose.frozen
    assert hose.solid
    assert _events(hose, [5.0] * 48) == [IceEvent.THAWED]


def _begins_ms(dt_s: int) -> list[int]:
    real, tank, found = weather.load(), FreezingLiquid(TANK, 8.0), []
    for before, hour in pairwise(real.hours):
        for part in range(1, 3600 // dt_s + 1):
            tank.step(dt_s, real.at(before.at_ms + part * dt_s * 1000).outside_degc)
            if IceEvent.BEGINS in tank.events:
                found.append(hour.at_ms)
    return found


def test_ten_minute_steps_and_hours_see_freezing_begin_within_the_same_hour_or_the_next() -> None:
    hours = _begins_ms(3600)
    assert len(hours) > 3
    assert _begins_ms(600) == pytest.approx(hours, abs=3_600_000)


@ALL
def test_a_step_costs_no_more_than_four_microseconds(plan: LiquidPlan) -> None:
    liquid = FreezingLiquid(plan, 5.0)
    took = []
    for place in (2.0, -8.0, -8.0, -1.0, 3.0):
        began = perf_counter()
        for _ in range(3_000):
            liquid.step(600, place)
        took.append((perf_counter() - began) / 3_000)
    assert sorted(took)[2] < 4e-6  # usually 0.4 to 1.7 us
