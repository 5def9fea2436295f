"""Lithium batteries: flat volts, little loss, a management that draws and cuts off, and no charging below 0 degC."""

from typing import Any

import pytest

from monitor.model.equipment import Chemistry
from simulator.battery import Bank, BankPlan
from simulator.lithium import LITHIUM, cell_v


def _bank(degc: float = 10.0, mains: bool = False, **change: Any) -> Bank:
    return Bank(BankPlan(**{"chemistry": Chemistry.LIFEPO4, "capacity_ah": 100} | change), degc, mains=mains)


# Charts as printed (common practice, no standard), 12 V rested; they and measured cells differ by up to 0.2 V.
@pytest.mark.parametrize(
    ("charged", "volts"), [(0.99, 13.6), (0.9, 13.4), (0.7, 13.3), (0.4, 13.2), (0.3, 13.0), (0.2, 12.8), (0.1, 12.0)]
)
def test_rested_volts_are_within_a_fifth_of_a_volt_of_the_charts(charged: float, volts: float) -> None:
    assert 4 * cell_v(charged) == pytest.approx(volts, abs=0.21)


@pytest.mark.parametrize("charged", [0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9])
def test_rested_volts_are_within_a_fifth_of_a_volt_of_a_measured_cell(charged: float) -> None:
    import pybamm
    from pybamm.input.parameters.lithium_ion.Prada2013 import LFP_ocp_Afshar2017, graphite_LGM50_ocp_Chen2020

    x0, x100, y100, y0 = pybamm.lithium_ion.get_min_max_stoichiometries(pybamm.ParameterValues("Prada2013"))
    positive = LFP_ocp_Afshar2017(pybamm.Scalar(y0 - charged * (y0 - y100)))
    negative = graphite_LGM50_ocp_Chen2020(pybamm.Scalar(x0 + charged * (x100 - x0)))
    assert 4 * cell_v(charged) == pytest.approx(4 * float((positive - negative).evaluate()), abs=0.2)


def test_from_40_to_70_percent_the_volts_move_by_less_than_a_tenth() -> None:
    assert 0 < 4 * (cell_v(0.7) - cell_v(0.4)) < 0.1  # REFERENCES.md


def test_volts_rise_with_charge() -> None:
    said = [cell_v(n / 200) for n in range(201)]
    assert said == sorted(said)
    assert len(set(said)) == 201


@pytest.mark.parametrize(("nominal_v", "cells"), [(12, 4), (12.8, 4), (24, 8), (25.6, 8), (48, 16), (51.2, 16)])
def test_a_banks_cells_follow_from_either_way_of_naming_its_volts(nominal_v: float, cells: int) -> None:
    assert LITHIUM.cells(nominal_v) == cells


@pytest.mark.parametrize("degc", [0, 20, 35])
def test_it_loses_at_most_two_percent_a_month(degc: float) -> None:
    bank = _bank(management_ma=0)
    for _ in range(30 * 24):
        bank.step(3600, degc, mains=False)
    assert 0 < bank.lost_ah <= 2.0  # makers' data sheets


def test_its_management_draws_3_6_ah_in_a_month_and_leads_has_none() -> None:
    lithium, lead = _bank(), _bank(chemistry=Chemistry.AGM)
    for bank in (lithium, lead):
        for _ in range(30 * 24):
            bank.step(3600, 5, mains=False)
    assert lithium.drawn_ah == pytest.approx(3.6)  # 5 mA for 720 hours
    assert lead.drawn_ah == 0


def test_flat_it_is_cut_off_and_nothing_is_seen_at_its_terminals() -> None:
    bank = _bank(left_charged=0.06, load_ma=500)
    said = []
    for _ in range(8):
        bank.step(3600, 10, mains=False)
        said.append(bank.terminal_v)
    # 6 Ah less 3.75 at which a cell rests at 2.8 V: 2.25 Ah are gone in the fifth hour of 0.5 A.
    assert [v > 11.2 for v in said] == [True] * 4 + [False] * 4
    assert said[4:] == [0.0] * 4
    assert bank.cut_off


def test_cut_off_it_feeds_no_load_and_its_management_goes_on_drawing() -> None:
    bank = _bank(left_charged=0.02, load_ma=500)
    bank.step(3600, 10, mains=False)
    drawn = bank.drawn_ah
    for _ in range(100):
        bank.step(3600, 10, mains=False)
    assert bank.drawn_ah - drawn == pytest.approx(0.5)  # 5 mA for 100 hours
    assert not bank.runs_pump(0.1, 3.0)


def test_a_charger_connects_it_again() -> None:
    bank = _bank(left_charged=0.02, charger_a=10)
    bank.step(600, 10, mains=False)
    assert bank.terminal_v == 0
    bank.step(600, 10, mains=True)
    assert not bank.cut_off
    assert bank.terminal_v > 10
    bank.step(3600, 10, mains=True)
    bank.step(600, 10, mains=False)
    assert bank.terminal_v > 12


def test_below_zero_nothing_is_charged_and_the_charger_still_feeds_the_loads() -> None:
    bank = _bank(charger_a=10, left_charged=0.5, load_ma=200)
    bank.step(3600, -1, mains=True)
    assert (bank.charged_ah, bank.drawn_ah) == (0, 0)
    assert bank.terminal_v == pytest.approx(13.6)  # the charger's float volts, common practice
    bank.step(3600, 1, mains=True)
    assert bank.charged_ah > 9


def test_a_cut_off_one_in_frost_stays_cut_off_under_its_charger_and_says_nothing_without() -> None:
    bank = _bank(left_charged=0.02, charger_a=10)
    bank.step(600, -5, mains=False)
    bank.step(600, -5, mains=True)
    assert bank.cut_off
    assert bank.terminal_v == pytest.approx(13.6)
    bank.step(600, -5, mains=False)
    assert bank.terminal_v == 0


def test_it_fills_in_an_afternoon_and_holds_its_float_volts() -> None:
    bank = _bank(charger_a=20, left_charged=0.5)
    for _ in range(5 * 6):
        bank.step(600, 10, mains=True)
    assert bank.charged_share > 0.99
    assert bank.terminal_v == pytest.approx(13.6)


def test_it_does_not_freeze() -> None:
    bank = _bank(left_charged=0.1)
    assert bank.freezes_degc is None
    assert not bank.frozen(-40)


# Makers' data sheets: 80 % at 0 degC, 70 % at -20 degC.
@pytest.mark.parametrize(("degc", "ah"), [(25, 100), (0, 80), (-20, 70)])
def test_the_cold_leaves_less_of_the_capacity(degc: float, ah: float) -> None:
    assert _bank().available_ah(degc) == pytest.approx(ah)


def test_its_pump_runs_until_it_is_cut_off() -> None:
    # 100 Ah less 3.75 that its management keeps, at 4 A and 5 mA.
    assert _bank(25).pump_hours_left(4.0) == pytest.approx(96.25 / 4.005, abs=0.5)


def test_a_load_that_pulls_its_volts_down_cuts_it_off_with_its_charge_in_it() -> None:
    bank = _bank(left_charged=0.5)
    bank.load_test(600, 15)
    bank.step(600, 10, mains=False)
    assert (bank.cut_off, bank.terminal_v) == (True, 0.0)
    assert bank.charged_share > 0.45
    assert not bank.runs_pump(0.1, 3.0)


def test_a_charger_feeds_its_management_first() -> None:
    bank = _bank(charger_a=0.05, management_ma=50, left_charged=0.5)
    bank.step(3600, 10, mains=True)
    assert (bank.charged_ah, bank.drawn_ah) == (0, 0)
