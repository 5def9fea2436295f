"""What comes into a bilge: every cause by itself, and the water it brought is the water that is there or has gone."""

from random import Random
from time import perf_counter
from typing import Any

import pytest

from simulator.bilge import BilgePlan, Sump, bore_m2, drip_l_s, litres_a_day_l_s
from simulator.inflow import Cause
from simulator.openings import Opening

WET_AIR = 0.0
DRY_AIR = 0.003  # kg/m3: saturated at 5 degC is 6.8 g/m3, at half humidity 3.4 g/m3 are missing


def _sump(**plan: Any) -> Sump:
    return Sump(BilgePlan(**plan))


def _befalls(sump: Sump, chance: Random) -> None:
    match chance.randrange(9):
        case 0:
            sump.opening_m2 = chance.choice([0.0, bore_m2(1)])
        case 1:
            sump.inflow.openings.append(Opening(bore_m2(0.5), chance.uniform(0, 0.3), shifts=False))
        case 2:
            for opening in sump.inflow.openings:
                opening.area_m2 = 0.0
        case 3:
            sump.drip_l_s = drip_l_s(chance.choice([0, 3, 20, 60]))
        case 4:
            sump.inflow.burst(chance.uniform(1, 10), chance.uniform(20, 100))
        case 5:
            sump.inflow.wash_down(chance.uniform(2, 20), chance.uniform(5, 45))
        case 6:
            sump.inflow.condensate_l_s = litres_a_day_l_s(chance.choice([0, 4]))
        case 7:
            sump.bung_at_m = chance.choice([None, 0.03])
        case _:
            sump.empty()


@pytest.mark.parametrize("seed", range(3))
def test_a_random_winter_of_all_causes_is_accounted_for_to_a_billionth(seed: int) -> None:
    chance = Random(f"bilge {seed}")
    sump = _sump(deck_leak_m2=0.1, pump_l_h=400, left_litres=2.5)
    for _ in range(26_000):
        if chance.random() < 0.003:
            _befalls(sump, chance)
        if chance.random() < 0.01:
            sump.tilt(chance.uniform(-0.03, 0.03))
            sump.pump_ready = chance.random() < 0.8
        rain = chance.choice([0, 0, 0, 0, 0, 0, 0, 2.0])
        sump.step(600, rain, chance.choice([WET_AIR, DRY_AIR]), chance.uniform(-0.3, 0), chance.uniform(0, 14))
        assert sump.litres >= 0
    assert all(litres > 1 for litres in sump.entered_by_l.values())
    assert all(litres > 1 for litres in (sump.evaporated_l, sump.pumped_l, sump.drained_l, sump.bailed_l))
    # Rounding grows with what has passed through: to a billionth of a litre where it is a few hundred litres.
    passed = max(sump.entered_l / 1000, 1.0)
    assert sump.litres == pytest.approx(2.5 + sump.entered_l - sump.left_l, abs=1e-9 * passed)


@pytest.mark.parametrize("cause", list(Cause))
def test_water_is_booked_to_the_cause_it_came_by(cause: Cause) -> None:
    sump = _sump(deck_leak_m2=0.5)
    rain = 2.0 if cause is Cause.RAIN else 0.0
    match cause:
        case Cause.RAIN:
            expected = 0.5 * 2.0 * 3  # 2 mm/h on 0.5 m2 for 3 hours
        case Cause.GLAND:
            sump.drip_l_s = drip_l_s(60)
            expected = 60 * 0.05e-3 * 180  # 0.05 mL a drop, 180 minutes
        case Cause.OPENING:
            sump.inflow.openings.append(Opening(bore_m2(1), 0.3))
            expected = 0.6 * 0.25 * 3.14159 * 1e-3**2 * (2 * 9.81 * 0.05) ** 0.5 * 1000 * 3 * 3600  # Q = Cd A sqrt(2gh)
        case Cause.BURST:
            sump.inflow.burst(1.5, litres=60)
            expected = 60
        case Cause.CONDENSATE:
            sump.inflow.condensate_l_s = litres_a_day_l_s(8)
            expected = 1.0  # a day's eighth
        case Cause.WASH_DOWN:
            sump.inflow.wash_down(10, minutes=30)
            expected = 5.0  # 10 mm on 0.5 m2
    for _ in range(18):
        sump.step(600, rain, WET_AIR)
    booked = sump.entered_by_l
    assert booked.pop(cause) == pytest.approx(expected, rel=0.005)
    assert set(booked.values()) == {0.0}


def test_a_burst_from_a_tank_ends_with_the_tank_and_one_from_a_main_does_not() -> None:
    tank, main = _sump(), _sump()
    tank.inflow.burst(6, litres=90)
    main.inflow.burst(6)
    for _ in range(12):
        tank.step(600, 0, WET_AIR)
        main.step(600, 0, WET_AIR)
    assert tank.entered_l == pytest.approx(90)
    assert main.entered_l == pytest.approx(6 * 120)  # 6 L/min for two hours
    main.inflow.stop_burst()
    main.step(600, 0, WET_AIR)
    assert main.entered_l == pytest.approx(720)


def test_a_wash_down_is_over_within_the_step_and_dries_up() -> None:
    sump = _sump(deck_leak_m2=1.0)
    sump.inflow.wash_down(12, minutes=7.5)
    sump.step(3600, 0, WET_AIR)
    assert sump.litres == pytest.approx(12)
    sump.step(3600, 0, WET_AIR)
    assert sump.litres == pytest.approx(12)


def test_a_tight_deck_lets_no_wash_down_in() -> None:
    sump = _sump()
    sump.inflow.wash_down(20, minutes=30)
    assert sump.step(3600, 10, WET_AIR) == (0.0, [])
    assert sump.litres == 0


def test_each_opening_is_counted_by_itself_and_passes_by_its_own_head() -> None:
    sump = _sump(waterline_m=0.3)
    low, high, dry = Opening(bore_m2(5), 0.0), Opening(bore_m2(5), 0.225), Opening(bore_m2(5), 0.31)
    sump.inflow.openings += [low, high, dry]
    sump.step(60, 0, WET_AIR)
    # Heads of 0.3 and 0.075 m: a quarter of the head, half of the flow.
    assert low.entered_l == pytest.approx(2 * high.entered_l)
    assert dry.entered_l == 0
    assert sump.entered_by_l[Cause.OPENING] == pytest.approx(low.entered_l + high.entered_l)


def test_aground_the_water_falls_from_the_openings_that_feel_it() -> None:
    sump = _sump(waterline_m=0.3)
    felt, axis = Opening(bore_m2(5), 0.1), Opening(bore_m2(5), 0.1, shifts=False)
    sump.inflow.openings += [felt, axis]
    sump.step(600, 0, WET_AIR, waterline_shift_m=-0.25)
    assert felt.entered_l == 0
    assert axis.entered_l > 1


def test_a_drip_that_is_tightened_again_leaves_a_dry_bilge_that_costs_nothing() -> None:
    sump = _sump()
    for drops in (0.1, 0.7, 13):
        sump.drip_l_s += drip_l_s(drops)
    for drops in (13, 0.1, 0.7):
        sump.drip_l_s -= drip_l_s(drops)
    assert sump.drip_l_s == 0
    assert sump.step(600, 0, WET_AIR) == (0.0, [])
    assert sump.litres == 0


def test_with_the_bung_out_nothing_stands_above_it() -> None:
    sump = _sump(deck_leak_m2=6)
    sump.bung_at_m = 0.02
    sump.step(3600, 25, WET_AIR)
    assert sump.level_m == pytest.approx(0.02)
    # 25 mm on 6 m2 are 150 L (REFERENCES.md); 1,500 * 0.02^2 = 0.6 of them stay.
    assert sump.drained_l == pytest.approx(150 - 0.6)
    assert not sump.float_up


def test_pulling_the_bung_brings_the_float_down() -> None:
    sump = _sump(left_litres=20)
    sump.bung_at_m = 0.0
    _, changes = sump.step(600, 0, WET_AIR)
    assert [c.up for c in changes] == [False]
    assert sump.litres == 0


def test_a_pipe_that_does_not_run_and_a_wash_down_of_no_time_are_refused() -> None:
    inflow = _sump().inflow
    with pytest.raises(ValueError, match="burst: 0 litres a minute"):
        inflow.burst(0)
    with pytest.raises(ValueError, match="wash_down: 0 minutes"):
        inflow.wash_down(5, 0)


@pytest.mark.parametrize(("litres", "most_us"), [(0, 2), (15, 5)])
def test_a_step_costs_two_microseconds_dry_and_five_wet_at_most(litres: float, most_us: float) -> None:
    sump = _sump(left_litres=litres, pump_l_h=500, pump_on_m=0.2)
    best_us = 1e9
    for _ in range(20):
        began = perf_counter()
        for _ in range(1000):
            sump.step(600, 0.0, WET_AIR, 0.0, 12.5)
        best_us = min(best_us, (perf_counter() - began) * 1000)
    assert best_us < most_us  # the simulation's budget: 3 s for 26,000 steps of everything aboard
