"""A dehumidifier: its humidistat, its tank, its kind, and what it does when it trips."""

from itertools import pairwise
from statistics import fmean

import pytest
from pydantic import ValidationError

from monitor.model.equipment import DehumidifierKind
from simulator.dehumidifier import COMPRESSOR_HEAT_J_PER_KG, HEAT_J_PER_KG, DehumidifierPlan
from simulator.moisture import AirPlan, Moisture
from simulator.vapour import saturation_pa

COMPRESSOR = DehumidifierKind.COMPRESSOR


def _cabin(machine: DehumidifierPlan, *, start_rh: float = 80, source_g_h: float = 12) -> Moisture:
    plan = AirPlan(
        changes_per_h=0.2, changes_per_h_per_wind=0, source_g_h=source_g_h, start_rh=start_rh, dehumidifier=machine
    )
    return Moisture(plan, 8.0)


def _run(air: Moisture, hours: float, dt_s: float = 600, *, degc: float = 8.0, mains: bool = True) -> list[float]:
    found = []
    for _ in range(round(hours * 3600 / dt_s)):
        air.step(dt_s, degc, degc - 1, saturation_pa(2.0), 0.0, mains=mains)
        found.append(air.rh)
    return found


def test_a_humidistat_keeps_to_its_band_and_rests_between() -> None:
    air = _cabin(DehumidifierPlan(hold_rh=55, hysteresis_rh=6), start_rh=55)
    rested = []
    rh = []
    for _ in range(2000):
        rh += _run(air, 1 / 30, 120)
        assert air.dehumidifier is not None
        rested.append(not air.dehumidifier.running)
    assert min(rh) > 52 - 1e-6
    assert max(rh) < 58 + 1e-6
    assert max(rh) - min(rh) > 4
    assert 0.5 < fmean(rested) < 1


@pytest.mark.parametrize("dt_s", [120, 600, 3600])
def test_a_humidistat_holds_the_same_mean_at_any_step(dt_s: float) -> None:
    air = _cabin(DehumidifierPlan(hold_rh=55, hysteresis_rh=4), start_rh=55)
    rh = _run(air, 30 * 24, dt_s)
    # The middle of a band from 53 to 57 %.
    assert fmean(rh[len(rh) // 10 :]) == pytest.approx(55, abs=0.4)


def test_between_its_marks_a_resting_humidistat_stays_at_rest() -> None:
    air = _cabin(DehumidifierPlan(hold_rh=60, hysteresis_rh=8), start_rh=60, source_g_h=0)
    _run(air, 5)
    assert 56 < air.rh < 64
    assert air.removed_kg == 0


def test_without_hysteresis_it_holds_its_humidity() -> None:
    rh = _run(_cabin(DehumidifierPlan(hold_rh=55, hysteresis_rh=0), source_g_h=60), 240)
    assert rh[-100:] == pytest.approx([55.0] * 100)


def test_in_the_dry_cold_it_rests_for_days() -> None:
    air = Moisture(AirPlan(changes_per_h=0.5, start_rh=56, dehumidifier=DehumidifierPlan(hold_rh=60)), 8.0)
    for _ in range(5 * 24):
        air.step(3600, 2.0, -8.0, saturation_pa(-14.0), 4.0)
    assert air.dehumidifier is not None
    assert not air.dehumidifier.running
    assert air.removed_kg == 0


def test_its_tank_fills_and_it_stops_until_somebody_empties_it() -> None:
    air = _cabin(DehumidifierPlan(tank_kg=1.0), source_g_h=60)
    machine = air.dehumidifier
    assert machine is not None
    _run(air, 24)
    assert machine.tank_full
    assert machine.tank_kg == pytest.approx(1.0)
    assert air.removed_kg == pytest.approx(1.0)
    _run(air, 24)
    assert not machine.running
    assert air.removed_kg == pytest.approx(1.0)
    damp = air.rh
    machine.empty()
    _run(air, 3)
    assert machine.running
    assert air.rh < damp
    assert machine.tank_kg == pytest.approx(air.removed_kg - 1.0)


def test_a_hose_to_a_drain_never_fills() -> None:
    air = _cabin(DehumidifierPlan(tank_kg=None), source_g_h=100)
    _run(air, 240)
    assert air.dehumidifier is not None
    assert air.removed_kg > 10
    assert not air.dehumidifier.tank_full
    assert air.dehumidifier.tank_kg == 0


@pytest.mark.parametrize(("degc", "share"), [(20.0, 1.0), (15.0, 1.0), (10.0, 0.5), (5.0, 0.0), (-3.0, 0.0)])
def test_a_compressor_fades_below_15_degc_and_stops_at_5(degc: float, share: float) -> None:
    # Fades below about 15 degC (REFERENCES.md); stops at 5 (common practice).
    air = _cabin(DehumidifierPlan(kind=COMPRESSOR, most_kg_h=0.2), start_rh=99, source_g_h=2000)
    watts = air.step(3600, degc, degc, saturation_pa(degc), 0.0)
    assert air.removed_kg == pytest.approx(0.2 * share)
    assert watts == pytest.approx(0.2 * share * COMPRESSOR_HEAT_J_PER_KG / 3600)


def test_a_desiccant_machine_takes_as_much_in_the_cold() -> None:
    air = _cabin(DehumidifierPlan(most_kg_h=0.01), start_rh=99)
    watts = air.step(3600, -3.0, -3.0, saturation_pa(-3), 0.0)
    assert air.removed_kg == pytest.approx(0.01)
    assert watts == pytest.approx(0.01 * HEAT_J_PER_KG / 3600)


def test_one_that_tripped_or_is_dark_dries_nothing_and_goes_on_when_it_is_put_right() -> None:
    air = _cabin(DehumidifierPlan())
    air.dehumidifier_on = False
    _run(air, 24)
    air.dehumidifier_on = True
    _run(air, 24, mains=False)
    assert air.removed_kg == 0
    _run(air, 24)
    assert air.removed_kg > 0


def test_it_takes_the_cabin_down_by_no_more_than_it_can_each_step() -> None:
    air = _cabin(DehumidifierPlan(most_kg_h=0.12), start_rh=90)
    took = [0.0]
    for _ in range(50):
        _run(air, 1 / 6)
        took.append(air.removed_kg)
    assert max(b - a for a, b in pairwise(took)) <= 0.02 + 1e-12


@pytest.mark.parametrize("plan", [{"hold_rh": 5, "hysteresis_rh": 12}, {"hold_rh": 96, "hysteresis_rh": 12}])
def test_a_band_that_leaves_0_to_100_percent_is_refused(plan: dict[str, float]) -> None:
    with pytest.raises(ValidationError, match="leaves 0 to 100"):
        DehumidifierPlan.model_validate(plan)
