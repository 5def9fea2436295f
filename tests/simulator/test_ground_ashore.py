"""The ground under boats ashore lags behind the air as soil does; ground and water begin as their autumn left them."""

import time
from cmath import exp as cexp
from cmath import phase
from datetime import UTC, datetime
from math import cos, exp, pi, sqrt

import pytest

from simulator.climates import CLIMATES
from simulator.ground import Ground
from simulator.harbour import FREEZES_DEGC, Harbour
from simulator.weather_generator import generate

DAY_S = 86_400.0
BEGINS, ENDS = datetime(2013, 11, 1, tzinfo=UTC), datetime(2014, 4, 30, tzinfo=UTC)


def _swing(period_d: float) -> tuple[float, float]:
    """Give how much of a wave of the air's temperature the ground keeps, and by how many radians it lags."""
    ground, dt_s = Ground(0.0), period_d * DAY_S / 400
    total = 0j
    for n in range(40 * 400):
        turn = 2 * pi * n / 400
        ground.step(dt_s, cos(turn))
        if n >= 39 * 400:
            total += ground.ground_degc * cexp(-1j * turn) / 200
    return abs(total), -phase(total)


@pytest.mark.parametrize("period_d", [1, 10, 365])
def test_the_ground_swings_as_soil_at_a_foot_of_depth(period_d: float) -> None:
    # Hillel 1982: exp(-z / d) of the swing, z / d rad late, d = sqrt(diffusivity period / pi); 0.3 m, 0.5e-6 m2/s.
    by_damping_depth = 0.3 / sqrt(0.5e-6 * period_d * DAY_S / pi)
    kept, late = _swing(period_d)
    # What the module states of itself; a day's wave is too small there for its delay to matter.
    assert kept == pytest.approx(exp(-by_damping_depth), abs=0.11)
    if period_d > 1:
        assert late == pytest.approx(by_damping_depth, abs=0.2)


def test_steps_of_any_length_lead_to_the_same_ground() -> None:
    quick, slow = Ground(10.0), Ground(10.0)
    for _ in range(6 * 24):
        quick.step(600, -5.0)
    slow.step(DAY_S, -5.0)
    assert quick.ground_degc == pytest.approx(slow.ground_degc)


@pytest.mark.parametrize("climate", CLIMATES)
def test_ground_and_water_begin_above_the_first_days_air_and_end_near_the_last(climate: str) -> None:
    weather = generate(2, BEGINS, ENDS, CLIMATES[climate])
    ground, harbour = Ground.before(weather), Harbour.before(weather)
    first = sum(h.outside_degc for h in weather.hours[:240]) / 240
    assert first < ground.ground_degc < harbour.water_degc
    coldest_ground = coldest_water = 99.0
    for hour in weather.hours[1:]:
        ground.step(3600, hour.outside_degc)
        harbour.step(3600, hour.outside_degc)
        coldest_ground = min(coldest_ground, ground.ground_degc)
        coldest_water = min(coldest_water, harbour.water_degc)
    assert min(h.outside_degc for h in weather.hours) + 2 < coldest_ground
    assert coldest_water >= FREEZES_DEGC


def test_a_winter_of_ground_costs_a_hundredth_of_its_time() -> None:
    ground = Ground()
    began = time.process_time()
    for _ in range(26_000):
        ground.step(600, 3.0)
    assert time.process_time() - began < 0.06
