"""The small fixed set that every change is scored on: one boat of each winter that has what a row asks for."""

import pytest

from monitor.cli.score_work import score_vessel
from simulator.library import read_winter
from simulator.score.results import VesselWinter
from simulator.score.rows import BATTERY_FROZEN, BY_NAME, ROWS

SEED = 3
"""One for tuning."""
SET = (
    ("weak-coolant", 0),
    ("water-in-pipes", 0),
    ("drain-not-probed", 0),
    ("freeze-and-thaw-with-forecast", 0),
    ("many-faults", 1),
    ("mild-and-wet", 0),
    ("seacock", 0),
    ("weeping-hose", 0),
    ("gland-drip", 1),
    ("blocked-drain", 5),
    ("slow-drain", 0),
    ("hidden-load", 1),
    ("pump-battery", 0),
    ("battery-left-low", 0),
    ("dehumidifier-stops", 0),
    ("shore-power-lost", 0),
    ("shore-power-lost", 1),
    ("gateway-silent", 0),
    ("gateway-silent", 2),
    ("silent-in-frost", 0),
    ("quiet", 0),
)
"""Winters, and the number of a boat in each that a row asks for."""
HOURLY_S = 3_600

Lines = dict[tuple[str, int], VesselWinter]


@pytest.fixture(scope="module")
def lines() -> Lines:
    return {
        (name, number): score_vessel(read_winter(name, number + 1, SEED, HOURLY_S).alone(number), name, SEED)
        for name, number in SET
    }


@pytest.mark.slow
@pytest.mark.timeout(240)
def test_no_harm_of_the_fixed_set_goes_uncaught(lines: Lines) -> None:
    uncaught = [
        (name, told.row, told.at_ms)
        for name, line in lines.items()
        for told in line.watch.told
        if BY_NAME[told.row].all_caught and not told.caught
    ]
    assert uncaught == []


@pytest.mark.slow
@pytest.mark.timeout(240)
def test_nobody_cries_wolf_in_the_fixed_set(lines: Lines) -> None:
    assert [(name, f.key, f.priority) for name, line in lines.items() for f in line.watch.false] == []
    assert sum(len(line.fixed.false) for line in lines.values()) > 50


@pytest.mark.slow
@pytest.mark.timeout(240)
def test_the_fixed_set_asks_for_most_of_what_is_promised(lines: Lines) -> None:
    asked = {told.row for line in lines.values() for told in line.watch.told}
    # A battery that freezes is rare even in a hard winter: the unit tests and the held-out set ask for it.
    promised = {row.name for row in ROWS if row.all_caught} - {BATTERY_FROZEN.name}
    assert sorted(promised - asked) == []
