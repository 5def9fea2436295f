"""Bilges: the water balance closes, openings pass what the textbook says, and the float switch moves in its minute."""

from typing import Any

import pytest

from simulator.bilge import BilgePlan, Sump, bore_m2, drip_l_s

WET_AIR = 0.0
DRY_AIR = 0.003  # kg/m3: saturated at 5 degC is 6.8 g/m3, at half humidity 3.4 g/m3 are missing


def _sump(**plan: Any) -> Sump:
    return Sump(BilgePlan(**plan))


# REFERENCES.md: 0.6 sharp edge, 0.3 m of head; the figures are printed to the litre.
@pytest.mark.parametrize(("bore_mm", "l_min"), [(13, 12), (25, 43), (38, 99)])
def test_an_opening_passes_what_the_tables_say(bore_mm: float, l_min: float) -> None:
    sump = _sump(waterline_m=0.3)
    sump.opening_m2 = bore_m2(bore_mm)
    assert sump.inflow_l_s(0) * 60 == pytest.approx(l_min, abs=0.5)


def test_twenty_drops_a_minute_are_1_44_litres_a_day() -> None:
    assert drip_l_s(20) * 86_400 == pytest.approx(1.44)  # 20 * 0.05 mL * 1440 min


@pytest.mark.parametrize("cause", ["drip", "opening", "rain", "pump"])
def test_the_water_that_came_is_the_water_that_is_there(cause: str) -> None:
    sump = _sump(deck_leak_m2=0.5 if cause == "rain" else 0, pump_l_h=400 if cause == "pump" else None, left_litres=3)
    sump.drip_l_s = drip_l_s(60)
    if cause in {"opening", "pump"}:
        sump.opening_m2 = bore_m2(5)
    dried = 0.0
    for hour in range(500):
        evaporated, _ = sump.step(3600, 2.0 if hour % 7 == 0 else 0.0, DRY_AIR)
        dried += evaporated
    assert sump.litres == pytest.approx(3 + sump.entered_l - sump.left_l, abs=1e-6)
    assert sump.left_l >= dried > 0


def test_level_and_volume_undo_each_other() -> None:
    sump = _sump(shape_litres=1300, shape_power=1.7)
    assert sump.litres_at(sump.level_of(40.0)) == pytest.approx(40.0)


def test_a_dry_bilge_stays_dry() -> None:
    sump = _sump()
    assert sump.step(3600, 5.0, DRY_AIR) == (0.0, [])
    assert sump.level_m == 0


def test_evaporation_over_a_third_of_a_square_metre_is_about_0_14_litres_a_day() -> None:
    # REFERENCES.md: evaporation about 0.14 L/day over 0.3 m2; common practice, so within a third.
    sump = _sump(left_litres=15)
    assert sump.surface_m2() == pytest.approx(0.3)
    evaporated, _ = sump.step(86_400, 0.0, DRY_AIR)
    assert evaporated == pytest.approx(0.14, rel=0.35)


def test_a_bilge_that_dries_out_stops_at_nothing() -> None:
    sump = _sump(left_litres=0.01)
    for _ in range(200):
        sump.step(3600, 0.0, DRY_AIR)
    assert 0 <= sump.litres < 0.01


def test_the_float_switch_rises_in_the_minute_the_water_reaches_it() -> None:
    sump = _sump(float_m=0.08)
    sump.opening_m2 = bore_m2(8)
    rate_l_min = sump.inflow_l_s(0) * 60
    _, changes = sump.step(3600, 0.0, WET_AIR)
    # 1,500 * 0.08^2 = 9.6 litres, at the first rate (the head has hardly changed by then), to the next whole minute.
    minutes = 9.6 / rate_l_min
    assert [c.up for c in changes] == [True]
    assert changes[0].after_s % 60 == 0
    assert minutes <= changes[0].after_s / 60 <= minutes + 1.5


def test_a_slow_rise_moves_the_float_switch_once_within_the_hour_it_passes_it() -> None:
    sump = _sump(float_m=0.08)
    sump.drip_l_s = drip_l_s(20)
    moved = [(hour, c) for hour in range(240) for c in sump.step(3600, 0.0, WET_AIR)[1]]
    assert len(moved) == 1
    hour, change = moved[0]
    # 9.6 litres at 0.06 litres an hour take 160 hours.
    assert hour + change.after_s / 3600 == pytest.approx(160, abs=0.05)


def test_the_float_switch_does_not_chatter_at_its_height() -> None:
    sump = _sump(float_m=0.08, float_slack_m=0.02, left_litres=9.7)
    assert sump.float_up
    changes = [c for _ in range(24 * 150) for c in sump.step(3600, 0.0, DRY_AIR)[1]]
    assert [c.up for c in changes] == [False]
    assert sump.level_m < 0.06


def test_water_comes_in_until_it_stands_as_high_inside_as_outside() -> None:
    sump = _sump(waterline_m=0.35, waterplane_m2=18)
    sump.opening_m2 = bore_m2(25)
    for _ in range(24):
        sump.step(3600, 0.0, WET_AIR)
    settled_m = 0.35 + sump.litres / 1000 / 18
    assert sump.level_m == pytest.approx(settled_m, abs=0.002)
    assert settled_m > 0.355


def test_a_pump_holds_the_water_down_and_stops_when_it_is_out() -> None:
    sump = _sump(pump_l_h=600, pump_on_m=0.06, pump_off_m=0.02)
    sump.opening_m2 = bore_m2(5)
    highest = 0.0
    for _ in range(48):
        sump.step(3600, 0.0, WET_AIR)
        highest = max(highest, sump.level_m)
    # It starts at 0.06 m, 5.4 litres; a minute's inflow of 2 litres comes before it sees it.
    assert highest < 0.075
    sump.opening_m2 = 0.0
    for _ in range(3):
        sump.step(3600, 0.0, WET_AIR)
    # It stops at its lower height, 1,500 * 0.02^2 = 0.6 litres.
    assert 0.6 - 1e-9 <= sump.litres <= 5.4


def test_bailing_takes_everything_and_brings_the_float_down() -> None:
    sump = _sump(left_litres=20)
    assert sump.empty()
    assert (sump.litres, sump.level_m, sump.float_up) == (0, 0, False)
    assert not sump.empty()


def test_twenty_five_mm_of_rain_on_six_square_metres_are_150_litres() -> None:
    sump = _sump(deck_leak_m2=6)
    sump.step(3600, 25.0, WET_AIR)
    assert sump.entered_l == pytest.approx(150)  # REFERENCES.md; and 25 mm is 25 L/m2
