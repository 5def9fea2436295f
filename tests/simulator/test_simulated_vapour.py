"""The simulator's own vapour formula against published values."""

import pytest

from simulator.vapour import density_kg_m3, saturation_kg_m3, saturation_pa


# IAPWS steam tables, and over supercooled water WMO-No. 8; Buck 1981 claims 0.1 % and better over this span.
@pytest.mark.parametrize(
    ("degc", "pa"), [(0.01, 611.66), (5, 872.6), (10, 1228.2), (20, 2339.3), (30, 4247.0), (-5, 421.8), (-10, 286.6)]
)
def test_saturation_pressure_is_that_of_the_tables(degc: float, pa: float) -> None:
    assert saturation_pa(degc) == pytest.approx(pa, rel=0.002)


def test_saturated_air_at_20_degc_holds_17_3_grams() -> None:
    assert saturation_kg_m3(20) * 1000 == pytest.approx(17.3, abs=0.05)  # textbook figure


def test_density_follows_from_pressure_by_the_ideal_gas() -> None:
    assert density_kg_m3(saturation_pa(7), 7) == pytest.approx(saturation_kg_m3(7))
