"""What can be wrong with a sensor: each fault does what it says, ends, and leaves the sensor's own noise alone."""

from collections.abc import Callable
from itertools import pairwise
from math import exp
from random import Random
from statistics import fmean
from timeit import repeat

import pytest

from monitor.model.equipment import USUAL_ERROR, Sensor, Supply
from monitor.model.quantity import SPANS, Quantity
from simulator.sensor_faults import DAY_MS, HOUR_MS, NoTimeError
from simulator.sensors import CALIBRATED_AT_DEGC, LOST, MAKES, Instrument, Make, Truth

BEGINS_MS = 1_700_000_000_000
PERFECT = Make(noise=1e-12, bias=0.0, decimals=6)
SPAN = SPANS[Quantity.TEMPERATURE]


def instrument(
    quantity: Quantity = Quantity.TEMPERATURE, truth: Truth = lambda: 5.0, degc: Truth | None = None, **how: Make
) -> Instrument:
    sensor = Sensor(id="s", quantity=quantity, place="somewhere", interval_s=3600, supply=Supply.OWN_CELL)
    return Instrument(sensor, truth, Random("a"), degc, **how)


def said(one: Instrument, times: int, every_ms: int = HOUR_MS) -> list[float | None]:
    return [one.read(BEGINS_MS + n * every_ms) for n in range(times)]


def heard(one: Instrument, times: int) -> list[float]:
    return [value for value in said(one, times) if value is not None]


# --- a fault, and the noise beside it

FAULTS: dict[str, Callable[[Instrument], None]] = {
    "drift": lambda one: one.drift(0.1, BEGINS_MS),
    "shift": lambda one: one.shift(3.0),
    "spike": lambda one: one.spike(0.3),
    "lose": lambda one: one.lose(0.3),
    "stick": Instrument.stick,
    "die": Instrument.die,
    "disconnect": Instrument.disconnect,
    "frost": lambda one: one.frost(BEGINS_MS),
}


@pytest.mark.parametrize("fault", FAULTS)
def test_a_sensor_is_as_noisy_before_and_after_a_fault_as_it_would_have_been_without(fault: str) -> None:
    sound, faulty = instrument(), instrument()
    assert said(faulty, 50) == said(sound, 50)
    FAULTS[fault](faulty)
    assert said(faulty, 50) != said(sound, 50)
    faulty.replace()
    assert said(faulty, 50) == said(sound, 50)


def test_two_faults_at_once_draw_from_generators_of_their_own() -> None:
    spiking, both = instrument(), instrument()
    spiking.spike(0.2)
    both.spike(0.2)
    both.lose(0.5)
    pairs = [(a, b) for a, b in zip(said(spiking, 400), said(both, 400), strict=True) if b is not None]
    assert 150 < len(pairs) < 250
    assert all(a == b for a, b in pairs)


def test_reading_a_sound_sensor_takes_less_than_two_microseconds() -> None:
    one = instrument(degc=lambda: 4.0)
    assert min(repeat(one.read, number=20_000, repeat=3)) / 20_000 < 2e-6  # the winter's budget; usually 0.9e-6 s


# --- temperature


def test_an_error_of_temperature_is_none_at_20_degc_and_grows_by_the_kelvin() -> None:
    now = [CALIBRATED_AT_DEGC]
    make = Make(noise=1e-12, bias=0.0, decimals=6, per_k=0.1)
    one = instrument(degc=lambda: now[0], make=make)
    assert fmean(heard(one, 5)) == pytest.approx(5.0, abs=1e-6)
    now[0] = -10.0
    off = fmean(heard(one, 5)) - 5.0
    assert 0 < abs(off) <= 30 * 0.1
    now[0] = 5.0
    assert fmean(heard(one, 5)) - 5.0 == pytest.approx(off / 2, abs=1e-5)


@pytest.mark.parametrize("quantity", MAKES)
def test_bias_and_the_error_of_temperature_at_minus_ten_lie_within_what_a_record_assumes(quantity: Quantity) -> None:
    make = MAKES[quantity]
    assert make.bias + 30 * make.per_k <= USUAL_ERROR[quantity]


# --- drift and zero


def test_a_drift_begins_when_it_begins_and_grows_by_the_day() -> None:
    one = instrument(make=PERFECT)
    one.drift(0.5, BEGINS_MS + DAY_MS)
    assert one.read(BEGINS_MS) == pytest.approx(5.0)
    assert one.read(BEGINS_MS + DAY_MS) == pytest.approx(5.0)
    assert one.read(BEGINS_MS + 11 * DAY_MS) == pytest.approx(10.0)
    one.recalibrate()
    assert one.read(BEGINS_MS + 12 * DAY_MS) == pytest.approx(5.0)


@pytest.mark.parametrize("fault", ["drift", "frost"])
def test_a_fault_that_goes_by_time_wants_to_know_the_time(fault: str) -> None:
    one = instrument()
    FAULTS[fault](one)
    with pytest.raises(NoTimeError, match=rf"{fault} goes by time: give read\(\) the time"):
        one.read()


def test_shifts_add_up_and_are_put_right() -> None:
    one = instrument(make=PERFECT)
    one.shift(0.25)
    one.shift(0.5)
    assert one.read() == pytest.approx(5.75)
    one.recalibrate()
    assert one.read() == pytest.approx(5.0)


def test_a_level_zeroed_over_water_says_nought_for_it_and_too_little_after() -> None:
    now = [0.05]
    one = instrument(Quantity.LEVEL, lambda: now[0], make=Make(noise=1e-12, bias=0.001, decimals=6))
    one.drift(0.01, BEGINS_MS)
    one.rezero(BEGINS_MS + DAY_MS)
    assert one.read(BEGINS_MS + DAY_MS) == pytest.approx(0.0, abs=1e-6)
    now[0] = 0.09
    assert one.read(BEGINS_MS + 2 * DAY_MS) == pytest.approx(0.04 + 0.01, abs=1e-6)


# --- spikes and losses


def test_spikes_come_as_often_as_they_are_said_to_one_at_a_time_and_anywhere_it_can() -> None:
    one = instrument()
    one.spike(0.02)
    off = [abs(value - 5.0) > 1 for value in heard(one, 20_000)]
    # 400 expected less the 1 % that fall within 1 K of the truth, +/- 20 (binomial).
    assert sum(off) == pytest.approx(396, abs=60)
    together = sum(a and b for a, b in pairwise(off))
    assert together < 25  # 20,000 x 0.02^2 = 8 by chance
    assert min(heard(one, 20_000)) < SPAN.low + 10
    assert max(heard(one, 20_000)) > SPAN.high - 10


def test_spikes_of_a_size_go_either_way_and_end() -> None:
    one = instrument(make=PERFECT)
    one.spike(0.5, size=2.0)
    assert {round(value, 3) for value in heard(one, 200)} == {3.0, 5.0, 7.0}
    one.spike(0.0)
    assert {round(value, 3) for value in heard(one, 200)} == {5.0}


def test_a_spike_of_a_switch_is_the_other_position() -> None:
    one = instrument(Quantity.FLOAT_SWITCH, lambda: 0.0)
    one.spike(0.01)
    values = heard(one, 10_000)
    assert set(values) == {0.0, 1.0}
    assert sum(values) == pytest.approx(100, abs=40)  # +/- 10 (binomial)


def test_readings_get_lost_by_the_share_and_a_switchs_too() -> None:
    for quantity, usual in ((Quantity.TEMPERATURE, LOST), (Quantity.MAINS, 0.0)):
        one = instrument(quantity, lambda: 1.0)
        one.lose(0.3)
        lost = said(one, 10_000).count(None) / 10_000
        assert lost == pytest.approx(0.3 + 0.7 * usual, abs=0.02)
        one.lose(0.0)
        assert said(one, 1000).count(None) < 10


# --- stuck, dead, off, elsewhere


def test_a_sensor_sticks_at_what_it_said_last_faults_and_all_or_where_it_is_told() -> None:
    one = instrument(make=PERFECT)
    one.shift(1.0)
    one.read()
    one.stick()
    assert set(said(one, 100)) <= {6.0, None}
    one.stick(at=-3.0)
    assert set(said(one, 100)) <= {-3.0, None}


def test_a_float_iced_down_stays_down_in_the_water_until_it_comes_loose() -> None:
    now = [0.0]
    one = instrument(Quantity.FLOAT_SWITCH, lambda: now[0])
    one.stick(at=0.0)
    now[0] = 1.0
    assert set(said(one, 50)) == {0.0}
    one.loosen()
    assert set(said(one, 50)) == {1.0}


def test_a_dead_sensor_says_nothing_until_it_has_a_new_cell() -> None:
    one = instrument()
    one.die()
    assert set(said(one, 50)) == {None}
    one.revive()
    assert len(heard(one, 50)) > 45


def test_a_wire_that_is_off_reads_the_lowest_there_is_or_what_it_is_told() -> None:
    one = instrument(Quantity.VOLTAGE, lambda: 12.7)
    one.disconnect()
    assert set(heard(one, 50)) == {0.0}
    one.disconnect(reads=3.3)
    assert set(heard(one, 50)) == {3.3}
    one.reconnect()
    assert fmean(heard(one, 50)) == pytest.approx(12.7, abs=0.03)


def test_swapped_sensors_say_each_others_truth_and_twice_puts_it_right() -> None:
    here, there = instrument(truth=lambda: 5.0), instrument(truth=lambda: -8.0)
    here.swap(there)
    assert fmean(heard(here, 50)) == pytest.approx(-8.0, abs=0.4)
    assert fmean(heard(there, 50)) == pytest.approx(5.0, abs=0.4)
    there.swap(here)
    assert fmean(heard(here, 50)) == pytest.approx(5.0, abs=0.4)


def test_a_sensor_that_is_hung_elsewhere_measures_what_is_there() -> None:
    one = instrument()
    one.measure(lambda: 18.0)
    assert fmean(heard(one, 50)) == pytest.approx(18.0, abs=0.4)


# --- frost on a humidity sensor


def test_a_frosted_humidity_sensor_says_what_stands_over_ice_then_100_percent_and_dries() -> None:
    degc = [-10.0]
    one = instrument(Quantity.HUMIDITY, lambda: 60.0, lambda: degc[0], make=PERFECT)
    one.frost(BEGINS_MS, dries_h=3.0)
    # WMO-No. 8 at -10 degC: over ice 6.112 exp(22.46 t / (272.62 + t)), over water 6.112 exp(17.62 t / (243.12 + t)).
    assert one.read(BEGINS_MS) == pytest.approx(100 * exp(-224.6 / 262.62 + 176.2 / 233.12), abs=0.3)
    assert one.read(BEGINS_MS + 20 * HOUR_MS) == pytest.approx(90.7, abs=0.3)
    degc[0] = 2.0
    thaw_ms = BEGINS_MS + 21 * HOUR_MS
    assert one.read(thaw_ms) == pytest.approx(100.0)
    assert one.read(thaw_ms + 3 * HOUR_MS) == pytest.approx(60 + 40 * exp(-1), abs=1e-4)
    degc[0] = -1.0
    assert one.read(thaw_ms + 4 * HOUR_MS) == pytest.approx(99.0, abs=0.1)  # iced again before it was dry
    degc[0] = 2.0
    assert one.read(thaw_ms + 5 * HOUR_MS) == pytest.approx(100.0)
    assert one.read(thaw_ms + 45 * HOUR_MS) == pytest.approx(60.0, abs=0.1)
    degc[0] = -10.0
    assert one.read(thaw_ms + 46 * HOUR_MS) == pytest.approx(60.0, abs=0.1)  # dry frost does not wet it


def test_where_no_temperature_is_known_the_frost_has_gone_at_once_and_the_sensor_dries() -> None:
    one = instrument(Quantity.HUMIDITY, lambda: 60.0, make=PERFECT)
    one.frost(BEGINS_MS, dries_h=2.0)
    assert one.read(BEGINS_MS) == pytest.approx(100.0)
    assert one.read(BEGINS_MS + 2 * HOUR_MS) == pytest.approx(60 + 40 * exp(-1), abs=1e-4)
