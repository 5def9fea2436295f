"""Exposure: hours and depth below the freezing point, what counts as a freeze, and when it thawed."""

import pytest
from aboard import json_bytes, round_trips
from boats import HOUR

from monitor.rules.exposure import Exposures

DAYS_3 = 72 * HOUR


def exposed(*degc: float, freeze_degc: float = 0.0) -> Exposures:
    exposures = Exposures()
    for hour, value in enumerate(degc):
        exposures.note("pipes", hour * HOUR, value, freeze_degc)
    return exposures


def test_hours_and_depth_are_those_under_the_straight_line_between_readings() -> None:
    # +2, -2: crosses half-way, half an hour to 2 K deep: 0.5 K h; -2 to -4: 3 K h; -4 to +4: half an hour, 1 K h.
    pipes = exposed(2.0, -2.0, -4.0, 4.0).systems["pipes"]
    assert (pipes.hours, pipes.degree_hours) == pytest.approx((2.0, 4.5))


def test_a_freeze_that_goes_above_has_thawed() -> None:
    exposures = exposed(2.0, -2.0, -4.0, -1.0, 1.0, 3.0)
    pipes = exposures.systems["pipes"]
    assert (pipes.froze_ms, pipes.thawed_ms, pipes.lowest_degc) == (1 * HOUR, 4 * HOUR, -4.0)
    assert exposures.thawed_since(5 * HOUR, DAYS_3) == 4 * HOUR
    assert exposures.thawed_since(4 * HOUR + DAYS_3, DAYS_3) == 4 * HOUR
    assert exposures.thawed_since(5 * HOUR + DAYS_3, DAYS_3) is None


def test_while_it_is_frozen_nothing_has_thawed() -> None:
    exposures = exposed(2.0, -2.0, -2.0, 0.2)
    assert exposures.systems["pipes"].is_frozen
    assert exposures.thawed_since(4 * HOUR, DAYS_3) is None


def test_a_touch_of_the_freezing_point_is_no_freeze() -> None:
    exposures = exposed(1.0, -0.2, 1.0, -0.2, 1.0)
    assert exposures.systems["pipes"].hours > 0.0
    assert exposures.thawed_since(5 * HOUR, DAYS_3) is None


def test_the_point_of_the_system_counts_and_not_nought() -> None:
    assert exposed(-3.0, -6.0, -9.0, -3.0, freeze_degc=-4.0).systems["pipes"].thawed_ms == 3 * HOUR
    assert exposed(-3.0, -6.0, -9.0, -3.0, freeze_degc=-10.0).systems["pipes"].hours == 0.0


def test_a_long_gap_counts_nothing_and_yet_ends_in_a_thaw() -> None:
    exposures = exposed(1.0, -2.0, -2.0)
    before = exposures.systems["pipes"].hours
    exposures.note("pipes", 12 * HOUR, 4.0, 0.0)
    assert exposures.systems["pipes"].hours == before
    assert exposures.thawed_since(12 * HOUR, DAYS_3) == 12 * HOUR


def test_a_freeze_heard_of_late_thawed_at_its_end() -> None:
    exposures = Exposures()
    for hour, degc in ((30, -2.0), (33, -3.5), (34, 2.0)):
        exposures.note_late("pipes", hour * HOUR, degc, 0.0)
    assert exposures.thawed_since(48 * HOUR, DAYS_3) == 33 * HOUR


def test_the_last_thaw_of_all_systems_counts() -> None:
    exposures = exposed(-2.0, -2.0, 2.0)
    exposures.note("heads", 0, -3.0, 0.0)
    exposures.note("heads", HOUR, -3.0, 0.0)
    exposures.note("heads", 3 * HOUR, 3.0, 0.0)
    assert exposures.thawed_since(4 * HOUR, DAYS_3) == 3 * HOUR


def test_it_is_bounded_and_comes_back_from_json() -> None:
    exposures = exposed(*[(hour % 24) - 12.0 for hour in range(24 * 150)])
    exposures.note_late("pipes", HOUR, -3.0, 0.0)
    assert round_trips(exposures, Exposures)
    assert json_bytes(exposures, Exposures) < 500
