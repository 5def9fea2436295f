"""Hourly weather from a CSV file: read whole, every mistake told at once, short gaps filled.

Columns, in any order (UTC offsets are needed in the times, since a winter has no use for guessed ones):

| column | unit | |
|---|---|---|
| ``time`` | ISO 8601 with its offset, such as ``2026-01-31T06:00Z``; rising | needed |
| ``outside_degc`` | degC | needed |
| ``dew_point_degc`` or ``humidity_percent`` | degC; % | one is needed |
| ``wind_m_s`` | m/s, mean wind | else 4 m/s |
| ``rain_mm`` | mm of water since the row before, an hour at most | else none |
| ``sun_w_m2`` | W/m2 on a level square metre | else none, or estimated |
| ``pressure_hpa`` | hPa at sea level | else 1018.4 hPa |

Lines that begin with ``#`` are comments; an empty cell was not observed.
"""

from pathlib import Path

from monitor.model.document import DocumentError
from simulator.hours import HOUR_MS, Hour, Weather
from simulator.humidity import Over, dew_from_dew_degc, dew_from_humidity_degc
from simulator.sun import JFK, Place, with_estimated_sun
from simulator.weather_rows import Rows, Series

JFK_2013 = Path(__file__).parent / "data" / "jfk-2013-winter.csv"

# Sea-level pressure where the record has none: the mean of the rows that have one in the shipped winter.
USUAL_PRESSURE_HPA = 1018.4
# A light breeze where the record has no wind; invented.
USUAL_WIND_M_S = 4.0
# A day and a night with what lies between: the shipped winter lacks one whole day.
LONGEST_GAP_H = 36


def load(path: Path = JFK_2013, place: Place = JFK) -> Weather:
    """Load the shipped winter, or a file like it; sun that the file lacks is estimated for the place."""
    return read_csv(path, place=place)


def read_csv(
    path: Path, over: Over = Over.WATER, longest_gap_h: float = LONGEST_GAP_H, place: Place | None = None
) -> Weather:
    """Read weather from a CSV file.

    Args:
        path: the file; its columns are those named above.
        over: what its humidity or dew point below zero is stated over.
        longest_gap_h: gaps up to this are filled in a straight line, dry.
        place: where it was recorded: sun that the file lacks is then estimated.

    Raises:
        DocumentError: with every mistake: file, line, column, what is wrong and what to do.
    """
    rows = Rows.read(path)
    columns = rows.series
    wrong = rows.mistakes
    if not wrong:
        # No rain told is no rain, and nothing depends on the pressure strongly.
        told = [series for name, series in columns.items() if name not in {"rain_mm", "pressure_hpa"}]
        wrong = [line for series in told for line in series.gaps(rows.source, longest_gap_h, rows.times)]
    if wrong:
        raise DocumentError("\n".join(wrong))
    # -(-a // b) rounds up: the first whole hour that the rows reach.
    from_ms = -(-rows.times[0] // HOUR_MS) * HOUR_MS
    at_ms = range(from_ms, rows.times[-1] + 1, HOUR_MS)
    degc = columns["outside_degc"].at(at_ms)
    if "dew_point_degc" in columns:
        dew = [dew_from_dew_degc(d, over) for d in columns["dew_point_degc"].at(at_ms)]
    else:
        humidity = columns["humidity_percent"].at(at_ms)
        dew = [dew_from_humidity_degc(t, rh, over) for t, rh in zip(degc, humidity, strict=True)]
    hours = zip(
        at_ms,
        degc,
        # Rounding may lift a dew point just above its air.
        map(min, dew, degc),
        _or_usual(columns.get("wind_m_s"), at_ms, USUAL_WIND_M_S),
        rows.rain(at_ms),
        _or_usual(columns.get("pressure_hpa"), at_ms, USUAL_PRESSURE_HPA),
        _or_usual(columns.get("sun_w_m2"), at_ms, 0.0),
        strict=True,
    )
    weather = Weather([Hour(*hour) for hour in hours])
    return with_estimated_sun(weather, place) if place and "sun_w_m2" not in columns else weather


def _or_usual(series: Series | None, at_ms: range, usual: float) -> list[float]:
    return [usual] * len(at_ms) if series is None or not series.times else series.at(at_ms)
