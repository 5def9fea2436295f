"""Water that people bring in, hatches they open, and the coldest surface that mould lives on."""

from random import Random
from time import perf_counter

import pytest

from simulator.dehumidifier import DehumidifierPlan
from simulator.moisture import AirPlan, Moisture
from simulator.vapour import saturation_pa

SEALED = AirPlan(changes_per_h=0, changes_per_h_per_wind=0)
WORN = AirPlan(changes_per_h=0.3, source_g_h=10, dehumidifier=DehumidifierPlan(tank_kg=3, hysteresis_rh=6))


def _still(air: Moisture, hours: int, airing_per_h: float = 0.0) -> None:
    for _ in range(hours):
        air.step(3600, 10.0, 10.0, saturation_pa(2.0), 0.0, airing_per_h=airing_per_h)


def test_over_a_random_winter_the_water_that_came_is_the_water_that_is_there() -> None:
    chance = Random(11)
    air = Moisture(WORN, 10.0)
    began = air.water_kg
    moved = 0.0
    for n in range(20_000):
        if n % 1000 == 0:
            air.wet(chance.uniform(0, 4), chance.uniform(600, 40_000))
        if n % 1700 == 0 and air.dehumidifier is not None:
            air.dehumidifier.empty()
        air.dehumidifier_on = n % 5000 > 1000
        degc = chance.uniform(-8, 15)
        before = air.vented_kg
        air.step(
            chance.choice((60, 600, 3600)),
            degc,
            degc - chance.uniform(-1, 8),
            saturation_pa(degc - chance.uniform(1, 10)),
            chance.uniform(0, 12),
            chance.uniform(0, 0.01),
            mains=chance.random() > 0.1,
            airing_per_h=chance.choice((0, 0, 8)),
        )
        moved += abs(air.vented_kg - before)
        assert 0 < air.rh <= 100
        assert 0 < air.surface_rh <= 100
    assert air.water_kg == pytest.approx(began + air.vented_kg + air.sourced_kg - air.removed_kg, abs=1e-9 * moved)
    assert air.film_kg >= 0
    assert air.removed_kg > 3


def test_a_wash_down_gives_all_its_water_over_its_hours_and_then_nothing() -> None:
    air = Moisture(SEALED, 10.0)
    before = air.water_kg
    air.wet(0.6, 6 * 3600)
    _still(air, 3)
    assert air.sourced_kg == pytest.approx(0.3)
    _still(air, 9)
    assert air.sourced_kg == pytest.approx(0.6)
    assert air.water_kg == pytest.approx(before + 0.6)


def test_two_wettings_add_and_the_second_lasts_its_time() -> None:
    air = Moisture(SEALED, 10.0)
    air.wet(0.2, 2 * 3600)
    _still(air, 5)
    air.wet(0.5, 5 * 3600)
    _still(air, 1)
    assert air.sourced_kg == pytest.approx(0.3)
    _still(air, 5)
    assert air.sourced_kg == pytest.approx(0.7)


@pytest.mark.parametrize(("kg", "over_s"), [(-1, 3600), (1, 0)])
def test_water_that_cannot_evaporate_is_refused(kg: float, over_s: float) -> None:
    with pytest.raises(ValueError, match="cannot evaporate"):
        Moisture(SEALED, 10.0).wet(kg, over_s)


def test_an_open_hatch_brings_the_cabin_to_the_air_outside() -> None:
    shut, aired = Moisture(SEALED, 10.0), Moisture(SEALED, 10.0)
    _still(shut, 24 * 30)
    _still(aired, 24 * 30, airing_per_h=8)
    # RH by definition: e(2 degC) / e(10 degC) = 706 / 1228 Pa (IAPWS steam tables).
    assert aired.rh == pytest.approx(57.5, abs=0.3)
    assert shut.rh == pytest.approx(65.0, abs=0.1)


def test_the_coldest_surface_lies_by_its_factor_between_outside_and_cabin() -> None:
    air = Moisture(AirPlan(surface_factor=0.3), 10.0)
    air.step(3600, 10.0, 0.0, saturation_pa(-2.0), 0.0)
    assert air.surface_degc == pytest.approx(3.0)


def test_humidity_at_the_surface_is_that_of_one_vapour_pressure_at_two_temperatures() -> None:
    air = Moisture(AirPlan(changes_per_h=0, changes_per_h_per_wind=0, furnishings_m3_h=0, start_rh=50), 10.0)
    air.step(600, 10.0, 0.0, saturation_pa(0.0), 0.0)
    # e(10 degC) = 1228.2 Pa, e(3 degC) = 758.1 Pa (IAPWS steam tables): 50 % * 1228.2 / 758.1.
    assert air.rh == pytest.approx(50.0, abs=0.01)
    assert air.surface_rh == pytest.approx(81.0, abs=0.1)


def test_water_condenses_only_where_the_surface_is_saturated() -> None:
    air = Moisture(AirPlan(changes_per_h=0, changes_per_h_per_wind=0, start_rh=75), 10.0)
    for n in range(200):
        film = air.film_kg
        air.step(600, 10.0, 9.0 - n / 10, saturation_pa(-10.0), 0.0)
        if air.film_kg > film:
            assert air.surface_rh == 100
    assert air.film_kg > 0


def test_a_step_costs_no_more_than_four_microseconds() -> None:
    air = Moisture(WORN, 5.0)
    took = []
    for _ in range(5):
        began = perf_counter()
        for _ in range(5_000):
            air.step(600, 5.0, 1.0, 500.0, 3.0)
        took.append((perf_counter() - began) / 5_000)
    assert min(took) < 4e-6  # usually 1.5 us
