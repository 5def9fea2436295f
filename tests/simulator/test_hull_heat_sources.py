"""What warms and chills a hull beside the air: sun, heater, hatch, engine, ground, and the balance of them all."""

from random import Random
from time import perf_counter

import pytest

from simulator.heat import ENGINE_RUNS_AT_DEGC, Heat, HeaterPlan, HeatPlan

GUARDED = HeatPlan(
    cabin_to_water_w_k=30, engine_space_to_water_w_k=20, locker_to_water_w_k=8, heater=HeaterPlan(holds_degc=4)
)


def _settled(plan: HeatPlan, outside_degc: float, **steady: float) -> Heat:
    heat = Heat(plan, outside_degc)
    for _ in range(1000):
        heat.step(3600, outside_degc, outside_degc, **steady)
    return heat


def test_over_a_random_winter_with_every_source_the_heat_taken_in_is_the_heat_stored() -> None:
    chance = Random(4)
    heat = Heat(GUARDED, 10.0)
    passed = 0.0
    for n in range(20_000):
        if n % 2000 == 0:
            heat.run_engine(8_000, 5_000)
        heat.heater_on = n % 5000 > 1000
        before = heat.taken_j
        heat.step(
            chance.choice((60, 600, 3600)),
            chance.uniform(-15, 15),
            chance.uniform(-1, 12),
            chance.uniform(-200, 200),
            engine_space_w=chance.uniform(-50, 50),
            block_w=chance.uniform(-300, 300),
            locker_w=chance.uniform(-40, 40),
            sun_w_m2=max(chance.uniform(-500, 500), 0),
            ground_degc=chance.choice((None, 6.0)),
            airing_w_k=chance.choice((0, 0, 60)),
            mains=chance.random() > 0.1,
        )
        passed += abs(heat.taken_j - before)
    assert heat.stored_j(above_degc=10.0) == pytest.approx(heat.taken_j, abs=1e-9 * passed)
    assert heat.heater_j > 0


def test_the_balance_is_that_of_each_node_and_not_only_of_their_sum() -> None:
    # A block alone with its engine space: what it loses in a step is the conductance times the gap at its end.
    plan = HeatPlan(block_kj_k=250, engine_space_to_block_w_k=15)
    heat = Heat(plan, 0.0)
    heat.block_degc = 40.0
    heat.step(600, 0.0, 0.0)
    lost_w = 250_000 * (40.0 - heat.block_degc) / 600
    assert lost_w == pytest.approx(15 * (heat.block_degc - heat.engine_space_degc))


def test_a_locker_settles_half_way_between_cabin_and_outside_by_its_conductances() -> None:
    heat = Heat(HeatPlan(), -6.0)
    for _ in range(1000):
        heat.step(3600, -6.0, 0.0, cabin_w=1000)
    # Equal conductances (5 and 5 W/K) to cabin and outside.
    assert heat.cabin_degc > 2
    assert heat.locker_degc == pytest.approx((heat.cabin_degc - 6.0) / 2)


def test_a_locker_follows_a_frost_faster_than_the_cabin_and_slower_than_the_air() -> None:
    heat = Heat(HeatPlan(), 5.0)
    for _ in range(6):
        heat.step(600, -10.0, 0.0)
    assert -10 < heat.locker_degc < heat.cabin_degc < 5


def test_sun_warms_by_its_area_over_the_conductances() -> None:
    plan = HeatPlan(
        cabin_to_air_w_k=90, cabin_to_engine_space_w_k=0, sun_m2=2, sun_to_locker=0.0, cabin_to_locker_w_k=0
    )
    # 2 m2 of 450 W/m2 over 90 W/K: 10 K.
    assert _settled(plan, 3.0, sun_w_m2=450).cabin_degc == pytest.approx(13.0)


def test_a_share_of_the_sun_falls_to_the_locker() -> None:
    plan = HeatPlan(sun_m2=2, sun_to_locker=0.1, cabin_to_locker_w_k=0, locker_to_air_w_k=5)
    # 0.1 of 2 m2 of 100 W/m2 over 5 W/K: 4 K.
    assert _settled(plan, 0.0, sun_w_m2=100).locker_degc == pytest.approx(4.0)


def test_a_heater_holds_its_temperature_and_gives_what_the_hull_loses() -> None:
    plan = HeatPlan(cabin_to_air_w_k=90, cabin_to_engine_space_w_k=0, cabin_to_locker_w_k=0, heater=HeaterPlan())
    heat = _settled(plan, -5.0)
    # 90 W/K times 10 K.
    assert heat.cabin_degc == pytest.approx(5.0)
    assert heat.heater_w == pytest.approx(900.0)


def test_a_heater_gives_no_more_than_it_can() -> None:
    plan = HeatPlan(
        cabin_to_air_w_k=90, cabin_to_engine_space_w_k=0, cabin_to_locker_w_k=0, heater=HeaterPlan(most_w=450)
    )
    # 450 W over 90 W/K: 5 K above outside.
    assert _settled(plan, -12.0).cabin_degc == pytest.approx(-7.0)


def test_a_heater_rests_in_the_warm_and_its_energy_is_summed() -> None:
    heat = Heat(HeatPlan(heater=HeaterPlan(holds_degc=5)), 12.0)
    heat.step(3600, 12.0, 12.0)
    assert heat.heater_j == 0
    for _ in range(10):
        heat.step(3600, -30.0, 0.0)
    given = heat.heater_j
    heat.step(3600, -30.0, 0.0)
    assert heat.heater_j - given == pytest.approx(3600 * heat.heater_w)
    assert heat.heater_w == 1000


@pytest.mark.parametrize(("on", "mains"), [(False, True), (True, False)], ids=["switched off", "no mains"])
def test_a_heater_that_is_off_or_dark_gives_nothing(on: bool, mains: bool) -> None:
    heat = Heat(HeatPlan(heater=HeaterPlan()), 0.0)
    heat.heater_on = on
    heat.step(3600, -10.0, 0.0, mains=mains)
    assert heat.heater_j == heat.heater_w == 0


def test_a_hull_without_a_heater_cannot_be_heated_by_switching_it_on() -> None:
    heat = Heat(HeatPlan(), -3.0)
    heat.heater_on = True
    heat.step(3600, -3.0, -3.0)
    assert heat.heater_j == 0


def test_an_open_hatch_brings_the_cabin_nearer_to_outside_by_its_conductance() -> None:
    plan = HeatPlan(cabin_to_air_w_k=90, cabin_to_engine_space_w_k=0, cabin_to_locker_w_k=0)
    # 900 W over 90 W/K is 10 K; over 90 + 60 it is 6 K.
    assert _settled(plan, 0.0, cabin_w=900).cabin_degc == pytest.approx(10.0)
    assert _settled(plan, 0.0, cabin_w=900, airing_w_k=60).cabin_degc == pytest.approx(6.0)


def test_ground_under_her_keeps_her_between_itself_and_the_air() -> None:
    plan = HeatPlan(cabin_to_air_w_k=75, cabin_to_ground_w_k=25, cabin_to_engine_space_w_k=0, cabin_to_locker_w_k=0)
    # The mean of air and ground, weighted 75 to 25.
    assert _settled(plan, -8.0, ground_degc=6.0).cabin_degc == pytest.approx(-4.5)
    assert _settled(plan, -8.0).cabin_degc == pytest.approx(-8.0)


def test_an_engine_run_heats_the_block_by_its_energy_and_ends_when_it_is_over() -> None:
    plan = HeatPlan(block_kj_k=250, engine_space_to_block_w_k=0)
    heat = Heat(plan, 5.0)
    heat.run_engine(4_000, 900)
    for _ in range(4):
        heat.step(600, 5.0, 5.0)
    # 4 kW for 900 s is 3.6 MJ: 14.4 K of 250 kJ/K; the run ends half-way through the second step.
    assert heat.block_degc == pytest.approx(5.0 + 14.4)


def test_a_long_engine_run_heats_the_block_to_its_thermostat_and_no_further() -> None:
    heat = Heat(HeatPlan(), 5.0)
    heat.run_engine(15_000, 7_200)
    hottest = 0.0
    for _ in range(12):
        heat.step(600, 5.0, 5.0)
        hottest = max(hottest, heat.block_degc)
    assert ENGINE_RUNS_AT_DEGC - 1 < hottest < ENGINE_RUNS_AT_DEGC + 1
    assert heat.engine_space_degc > 15


@pytest.mark.parametrize(
    ("source", "node"),
    [
        ("cabin_w", "cabin_degc"),
        ("engine_space_w", "engine_space_degc"),
        ("block_w", "block_degc"),
        ("locker_w", "locker_degc"),
    ],
)
def test_a_source_warms_its_own_node_most_against_the_others_capacities(source: str, node: str) -> None:
    plan = HeatPlan(cabin_kj_k=100, engine_space_kj_k=100, block_kj_k=100, locker_kj_k=100)
    heat = Heat(plan, 0.0)
    heat.step(60, 0.0, 0.0, **{source: 50.0})
    places = ("cabin_degc", "engine_space_degc", "block_degc", "locker_degc")
    assert max(places, key=lambda place: getattr(heat, place)) == node


def test_a_step_costs_no_more_than_four_microseconds() -> None:
    heat = Heat(GUARDED, 5.0)
    took = []
    for _ in range(5):
        began = perf_counter()
        for _ in range(5_000):
            heat.step(600, -2.0, 4.0, 3.0, block_w=2.0, locker_w=1.0, sun_w_m2=50.0, ground_degc=5.0)
        took.append((perf_counter() - began) / 5_000)
    assert min(took) < 4e-6  # the budget of a winter's 26,000 steps; usually 1.3 us
