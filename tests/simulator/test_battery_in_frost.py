"""Batteries in frost: where the acid freezes, what the cold leaves of the capacity, and how long a pump can be run."""

from typing import Any

import pytest

from monitor.model.equipment import Chemistry
from simulator.battery import Bank, BankPlan
from simulator.lead import ACIDS, acid_freezes_degc, acid_molality
from simulator.sag import sag_v


def _bank(degc: float = 5.0, **change: Any) -> Bank:
    return Bank(BankPlan(**{"chemistry": Chemistry.FLOODED, "capacity_ah": 100} | change), degc)


# Specific gravity and share of acid by mass (CRC Handbook, densities at 20 degC); degC by the US Army's table, at 1.225
# by thermodynamics (REFERENCES.md). By 1 K: the shares of acid are read between rows of 2 %.
@pytest.mark.parametrize(
    ("mass_share", "degc"),
    [(0.0, 0), (0.1473, -7), (0.2138, -15), (0.2770, -27), (0.3080, -33), (0.3382, -52), (0.3560, -57)],
)
def test_acid_freezes_where_the_tables_say(mass_share: float, degc: float) -> None:
    assert acid_freezes_degc(acid_molality(mass_share)) == pytest.approx(degc, abs=1)


# REFERENCES.md: -24, -16, -10 degC at 50, 25, 0 %, where army tables and thermodynamics agree to about 2 K, and makers'
# gravities by 0.01, which is 1 to 2 K more; at 75 % thermodynamics has -33, a maker -37, the army drawn straight -39.
@pytest.mark.parametrize(
    ("charged", "coldest", "warmest"), [(0.75, -39, -33), (0.5, -27, -21), (0.25, -19, -13), (1e-9, -13, -7)]
)
def test_a_flooded_battery_freezes_by_its_charge_as_the_trade_has_it(
    charged: float, coldest: float, warmest: float
) -> None:
    freezes_degc = _bank(left_charged=charged).freezes_degc
    assert freezes_degc is not None
    assert coldest <= freezes_degc <= warmest


def test_a_full_one_does_not_freeze_and_a_flat_one_does_in_an_ordinary_frost() -> None:
    assert not _bank().frozen(-30)
    assert not _bank(left_charged=0.02).frozen(-5)
    assert _bank(left_charged=0.02).frozen(-12)


def test_a_battery_freezes_sooner_the_flatter_it_is() -> None:
    points = [_bank(left_charged=n / 50).freezes_degc for n in range(1, 51)]
    assert points == sorted(points, key=lambda p: -p if p is not None else 0)
    assert len(set(points)) == 50


def test_a_frozen_battery_takes_no_charge() -> None:
    bank = _bank(left_charged=0.05, charger_a=10)
    bank.step(3600, -20, mains=True)
    assert bank.charged_ah == 0
    bank.step(3600, 5, mains=True)
    assert bank.charged_ah > 5


# Common practice: 1 % a kelvin below 25 degC. A US Army manual has 75 % at 0 degC and 40 % at -18.
@pytest.mark.parametrize(("degc", "ah"), [(25, 100), (0, 75), (-18, 57), (35, 100)])
def test_the_cold_leaves_less_of_the_capacity_and_takes_no_charge(degc: float, ah: float) -> None:
    bank = _bank(degc)
    assert bank.available_ah(degc) == pytest.approx(ah)
    assert bank.charge_ah == 100


def test_at_its_twenty_hour_load_a_battery_runs_twenty_hours_to_ten_and_a_half_volts() -> None:
    # EN 50342-1: the capacity is what it gives in 20 h at 25 degC to 1.75 V a cell. The knee's last minutes are to 5 %.
    bank = _bank(25)
    assert bank.pump_hours_left(5.0) == pytest.approx(20, rel=0.05)


def test_the_volts_fall_below_the_pumps_when_its_hours_are_over() -> None:
    bank = _bank(5)
    bank.step(600, 5, mains=False)
    hours = bank.pump_hours_left(4.0)
    bank.load_a = 4.0
    for _ in range(int(hours * 6) - 1):
        bank.step(600, 5, mains=False)
        assert bank.terminal_v >= 10.5
    # A pump of 4 A from 100 Ah at 5 degC: 80 Ah are to be had (1 % a kelvin), less the last of the knee.
    assert hours == pytest.approx(20, abs=1)


def test_half_the_duty_is_twice_the_hours_and_other_loads_count() -> None:
    whole = _bank().pump_hours_left(4.0)
    assert _bank().pump_hours_left(4.0, duty=0.5) == pytest.approx(2 * whole, rel=0.01)
    assert _bank(load_ma=4000).pump_hours_left(4.0, duty=0.5) < whole


def test_whether_it_runs_a_pump_for_a_day_turns_where_its_hours_do() -> None:
    bank = _bank(left_charged=0.7)
    hours = bank.pump_hours_left(3.0)
    assert bank.runs_pump(hours - 0.1, 3.0)
    assert not bank.runs_pump(hours + 0.1, 3.0)


def test_a_flat_a_frozen_and_an_unloaded_battery_answer_without_a_search() -> None:
    assert _bank(left_charged=0.01).pump_hours_left(4.0) == 0
    assert _bank(-30, left_charged=0.4).pump_hours_left(4.0) == 0
    assert _bank().pump_hours_left(0.0) == float("inf")


@pytest.mark.parametrize("pump_a", [2.0, 20.0])
def test_twenty_four_volts_are_judged_by_twice_the_volts(pump_a: float) -> None:
    twelve, twenty_four = _bank(25), _bank(25, nominal_v=24.0)
    assert twenty_four.pump_hours_left(pump_a) == pytest.approx(twelve.pump_hours_left(pump_a), rel=0.01)


def test_a_heavy_load_brings_the_volts_down_before_the_charge_is_gone() -> None:
    # 20 A of 100 Ah would last 5 h by the charge; batteries give about four fifths at such a load (makers' tables).
    assert 3.5 < _bank(25).pump_hours_left(20.0) < 4.8


def test_with_ice_in_it_a_battery_runs_no_pump_though_it_has_charge_left() -> None:
    cold, frozen = _bank(-40, left_charged=0.8), _bank(-48, left_charged=0.8)
    assert cold.runs_pump(0.1, 1.0)
    assert frozen.available_ah(-48) > 5
    assert not frozen.runs_pump(0.1, 1.0)


FLOODED = ACIDS[Chemistry.FLOODED]


def test_the_cold_ends_a_twenty_hour_load_where_it_ends_the_capacity() -> None:
    # 65 % of it is to be had at -10 degC; where that is gone, the cells of 11.85 V are at 10.5 or below.
    assert sag_v(FLOODED, 0.05, 0.35, -10) > 1.35
    assert sag_v(FLOODED, 0.05, 0.35, 25) < 0.1


def test_a_full_batterys_resistance_grows_as_its_capacity_shrinks() -> None:
    assert sag_v(FLOODED, 0.01, 1.0, 0) / sag_v(FLOODED, 0.01, 1.0, 25) == pytest.approx(1 / 0.75)


def test_a_gateways_draw_is_not_seen_in_the_volts_of_a_cold_battery() -> None:
    assert 0 < sag_v(FLOODED, 0.0008, 0.36, -10) < 0.003  # 80 mA of 100 Ah: 3 mV is a tenth of a meter's error
