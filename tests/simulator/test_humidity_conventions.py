"""Humidity over ice and over water, each turned into the dew point over water that the simulator keeps."""

import doctest

import psychrolib
import pytest

from simulator import humidity
from simulator.humidity import Over, dew_from_dew_degc, dew_from_humidity_degc, dew_point_degc, ice_saturation_pa
from simulator.vapour import saturation_pa


def test_worked_values_hold() -> None:
    outcome = doctest.testmod(humidity)
    assert (outcome.failed, outcome.attempted > 0) == (0, True)


@pytest.mark.parametrize("degc", [-30.0, -20.0, -10.0, -5.0, -1.0])
def test_saturation_over_ice_is_that_of_an_independent_library(degc: float) -> None:
    psychrolib.SetUnitSystem(psychrolib.SI)
    # ASHRAE's formula over ice below the triple point. Buck states 0.1 %, with 0.2 % at the cold end.
    assert ice_saturation_pa(degc) == pytest.approx(psychrolib.GetSatVapPres(degc), rel=0.003)


@pytest.mark.parametrize("degc", [-40.0, -12.8, -0.1, 0.0, 9.3, 30.0])
def test_the_dew_point_is_the_exact_inverse_of_saturation(degc: float) -> None:
    assert dew_point_degc(saturation_pa(degc)) == pytest.approx(degc, abs=1e-9)


def test_above_zero_the_conventions_are_one() -> None:
    assert dew_from_dew_degc(4.0, Over.ICE) == pytest.approx(dew_from_dew_degc(4.0, Over.WATER))
    assert dew_from_humidity_degc(4.0, 70, Over.ICE) == dew_from_humidity_degc(4.0, 70, Over.WATER)


def test_a_dew_point_is_never_above_its_air() -> None:
    assert dew_from_humidity_degc(5.0, 104, Over.WATER) == 5.0


def test_air_without_vapour_has_no_dew_point() -> None:
    with pytest.raises(ValueError, match="more than 0 Pa"):
        dew_point_degc(0.0)
