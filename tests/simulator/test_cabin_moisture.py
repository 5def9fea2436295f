"""Moisture: the water balance closes, air, furnishings and surfaces behave, and a dehumidifier holds its humidity."""

import pytest

from simulator import weather
from simulator.moisture import HEAT_J_PER_KG, AirPlan, DehumidifierPlan, Moisture
from simulator.vapour import saturation_pa

CLOSED = {"changes_per_h": 0.2, "changes_per_h_per_wind": 0.02, "source_g_h": 12}


def _winter(plan: AirPlan, *, mains: bool = True) -> tuple[Moisture, list[float]]:
    air = Moisture(plan, 17.0)
    rh = []
    for hour in weather.load().hours:
        air.step(
            3600,
            hour.outside_degc + 0.5,
            hour.outside_degc,
            saturation_pa(hour.dew_point_degc),
            hour.wind_m_s,
            mains=mains,
        )
        rh.append(air.rh)
    return air, rh


@pytest.mark.parametrize(
    "plan",
    [
        AirPlan(),
        AirPlan(**CLOSED),
        AirPlan(**CLOSED, dehumidifier=DehumidifierPlan()),
        AirPlan(changes_per_h=0, changes_per_h_per_wind=0, source_g_h=30),
    ],
    ids=["ventilated", "closed", "dried", "sealed and wet"],
)
def test_the_water_that_came_is_the_water_that_is_there(plan: AirPlan) -> None:
    air = Moisture(plan, 17.0)
    began = air.water_kg
    for hour in weather.load().hours:
        air.step(
            3600, hour.outside_degc + 1, hour.outside_degc, saturation_pa(hour.dew_point_degc), hour.wind_m_s, 0.001
        )
    assert air.water_kg == pytest.approx(began + air.vented_kg + air.sourced_kg - air.removed_kg, abs=1e-9)
    assert air.film_kg >= 0
    assert air.furnishings_kg >= 0


def test_a_well_ventilated_cabin_comes_to_the_vapour_pressure_outside() -> None:
    air = Moisture(AirPlan(changes_per_h=20), 10.0)
    for _ in range(24 * 60):
        air.step(3600, 10.0, 10.0, saturation_pa(4.0), 0.0)
    # RH by definition: e(4 degC) / e(10 degC) = 813 / 1228 Pa (IAPWS steam tables) = 66.2 %.
    assert air.rh == pytest.approx(66.2, abs=0.2)


def test_warming_alone_lowers_the_humidity_and_dries_nothing() -> None:
    air = Moisture(AirPlan(changes_per_h=0, changes_per_h_per_wind=0, furnishings_m3_h=0), 5.0)
    before_kg, before_rh = air.water_kg, air.rh
    air.step(3600, 15.0, 5.0, saturation_pa(5.0), 0.0)
    assert air.rh < before_rh
    assert air.water_kg == pytest.approx(before_kg)


def test_furnishings_hold_the_humidity_against_a_swing_of_temperature() -> None:
    held, bare = (
        Moisture(AirPlan(changes_per_h=0, changes_per_h_per_wind=0, furnishings_m3_h=m), 10.0) for m in (100, 0)
    )
    for air in (held, bare):
        for _ in range(12):
            air.step(3600, 15.0, 15.0, 0.0, 0.0)
    assert abs(held.rh - 65) < abs(bare.rh - 65)


def test_water_condenses_on_the_cold_surface_and_goes_back_when_it_warms() -> None:
    air = Moisture(AirPlan(changes_per_h=0, changes_per_h_per_wind=0, start_rh=90), 12.0)
    for _ in range(12):
        air.step(3600, 12.0, -5.0, saturation_pa(-6.0), 0.0)
    wet = air.film_kg
    for _ in range(72):
        air.step(3600, 12.0, 12.0, saturation_pa(-6.0), 0.0)
    assert wet > 0
    assert air.film_kg < wet


def test_a_closed_boat_is_damp_without_a_dehumidifier_and_holds_with_it() -> None:
    _, damp = _winter(AirPlan(**CLOSED))
    _, dried = _winter(AirPlan(**CLOSED, start_rh=55, dehumidifier=DehumidifierPlan()))
    # Dried to 50-60 % is the aim, below 65 % adequate (REFERENCES.md).
    assert max(dried) < 60
    assert sorted(damp)[len(damp) // 2] > 75


def test_a_dehumidifier_that_has_stopped_lets_the_damp_in_within_two_days() -> None:
    air = Moisture(AirPlan(**CLOSED, start_rh=55, dehumidifier=DehumidifierPlan()), 6.0)
    for _ in range(48):
        air.step(3600, 6.0, 5.0, saturation_pa(2.0), 4.0)
    held = air.rh
    air.dehumidifier_on = False
    for _ in range(48):
        air.step(3600, 6.0, 5.0, saturation_pa(2.0), 4.0)
    assert held == pytest.approx(55.0, abs=1.0)  # within its humidistat's band of 2 %
    assert air.rh > 65


def test_without_mains_a_dehumidifier_takes_nothing_and_gives_no_heat() -> None:
    air = Moisture(AirPlan(**CLOSED, start_rh=80, dehumidifier=DehumidifierPlan()), 6.0)
    assert air.step(3600, 6.0, 5.0, saturation_pa(2.0), 4.0, mains=False) == 0
    assert air.removed_kg == 0


def test_a_dehumidifier_takes_no_more_than_it_can_and_warms_the_cabin_by_what_it_takes() -> None:
    air = Moisture(AirPlan(source_g_h=2000, dehumidifier=DehumidifierPlan(most_kg_h=0.2)), 6.0)
    watts = air.step(3600, 6.0, 5.0, saturation_pa(5.0), 4.0)
    assert air.removed_kg == pytest.approx(0.2)
    assert watts == pytest.approx(0.2 * HEAT_J_PER_KG / 3600)


def test_humidity_never_leaves_0_to_100() -> None:
    _, rh = _winter(AirPlan(changes_per_h=0.01, changes_per_h_per_wind=0, source_g_h=200))
    assert all(0 < value <= 100 for value in rh)
