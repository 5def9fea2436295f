from collections.abc import Callable
from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.science.bilge import (
    DipTable,
    Reach,
    drips_l_per_day,
    drops_per_min_from_l_per_day,
    first_reached,
    hole_diameter_m,
    hole_inflow_l_per_min,
    inflow_l_per_h,
    level_m,
    pump_minimum_l_per_h,
    pump_on_board_l_per_h,
    rise_m,
    volume_l,
)

NAN = float("nan")
BILGE = DipTable((0.0, 0.05, 0.10, 0.20), (0.0, 4.0, 12.0, 40.0))


@st.composite
def dip_tables(draw: st.DrawFn) -> DipTable:
    rises = draw(st.lists(st.tuples(st.floats(0.001, 0.2), st.floats(0.01, 200.0)), min_size=1, max_size=8))
    rows = [(draw(st.floats(0.0, 0.05)), draw(st.floats(0.0, 5.0)))]
    for metres, litres in rises:
        rows.append((rows[-1][0] + metres, rows[-1][1] + litres))
    return DipTable.from_rows(rows)


@given(dip_tables(), st.floats(0.0, 1.0), st.floats(0.0, 1.0))
def test_a_higher_level_never_holds_less(table: DipTable, one: float, other: float) -> None:
    bottom, top = table.levels_m[0], table.levels_m[-1]
    low, high = (min(top, bottom + share * (top - bottom)) for share in sorted((one, other)))
    assert volume_l(table, low) <= volume_l(table, high) * (1.0 + 1e-12)
    assert table.volumes_l[0] <= volume_l(table, low) <= table.volumes_l[-1]


@given(dip_tables(), st.floats(0.0, 1.0))
def test_level_and_volume_turn_back(table: DipTable, share: float) -> None:
    bottom, top = table.levels_m[0], table.levels_m[-1]
    at_m = min(top, bottom + share * (top - bottom))
    litres = min(table.volumes_l[-1], max(table.volumes_l[0], volume_l(table, at_m)))
    assert level_m(table, litres) == pytest.approx(at_m, abs=1e-9)


@pytest.mark.parametrize(
    ("levels", "volumes", "message"),
    [
        ((0.0, 0.1), (0.0,), "has 2 levels and 1 volumes"),
        ((0.0,), (0.0,), "needs two rows or more"),
        ((), (), "needs two rows or more"),
        ((0.0, 0.1, 0.1), (0.0, 1.0, 2.0), r"row 3 of the dip table \(0.1 m, 2 L\) does not rise"),
        ((0.0, 0.1, 0.2), (0.0, 2.0, 2.0), r"row 3 of the dip table \(0.2 m, 2 L\) does not rise"),
        ((0.1, 0.0), (0.0, 1.0), "row 2 of the dip table"),
        ((0.0, 0.1), (-1.0, 1.0), "row 1 of the dip table holds -1 L, which is below 0"),
        ((0.0, NAN), (0.0, 1.0), "row 2 of the dip table is nan m, 1.0 L: not a number"),
        ((0.0, 0.1), (0.0, inf), "row 2 of the dip table is 0.1 m, inf L: not a number"),
    ],
)
def test_a_dip_table_that_cannot_be_read_both_ways_is_refused(
    levels: tuple[float, ...], volumes: tuple[float, ...], message: str
) -> None:
    with pytest.raises(ValueError, match=message):
        DipTable(levels, volumes)


@given(st.floats(0.0, 500.0), st.floats(0.0, 500.0), st.floats(0.01, 1000.0))
def test_inflow_times_time_is_what_came_in(earlier: float, later: float, hours: float) -> None:
    assert earlier + inflow_l_per_h(earlier, later, hours) * hours == pytest.approx(later, abs=1e-6)


def test_water_reaches_the_lowest_name_first() -> None:
    heights = [("sole", 0.20), ("starter motor", 0.10), ("terminals", 0.15)]
    assert first_reached(BILGE, 0.05, 4.0, heights) == Reach("starter motor", 0.10, 2.0)


def test_a_height_under_water_is_reached_now() -> None:
    assert first_reached(BILGE, 0.15, 4.0, [("starter motor", 0.10), ("sole", 0.20)]) == Reach(
        "starter motor", 0.10, 0.0
    )


@pytest.mark.parametrize("inflow", [0.0, -3.0])
def test_water_that_does_not_rise_never_arrives(inflow: float) -> None:
    assert first_reached(BILGE, 0.05, inflow, [("sole", 0.20)]) == Reach("sole", 0.20, inf)


def test_no_named_height_gives_no_time() -> None:
    assert first_reached(BILGE, 0.05, 4.0, []) is None


@given(st.floats(0.01, 50.0), st.floats(0.01, 50.0))
def test_faster_water_arrives_no_later(one: float, other: float) -> None:
    slow, fast = (first_reached(BILGE, 0.02, rate, [("sole", 0.2)]) for rate in sorted((one, other)))
    assert slow is not None
    assert fast is not None
    assert fast.hours <= slow.hours


@given(st.floats(0.001, 0.2), st.floats(0.02, 4.0), st.floats(0.5, 1.0))
def test_hole_and_inflow_turn_back(diameter: float, head: float, discharge: float) -> None:
    inflow = hole_inflow_l_per_min(diameter, head, discharge)
    assert hole_diameter_m(inflow, head, discharge) == pytest.approx(diameter, rel=1e-9)


@given(st.floats(0.001, 0.1), st.floats(0.01, 1.0))
def test_twice_the_hole_or_four_times_the_depth(diameter: float, head: float) -> None:
    once = hole_inflow_l_per_min(diameter, head)
    assert hole_inflow_l_per_min(2.0 * diameter, head) == pytest.approx(4.0 * once, rel=1e-9)
    assert hole_inflow_l_per_min(diameter, 4.0 * head) == pytest.approx(2.0 * once, rel=1e-9)


@given(st.floats(0.0, 1000.0), st.floats(0.01, 0.5))
def test_drops_and_litres_turn_back(drops: float, drop_ml: float) -> None:
    assert drops_per_min_from_l_per_day(drips_l_per_day(drops, drop_ml), drop_ml) == pytest.approx(drops, abs=1e-9)


def test_a_weeping_hose_and_a_pump_that_keeps_up_with_it() -> None:
    # REFERENCES.md: 0.1 L/min is 144 L/day.
    assert pump_on_board_l_per_h(pump_minimum_l_per_h(5.0)) > 144.0 / 24.0


@pytest.mark.parametrize(
    ("formula", "message"),
    [
        (lambda: volume_l(BILGE, -0.001), "level is -0.001 m, outside 0 to 0.2 m"),
        (lambda: volume_l(BILGE, 0.21), "level is 0.21 m, outside 0 to 0.2 m"),
        (lambda: volume_l(BILGE, NAN), "level is nan m"),
        (lambda: level_m(BILGE, 41.0), "volume is 41 L, outside 0 to 40 L"),
        (lambda: inflow_l_per_h(1.0, 2.0, 0.0), "time between is 0 h"),
        (lambda: inflow_l_per_h(-1.0, 2.0, 1.0), "earlier volume is -1 L"),
        (lambda: hole_inflow_l_per_min(13.0, 0.3), "hole diameter is 13 m, outside 0 to 0.3 m"),
        (lambda: hole_inflow_l_per_min(0.013, -0.1), "head is -0.1 m"),
        (lambda: hole_diameter_m(10.0, 0.0), "head is 0 m, outside 0.01 to 5 m"),
        (lambda: pump_on_board_l_per_h(1000.0, 1.1), "share on board is 1.1"),
        (lambda: pump_minimum_l_per_h(25.0), "length of hull is 25 m, outside 2 to 24 m"),
        (lambda: drips_l_per_day(-1.0), "drops is -1 1/min"),
        (lambda: rise_m(1.0, 0.0), "bilge area is 0 m2, outside 0.01 to 100 m2"),
    ],
)
def test_what_the_formula_does_not_cover_is_refused(formula: Callable[[], float], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        formula()
