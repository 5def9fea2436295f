"""Typical-year files (TMY3, EPW) as one winter; read by pvlib, the optional extra ``weather``.

A typical year is joined from months of different years, so its years mean nothing: July to December become the year
the winter begins in, January to June the next. The days are the station's, by its standard time.
"""

from collections.abc import Callable
from datetime import datetime, timedelta, timezone
from pathlib import Path
from typing import Any, Literal

from monitor.model.document import DocumentError
from simulator.hours import HOUR_MS, Hour, Weather
from simulator.humidity import Over, dew_from_dew_degc
from simulator.weather_rows import SPANS

Kind = Literal["tmy3", "epw"]

# The names that pvlib gives them, and those that they have here.
_COLUMNS = {
    "temp_air": "outside_degc",
    "temp_dew": "dew_point_degc",
    "wind_speed": "wind_m_s",
    "ghi": "sun_w_m2",
}
_RAIN_MM = {"tmy3": "Lprecip depth (mm)", "epw": "liquid_precipitation_depth"}
_RAIN_H = {"tmy3": "Lprecip quantity (hr)", "epw": "liquid_precipitation_quantity"}
# Such files write 253 to 255 and 999 mm for *not known*; 100 mm in an hour is a cloudburst of the tropics.
_MOST_RAIN_MM = 100.0
_FIRST_MONTH = 7
# Without and with 29 February.
_HOURS = (8760, 8784)


def read_typical_year(path: Path, kind: Kind, winter_year: int, over: Over = Over.ICE) -> Weather:
    """Read a typical year as the winter that begins in a year: 1 July to 30 June.

    Args:
        path: the file.
        kind: its format.
        winter_year: the year that July to December get. Where the next one is a leap year, 28 February stands twice.
        over: what the file's dew points below zero are stated over. Most are over ice: in 703165TY they agree with
            its relative humidities so to 0.5 %, and disagree by 3 % over water.

    Returns:
        The weather. Sun is stated as the mean of the hour before; here it is that of the time itself. Rain is taken
        where a file has it for single hours; few typical years do for all.

    Raises:
        DocumentError: pvlib is not installed, or the file is no such file or lacks figures.
    """
    table, about = _table(path, kind)
    # Times are those at which the hours end; what the hour began in says which month it belongs to.
    ends_after_index = timedelta(hours=1) if kind == "epw" else timedelta()
    zone = timezone(timedelta(hours=float(about["TZ"])))
    begins = [t.to_pydatetime() + ends_after_index - timedelta(hours=1) for t in table.index]
    rows = {(t.month, t.day, t.hour): n for n, t in enumerate(begins)}
    wrong = _mistakes(table, path.name, len(rows))
    if wrong:
        raise DocumentError("\n".join(wrong))
    begins_at = datetime(winter_year, _FIRST_MONTH, 1, tzinfo=zone)
    order = _order(rows, begins_at)
    figures = {name: table[column].tolist() for column, name in _COLUMNS.items()}
    rain = _rain(table, kind)
    pressure = _at_sea_level(table, kind, float(about["altitude"]))
    first_ms = round(begins_at.timestamp()) * 1000 + HOUR_MS
    hours = []
    for n, row in enumerate(order):
        degc = figures["outside_degc"][row]
        sun = figures["sun_w_m2"]
        hours.append(
            Hour(
                first_ms + n * HOUR_MS,
                degc,
                min(dew_from_dew_degc(figures["dew_point_degc"][row], over), degc),
                figures["wind_m_s"][row],
                rain[row],
                pressure[row],
                (sun[row] + sun[order[min(n + 1, len(order) - 1)]]) / 2,
            )
        )
    return Weather(hours)


def _order(rows: dict[tuple[int, int, int], int], at: datetime) -> list[int]:
    """Say which row each hour of the winter has: by month, day and hour at which the hour began."""
    order: list[int] = []
    ends = at.replace(year=at.year + 1)
    while at < ends:
        day = 28 if (at.month, at.day) == (2, 29) and (2, 29, at.hour) not in rows else at.day
        order.append(rows[at.month, day, at.hour])
        at += timedelta(hours=1)
    return order


def _table(path: Path, kind: Kind) -> tuple[Any, dict[str, Any]]:
    try:
        # Not all who simulate read such files, and pvlib brings much along.
        from pvlib import iotools  # noqa: PLC0415
    except ImportError as error:
        raise DocumentError(
            f"{path.name}: typical years are read by pvlib, which is not here: install coldberth[weather]"
        ) from error
    readers: dict[str, Callable[..., tuple[Any, dict[str, Any]]]] = {"tmy3": iotools.read_tmy3, "epw": iotools.read_epw}
    try:
        return readers[kind](str(path), coerce_year=None)
    except (ValueError, LookupError, TypeError, AttributeError, StopIteration) as error:
        # What pvlib and pandas raise on files of another kind.
        raise DocumentError(
            f"{path.name}: cannot be read as {kind}: {error!r}: is it of that kind, and whole?"
        ) from error


def _mistakes(table: Any, source: str, hours: int) -> list[str]:  # noqa: ANN401 - a pandas table, untyped
    wrong = []
    if hours not in _HOURS:
        wrong.append(f"{source}: {hours} different hours of a year are there; a typical year has 8760: get it whole")
    for column, name in _COLUMNS.items():
        low, high = SPANS[name]
        if column not in table:
            wrong.append(f"{source}: column {column} is missing: get a whole file")
            continue
        bad = [n for n, value in enumerate(table[column].tolist()) if not low <= value <= high]
        if bad:
            wrong.append(
                f"{source}: {column}: {len(bad)} hours hold no figure from {low:g} to {high:g}, the first of them hour "
                f"{bad[0] + 1}: get a file without holes"
            )
    return wrong


def _rain(table: Any, kind: Kind) -> list[float]:  # noqa: ANN401 - a pandas table, untyped
    if _RAIN_MM[kind] not in table:
        return [0.0] * len(table)
    told = zip(table[_RAIN_MM[kind]].tolist(), table[_RAIN_H[kind]].tolist(), strict=True)
    return [float(mm) if hours == 1 and 0 <= mm <= _MOST_RAIN_MM else 0.0 for mm, hours in told]


def _at_sea_level(table: Any, kind: Kind, height_m: float) -> list[float]:  # noqa: ANN401 - a pandas table, untyped
    # The standard atmosphere (ISO 2533) below 11 km; TMY3 has hPa, EPW Pa.
    share = (1 - 0.0065 * height_m / 288.15) ** 5.2559
    column, in_hpa = ("pressure", 1.0) if kind == "tmy3" else ("atmospheric_pressure", 0.01)
    return [value * in_hpa / share for value in table[column].tolist()]
