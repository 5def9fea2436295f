"""The forecast as it was heard, as a band into the time to come. Its error is the frost rule's own."""

from bisect import bisect_right
from collections.abc import Sequence

from monitor.charts.panel import Band, Point
from monitor.model.surroundings import Forecast, ForecastHour
from monitor.rules.frost_limits import LIMITS

HOUR_MS, DAY_MS = 3_600_000, 86_400_000
NAME = "outside air"


def foretold_band(forecast: Forecast, now_ms: int, to_ms: int) -> Band | None:
    """Give what is foretold of outside air from now to the end of an axis, one standard error to either side.

    Args:
        forecast: the forecast that came last.
        now_ms: the time now, ms UTC.
        to_ms: end of the axis.

    Returns:
        The band, None where nothing is foretold of that time.
    """
    begin, end = max(now_ms, forecast.hours[0].at_ms), min(to_ms, forecast.hours[-1].at_ms)
    if begin >= end:
        return None
    inside = [hour.at_ms for hour in forecast.hours if begin < hour.at_ms < end]
    points = []
    for at_ms in (begin, *inside, end):
        degc, error = _at(forecast.hours, at_ms), _error_k(forecast, at_ms)
        points.append(Point(at_ms, degc, degc - error, degc + error))
    return Band(NAME, points, forecast.came_ms)


def _error_k(forecast: Forecast, at_ms: int) -> float:
    """Give how far off a forecast may be: the frost rule's own error, more with each day since it came."""
    days = max(at_ms - forecast.came_ms, 0) / DAY_MS
    return LIMITS["range"] * (LIMITS["forecast_error"] + LIMITS["forecast_error_grows"] * days)


def _at(hours: Sequence[ForecastHour], at_ms: int) -> float:
    """Give what is foretold for a time between two of its hours."""
    after = min(bisect_right(hours, at_ms, key=lambda hour: hour.at_ms), len(hours) - 1)
    one, two = hours[max(after - 1, 0)], hours[after]
    if two.at_ms == one.at_ms:
        return one.degc
    return one.degc + (two.degc - one.degc) * (at_ms - one.at_ms) / (two.at_ms - one.at_ms)
