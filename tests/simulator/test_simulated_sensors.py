"""Sensors: as noisy as they are said to be, repeatable, and faulty on demand."""

from random import Random
from statistics import fmean, pstdev

import pytest

from monitor.model.equipment import USUAL_ERROR, Sensor, Supply
from monitor.model.quantity import SPANS, Quantity
from simulator.sensors import LOST, MAKES, Instrument, Truth


def _instrument(quantity: Quantity, truth: Truth, seed: str = "a") -> Instrument:
    sensor = Sensor(id="s", quantity=quantity, place="somewhere", interval_s=3600, supply=Supply.OWN_CELL)
    return Instrument(sensor, truth, Random(seed))


def _said(instrument: Instrument, times: int) -> list[float]:
    return [value for _ in range(times) if (value := instrument.read()) is not None]


def test_every_sensor_has_a_fixed_error_of_its_own_within_the_makes() -> None:
    off = [fmean(_said(_instrument(Quantity.TEMPERATURE, lambda: 10.0, str(n)), 400)) - 10.0 for n in range(30)]
    # The mean of 400 readings of 0.1 K noise is good to 0.005 K.
    assert max(abs(error) for error in off) <= MAKES[Quantity.TEMPERATURE].bias + 0.02
    assert pstdev(off) > 0.05


@pytest.mark.parametrize("quantity", [Quantity.TEMPERATURE, Quantity.HUMIDITY, Quantity.VOLTAGE, Quantity.LEVEL])
def test_readings_spread_by_the_noise_and_the_last_digit(quantity: Quantity) -> None:
    make = MAKES[quantity]
    instrument = _instrument(quantity, lambda: 3.3)
    said = _said(instrument, 4000)
    # Rounding to a step d adds d / sqrt(12), in squares (uniform distribution).
    step = 10.0**-make.decimals
    assert pstdev(said) == pytest.approx((make.noise**2 + step**2 / 12) ** 0.5, rel=0.08)


def test_every_make_errs_less_than_a_record_assumes() -> None:
    for quantity, make in MAKES.items():
        assert make.bias <= USUAL_ERROR[quantity]


def test_every_quantity_has_a_make() -> None:
    assert set(MAKES) == set(Quantity) == set(SPANS)


def test_about_one_reading_in_a_thousand_gets_lost() -> None:
    instrument = _instrument(Quantity.TEMPERATURE, lambda: 5.0)
    lost = sum(instrument.read() is None for _ in range(50_000))
    assert lost / 50_000 == pytest.approx(LOST, rel=0.5)  # 50 expected, +/- 7 (Poisson)


def test_a_switch_is_never_lost_and_says_only_on_or_off() -> None:
    instrument = _instrument(Quantity.FLOAT_SWITCH, lambda: 1.0)
    assert {instrument.read() for _ in range(20_000)} == {1.0}


def test_a_value_stays_within_what_the_sensor_can_say() -> None:
    instrument = _instrument(Quantity.HUMIDITY, lambda: 100.0)
    assert max(_said(instrument, 500)) == 100.0


def test_a_stuck_sensor_says_its_last_value_until_it_comes_loose() -> None:
    now = [4.0]
    instrument = _instrument(Quantity.TEMPERATURE, lambda: now[0])
    last = _said(instrument, 9)[-1]
    instrument.stick()
    now[0] = 15.0
    assert set(_said(instrument, 200)) == {last}
    instrument.loosen()
    assert _said(instrument, 9)[-1] == pytest.approx(15.0, abs=1.0)


def test_the_same_seed_says_the_same() -> None:
    one, two, other = (_instrument(Quantity.TEMPERATURE, lambda: 3.0, seed) for seed in ("x", "x", "y"))
    said = [[i.read() for _ in range(50)] for i in (one, two, other)]
    assert said[0] == said[1] != said[2]
