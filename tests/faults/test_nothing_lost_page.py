"""The page on what is lost is made of the fault tests' own lines, in full, and none of them lost anything."""

import pytest
from figures import Figures

from tests.nothing_lost_page import PAGE, filled, measured_in, rows_of, rows_on

KINDS = (
    "agent killed (SIGKILL) 200 times",
    "broker started again once, then killed 20 times",
    "broker away for 600 s",
    "clock of the agent's machine put an hour forward",
    "event time 400 days ahead",
    "agent absent for nine hours",
    "storm: 20 times the normal rate of 200 boats for 60 s",
    "burst: 20,000 readings at once",
    "sensors that send backwards",
)


@pytest.mark.parametrize("kind", KINDS)
def test_the_page_has_every_fault_in_full_and_nothing_lost_or_doubled(kind: str) -> None:
    rows = [row for row in rows_on(PAGE.read_text("utf-8")).values() if row.startswith(f"| {kind}")]
    assert len(rows) == 1, f"run: python -m tests.nothing_lost_page; it has {len(rows)} rows of {kind!r}"
    cells = [cell.strip() for cell in rows[0].split("|")]
    assert cells[5:7] == ["0", "0"]
    assert cells[2] == cells[3], "all that was published was acknowledged in the end"


def test_a_line_that_a_test_prints_becomes_its_row_and_the_others_stay() -> None:
    one, two = Figures("broker away for 5 s", 10, 10, 10, 0, 0, "quick"), Figures("a storm", 2_000, 2_000, 2_000, 0, 0)
    page = "a <!-- figures --><!-- /figures --> b <!-- measured --><!-- /measured --> c"
    page = filled(page, rows_of(f"x\n{one}\n.\n{two}\n", "today"), measured_in("measured: memory: 3 MB\n", "today"))
    assert "| broker away for 5 s | 10 | 10 | 10 | 0 | 0 | quick | today |" in page
    longer = Figures("broker away for 600 s", 70, 70, 70, 0, 0)
    again = filled(page, rows_of(str(longer), "later"), {})
    assert again.count("broker away") == 1
    assert "| broker away for 600 s | 70 |" in again
    assert "| a storm | 2,000 |" in again
    assert "- memory: 3 MB. (today)" in again
