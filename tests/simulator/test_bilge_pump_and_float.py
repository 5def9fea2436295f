"""Bilge pump, float switch and level sensor: what they do, draw and see, in the ways they go wrong."""

from typing import Any

import pytest

from simulator.bilge import BilgePlan, Sump, bore_m2, drip_l_s
from simulator.pump import Pump, aboard_l_h

WET_AIR = 0.0


def _sump(**plan: Any) -> Sump:
    return Sump(BilgePlan(**plan))


def _pump() -> Pump:
    return Pump(600, 0.06, 0.02, 4.0, 12.0, 1.0)


def test_a_pump_delivers_aboard_half_of_what_is_printed_on_it() -> None:
    assert aboard_l_h(1000) == 500  # REFERENCES.md


def test_a_pump_moves_what_its_plan_says_and_less_on_low_volts_and_none_where_it_cannot_lift() -> None:
    pump = _pump()
    assert pump.flow_l_s(12) * 3600 == pytest.approx(600)
    # Affinity laws: at half the volts the head it shuts off at is a quarter, 1 m of 4 m: the lift itself.
    assert pump.flow_l_s(6) == 0
    flows = [pump.flow_l_s(v / 2) for v in range(12, 30)]
    assert flows == sorted(flows)
    assert pump.flow_l_s(10.5) * 3600 == pytest.approx(600 * ((4 * (10.5 / 12) ** 2 - 1) / 3) ** 0.5)


def test_a_pump_lifts_less_the_higher_it_lifts() -> None:
    low, high = Pump(600, 0.06, 0.02, 4, 12, 0.5), Pump(600, 0.06, 0.02, 4, 12, 2.5)
    assert high.flow_l_s(12) < 600 / 3600 < low.flow_l_s(12)


def test_a_run_is_as_long_as_the_water_lasts_and_draws_by_its_time() -> None:
    sump = _sump(pump_l_h=600, left_litres=6)
    sump.step(600, 0, WET_AIR)
    # 6 litres less the 0.6 below its lower height, at 600 L/h: 32.4 s, and 4 A for so long.
    assert sump.pump_ran_s == pytest.approx(32.4)
    assert sump.pump_ah == pytest.approx(4 * 32.4 / 3600)
    assert (sump.pump.starts, sump.pump.now_a) == (1, 0)
    assert sump.litres == pytest.approx(0.6)
    sump.step(600, 0, WET_AIR)
    assert (sump.pump_ran_s, sump.pump_ah, sump.pump.starts) == (0, 0, 0)


def test_a_pump_that_cannot_keep_up_runs_on_and_draws_on() -> None:
    sump = _sump(pump_l_h=600, left_litres=10)
    sump.opening_m2 = bore_m2(25)
    sump.step(600, 0, WET_AIR)
    sump.step(600, 0, WET_AIR)
    assert sump.pump_ran_s == 600
    assert (sump.pump.starts, sump.pump.now_a) == (0, 4)
    assert sump.pumped_l == pytest.approx(200)  # 600 L/h for 20 minutes


def test_a_pump_comes_on_again_and_again_and_each_start_is_counted() -> None:
    sump = _sump(pump_l_h=600)
    sump.drip_l_s = 10 / 3600
    starts = 0
    for _ in range(6 * 24):
        sump.step(600, 0, WET_AIR)
        starts += sump.pump.starts
    # 240 litres in a day, in runs from 5.4 (0.06 m) down to 0.6 litres and up to a step's 1.7 litres more.
    assert 240 / (5.4 - 0.6 + 1.7) - 1 <= starts <= 240 / (5.4 - 0.6) + 1


@pytest.mark.parametrize("fault", ["failed", "no power"])
def test_a_pump_that_cannot_run_lets_the_water_rise_and_draws_nothing(fault: str) -> None:
    sump = _sump(pump_l_h=600, left_litres=10)
    sump.pump_ready = fault != "failed"
    sump.step(600, 0, WET_AIR, volts=0.0 if fault == "no power" else None)
    assert sump.litres == 10
    assert (sump.pump_ran_s, sump.pump_ah) == (0, 0)


def test_a_blocked_pump_runs_and_draws_and_moves_nothing() -> None:
    sump = _sump(pump_l_h=600, left_litres=10)
    sump.pump.blocked = True
    for _ in range(3):
        sump.step(600, 0, WET_AIR)
        assert sump.pump_ran_s == 600
        assert sump.pump_ah == pytest.approx(4 / 6)
    assert sump.litres == 10


def test_a_pump_that_fails_while_it_runs_stops_drawing() -> None:
    sump = _sump(pump_l_h=60, left_litres=20)
    sump.step(600, 0, WET_AIR)
    assert sump.pump.running
    sump.pump_ready = False
    sump.step(600, 0, WET_AIR)
    assert (sump.pump_ran_s, sump.pump.now_a, sump.pump.running) == (0, 0, False)


def test_heel_shifts_what_the_sensor_and_the_float_see_and_moves_no_water() -> None:
    sump = _sump(left_litres=8)  # 0.073 m
    level = sump.level_m
    sump.tilt(0.015)
    assert sump.sensed_level_m == pytest.approx(level + 0.015)
    _, changes = sump.step(600, 0, WET_AIR)
    assert [c.up for c in changes] == [True]
    assert sump.level_m == pytest.approx(level)
    sump.tilt(0.0)
    assert sump.sensed_level_m == level
    sump.tilt(-0.02)
    _, changes = sump.step(600, 0, WET_AIR)
    assert [c.up for c in changes] == [False]


def test_a_dry_bilge_stays_dry_to_the_sensor_however_she_heels() -> None:
    sump = _sump()
    for offset_m in (0.05, -0.05):
        sump.tilt(offset_m)
        assert sump.step(600, 0, WET_AIR) == (0.0, [])
        assert sump.sensed_level_m == 0


def test_a_puddle_leaves_a_sensor_it_runs_from_and_never_reads_more_than_double() -> None:
    sump = _sump(left_litres=1500 * 0.01**2)  # 0.01 m
    sump.tilt(-0.03)
    assert sump.sensed_level_m == 0
    sump.tilt(0.03)
    assert sump.sensed_level_m == pytest.approx(0.02)


def test_a_tilted_pump_stops_where_its_own_switch_is_out_of_water() -> None:
    sump = _sump(pump_l_h=600, left_litres=20)
    sump.tilt(-0.01)
    for _ in range(3):
        sump.step(600, 0, WET_AIR)
    assert sump.sensed_level_m == pytest.approx(0.02)
    assert sump.level_m == pytest.approx(0.03)


def test_an_iced_float_stays_where_it_is_until_it_thaws() -> None:
    sump = _sump(left_litres=5)
    sump.float_iced = True
    sump.drip_l_s = drip_l_s(600)
    assert [c for _ in range(6 * 5) for c in sump.step(600, 0, WET_AIR)[1]] == []
    assert sump.level_m > 0.08
    assert not sump.float_up
    sump.float_iced = False
    _, changes = sump.step(600, 0, WET_AIR)
    assert changes[0].up
    assert changes[0].after_s == 60


def test_an_iced_float_that_is_up_stays_up_over_a_bailed_bilge() -> None:
    sump = _sump(left_litres=20)
    sump.float_iced = True
    assert not sump.empty()
    assert sump.float_up
    assert sump.step(600, 0, WET_AIR)[1] == []
    sump.float_iced = False
    assert [c.up for c in sump.step(600, 0, WET_AIR)[1]] == [False]


def test_a_float_fouled_up_says_water_in_a_dry_bilge_and_one_fouled_down_none_in_a_flooded_one() -> None:
    dry, flooded = _sump(), _sump(left_litres=5)
    dry.float_fouled = True
    flooded.float_fouled = False
    flooded.inflow.burst(10, 100)
    assert [(c.after_s, c.up) for c in dry.step(600, 0, WET_AIR)[1]] == [(60, True)]
    assert dry.step(600, 0, WET_AIR) == (0.0, [])
    assert flooded.step(600, 0, WET_AIR)[1] == []
    assert not flooded.float_up
    dry.float_fouled = flooded.float_fouled = None
    assert [c.up for c in dry.step(600, 0, WET_AIR)[1]] == [False]
    assert [c.up for c in flooded.step(600, 0, WET_AIR)[1]] == [True]


def test_a_float_rises_in_its_minute_though_a_tank_empties_within_the_step() -> None:
    sump = _sump()
    sump.inflow.burst(6, litres=14)
    _, changes = sump.step(600, 0, WET_AIR)
    # 9.6 litres (0.08 m) at 6 L/min: in the second minute.
    assert [(c.after_s, c.up) for c in changes] == [(120, True)]


def test_starts_within_one_step_are_counted() -> None:
    sump = _sump(pump_l_h=600)
    sump.inflow.burst(1.0)
    sump.step(3600, 0, WET_AIR)
    # Up from 0.6 to 5.4 litres at 1 L/min and down at 10 less 1: 4.8 + 0.5 minutes a round, in whole minutes 6 or 7.
    assert 8 <= sump.pump.starts <= 11


def test_a_fouled_float_stays_up_when_she_is_bailed() -> None:
    sump = _sump(left_litres=20)
    sump.float_fouled = True
    assert not sump.empty()
    assert sump.float_up


def test_a_float_goes_down_by_its_slack_below_where_it_rises() -> None:
    sump = _sump(left_litres=20, pump_l_h=20, float_m=0.08, float_slack_m=0.02)
    while sump.float_up:
        sump.step(60, 0, WET_AIR)
    assert sump.level_m == pytest.approx(0.06, abs=0.001)
