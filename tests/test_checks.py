"""Every check against the world is run, and the table of them in the documents is up to date."""

from pathlib import Path

import checks
import pytest

ROWS = [(title, *row) for title, rows in checks.tables() for row in rows]


@pytest.mark.parametrize(
    ("title", "check", "source", "ours", "theirs", "tolerance", "why"),
    ROWS,
    ids=[f"{row[0]}: {row[1]}" for row in ROWS],
)
def test_ours_is_theirs(
    title: str,
    check: str,
    source: str,
    ours: checks.Figure,
    theirs: checks.Figure,
    tolerance: float,
    why: str,
) -> None:
    expected, got = checks._figure(theirs), checks._figure(ours)
    assert got == pytest.approx(expected, rel=0.0, abs=tolerance), f"{title}: {check}: {source}; {why}"


def test_the_committed_table_is_up_to_date(tmp_path: Path) -> None:
    fresh = tmp_path / "checks.md"
    fresh.write_text(checks.page())
    assert checks.PAGE.read_text() == fresh.read_text(), "run: python -m tests.checks"


def test_every_table_of_checks_is_on_the_page() -> None:
    files = [p for p in (checks.HERE / "reference").glob("*.py") if "\nCHECKS" in p.read_text()]
    assert len(list(checks.tables())) == len(files) > 5


@pytest.mark.parametrize(
    ("value", "tolerance", "shown"),
    [
        (12.345, 0.05, "12.35"),
        (-0.0001, 0.05, "0.00"),
        (120.0, 0.0, "120"),
        (1.0021168, 1e-11, "1.00212"),
        (-23.2, 1.55, "-23.2"),
    ],
)
def test_figures_have_the_digits_of_their_tolerance(value: float, tolerance: float, shown: str) -> None:
    assert checks._plain(value, checks._digits(tolerance, abs(value))) == shown
