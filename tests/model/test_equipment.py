"""What a record's equipment refuses, and says why."""

from typing import Any

import pytest
from pydantic import ValidationError

from monitor.model.equipment import Battery, Bilge, Chemistry


def bilge(*rows: tuple[float, float]) -> Bilge:
    table: Any = rows
    return Bilge(id="bilge", name="Bilge", dip_table=table)


def test_a_dip_table_that_was_poured_and_dipped_is_taken() -> None:
    assert bilge((0.0, 0.0), (0.05, 4.0), (0.6, 648.0)).dip_table[1] == (0.05, 4.0)


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        (((0.0, -1.0), (0.1, 12.0)), "row 1 holds -1.0 L"),
        (((0.0, 0.0), (50.0, 12.0)), "row 2 stands at 50.0 m"),
        (((-0.5, 0.0), (0.1, 12.0)), "row 1 stands at -0.5 m"),
        (((0.0, 0.0), (0.1, float("nan"))), "row 2 holds nan L"),
        (((0.0, 0.0), (0.1, 1e9)), "row 2 holds"),
        (((0.0, 0.0), (0.1, 12.0), (0.1, 13.0)), "must rise in both columns"),
        (((0.1, 12.0),), "at least two rows"),
    ],
)
def test_a_dip_table_that_cannot_be_is_refused_by_row(rows: tuple[tuple[float, float], ...], said: str) -> None:
    with pytest.raises(ValidationError, match=said):
        bilge(*rows)


def test_columns_the_wrong_way_round_are_told_which_comes_first() -> None:
    with pytest.raises(ValidationError, match="metres come first"):
        bilge((0.0, 0.0), (12.0, 0.1))


def test_a_battery_feeds_no_pump_unless_the_record_says_so() -> None:
    assert not Battery(id="house", name="House", chemistry=Chemistry.AGM, capacity_ah=100).feeds_pump
