"""Outside air as it was, hour by hour of the day, and as it will be: by the forecast, else by the last days.

Without a forecast the coming days are taken to go as the last three did, hour by hour of the day, and what today is
colder or warmer by fades within a day. The hours are UTC: the sun knows no summer time.
"""

from bisect import bisect_right
from dataclasses import dataclass, field
from math import ceil, exp, sqrt

from monitor.model.surroundings import Forecast
from monitor.rules.frost_limits import LIMITS
from monitor.rules.rule import DAY_MS, HOUR_MS

FORECAST, CYCLE, SLOPE = "forecast", "daily cycle", "slope"
_DAY_H = 24
_BRIDGED_H = 6
_GAP_MS = LIMITS.ms("forecast_gap")
_LOST_MS = LIMITS.ms("outside_lost")
_CYCLE_DAYS = int(LIMITS["cycle_days"])
_FADES_H = LIMITS["cycle_fades"]
_CYCLE_ERROR_K = tuple(
    LIMITS["cycle_error"] * sqrt(1.0 - exp(-2.0 * ahead_h / LIMITS["cycle_memory"]))
    for ahead_h in range(ceil(LIMITS["farthest"]) + 4)
)
"""One standard error of a day's shape carried so many hours ahead: what a first-order spell leaves unknown, K."""
_FADED = tuple(exp(-ahead_h / _FADES_H) for ahead_h in range(len(_CYCLE_ERROR_K) + 1))


@dataclass(slots=True)
class Outside:
    """The outside thermometer's last word, and the shape of its last days. Bounded: an entry an hour of the day.

    Attributes:
        at_ms: when it spoke last, None before the first.
        degc: what it said.
        hour: whole hours since 1970 of the hour under way.
        total: sum of that hour's readings, degC.
        count: how many they are.
        means: mean by hour of the day (UTC) over the last days, None where not seen.
        days: how many days each mean holds.
    """

    at_ms: int | None = None
    degc: float = 0.0
    hour: int = 0
    total: float = 0.0
    count: int = 0
    means: list[float | None] = field(default_factory=lambda: [None] * _DAY_H)
    days: list[int] = field(default_factory=lambda: [0] * _DAY_H)

    def note(self, at_ms: int, degc: float) -> None:
        """Take a reading, in the order of its time."""
        hour = at_ms // HOUR_MS
        if self.at_ms is not None and at_ms - self.at_ms > _LOST_MS:
            self.means, self.days, self.count = [None] * _DAY_H, [0] * _DAY_H, 0
        if self.count and hour != self.hour:
            self._close(hour, degc)
        if not self.count:
            self.hour, self.total = hour, 0.0
        self.total, self.count = self.total + degc, self.count + 1
        self.at_ms, self.degc = at_ms, degc

    def _close(self, hour: int, degc: float) -> None:
        mean = self.total / self.count
        missed = hour - self.hour
        for ahead in range(missed if missed <= _BRIDGED_H else 1):
            self._take((self.hour + ahead) % _DAY_H, mean + (degc - mean) * ahead / missed)
        self.count = 0

    def _take(self, hour: int, degc: float) -> None:
        known = self.means[hour]
        days = self.days[hour] = min(self.days[hour] + 1, _CYCLE_DAYS)
        self.means[hour] = degc if known is None else known + (degc - known) / days

    def cycle(self, now_ms: int) -> list[float] | None:
        """Give the day's shape, degC by hour of the day (UTC), None before a whole day has been seen or after a gap."""
        if self.at_ms is None or now_ms - self.at_ms > _LOST_MS:
            return None
        seen = [mean for mean in self.means if mean is not None]
        return seen if len(seen) == _DAY_H else None

    def is_fresh(self, now_ms: int, stale_ms: int) -> bool:
        """Whether its last word may stand for now."""
        return self.at_ms is not None and now_ms - self.at_ms <= stale_ms


@dataclass(frozen=True, slots=True)
class Ahead:
    """Outside air from now on: hours ahead (0 first), degC, and one standard error of it, K."""

    by: str
    hours: list[float]
    degc: list[float]
    error_k: list[float]


class Foretold:
    """A forecast laid out for looking up; made once for each forecast that comes."""

    def __init__(self, forecast: Forecast) -> None:
        self.came_ms = forecast.came_ms
        self.at_ms = [hour.at_ms for hour in forecast.hours]
        self.degc = [hour.degc for hour in forecast.hours]
        # The last index that can be reached from each without a gap too long.
        self.unbroken = list(range(len(self.at_ms)))
        for n in range(len(self.at_ms) - 2, -1, -1):
            if self.at_ms[n + 1] - self.at_ms[n] <= _GAP_MS:
                self.unbroken[n] = self.unbroken[n + 1]

    def span(self, now_ms: int) -> tuple[int, int] | None:
        """Give the first index after now and the last that hangs together with it; None where it says nothing of now.

        It may begin a little after now: from now to there a straight line is taken.
        """
        first = bisect_right(self.at_ms, now_ms)
        if first == len(self.at_ms):
            return None
        before = self.at_ms[first - 1] if first else now_ms
        return (first, self.unbroken[first]) if self.at_ms[first] - before <= _GAP_MS else None

    def next_ms(self, now_ms: int) -> int | None:
        """Give the next time that it speaks of, None past its end."""
        first = bisect_right(self.at_ms, now_ms)
        return self.at_ms[first] if first < len(self.at_ms) else None

    def at(self, first: int, at_ms: int) -> float | None:
        """Give the air foretold for a time that lies before the index ``first``, None before the forecast begins."""
        if first == 0:
            return None
        a_ms, b_ms = self.at_ms[first - 1], self.at_ms[first]
        return self.degc[first - 1] + (self.degc[first] - self.degc[first - 1]) * (at_ms - a_ms) / (b_ms - a_ms)

    def error_k(self, at_ms: int) -> float:
        """Give one standard error for a time: it grows from the time the forecast came."""
        days = max(at_ms - self.came_ms, 0) / DAY_MS
        return LIMITS["forecast_error"] + LIMITS["forecast_error_grows"] * days


def coldest_ahead(outside: Outside, foretold: Foretold | None, now_ms: int) -> float | None:
    """Give a figure that outside air, its error included, does not go below: a cheap bound on all of `air_ahead`.

    Returns:
        degC; None where neither a forecast nor the last days say anything.
    """
    floors = []
    span = None if foretold is None else foretold.span(now_ms)
    if foretold is not None and span is not None:
        first, last = span
        around = foretold.degc[max(first - 1, 0) : first + 1]
        apart = 0.0 if outside.at_ms is None else min(outside.degc - max(around), 0.0)
        lowest = min(around + foretold.degc[first : last + 1])
        floors.append(lowest + apart - LIMITS["range"] * foretold.error_k(foretold.at_ms[last]))
    cycle = outside.cycle(now_ms)
    if cycle is not None:
        apart = min(outside.degc - cycle[_hour_of_day(outside, now_ms)], 0.0)
        floors.append(min(cycle) + apart - LIMITS["range"] * LIMITS["cycle_error"])
    return min(floors, default=None)


def air_ahead(
    outside: Outside, foretold: Foretold | None, now_ms: int, *, farthest_h: float, stale_ms: int
) -> Ahead | None:
    """Foretell outside air from now on.

    Args:
        outside: what the thermometer said.
        foretold: the forecast, None where there is none.
        now_ms: now, ms UTC.
        farthest_h: how far to look, h.
        stale_ms: how old the thermometer's last word may be to stand for now.

    Returns:
        The air as far as the forecast goes, and by the last days from there; None where neither says anything.
    """
    now_degc = outside.degc if outside.is_fresh(now_ms, stale_ms) else None
    cycle = outside.cycle(now_ms)
    ahead = None if foretold is None else _by_forecast(foretold, now_degc, now_ms, farthest_h)
    if ahead is None:
        return None if cycle is None else _by_cycle(outside, cycle, now_degc, now_ms, farthest_h)
    if cycle is not None and ahead.hours[-1] < farthest_h:
        _go_on_by_cycle(ahead, cycle, now_ms, farthest_h)
    return ahead


def _by_forecast(foretold: Foretold, now_degc: float | None, now_ms: int, farthest_h: float) -> Ahead | None:
    span = foretold.span(now_ms)
    if span is None:
        return None
    first, last = span
    said_degc = foretold.at(first, now_ms)
    start = said_degc if now_degc is None else now_degc
    if start is None:
        return None
    apart = 0.0 if said_degc is None or now_degc is None else now_degc - said_degc
    fades = LIMITS["offset_fades"]
    hours, degc, error_k = [0.0], [start], [foretold.error_k(now_ms) if now_degc is None else 0.0]
    for at_ms, said in zip(foretold.at_ms[first : last + 1], foretold.degc[first : last + 1], strict=True):
        ahead_h = (at_ms - now_ms) / HOUR_MS
        if hours[-1] >= farthest_h:
            break
        hours.append(ahead_h)
        degc.append(said + apart * exp(-ahead_h / fades))
        error_k.append(foretold.error_k(at_ms))
    return Ahead(FORECAST, hours, degc, error_k)


def _by_cycle(outside: Outside, cycle: list[float], now_degc: float | None, now_ms: int, farthest_h: float) -> Ahead:
    usual = cycle[_hour_of_day(outside, now_ms)]
    if now_degc is None:
        ahead = Ahead(CYCLE, [0.0], [usual], [LIMITS["cycle_error"]])
    else:
        ahead = Ahead(CYCLE, [0.0], [now_degc], [0.0])
    _go_on(ahead, cycle, ahead.degc[0] - usual, now_ms, farthest_h)
    return ahead


def _go_on_by_cycle(ahead: Ahead, cycle: list[float], now_ms: int, farthest_h: float) -> None:
    end_ms = now_ms + round(ahead.hours[-1] * HOUR_MS)
    _go_on(ahead, cycle, ahead.degc[-1] - cycle[end_ms // HOUR_MS % _DAY_H], now_ms, farthest_h)


def _go_on(ahead: Ahead, cycle: list[float], apart: float, now_ms: int, farthest_h: float) -> None:
    """Go on from where the air ends; what it stands apart from the day's shape there fades.

    Hour by hour for a day, then every second hour: past the first night a minimum between two points is missed by 0.2 K
    at most, where the estimate itself is some kelvin wide.
    """
    begin_h, least_k = ahead.hours[-1], ahead.error_k[-1]
    if begin_h >= farthest_h:
        return
    hour = (now_ms + round(begin_h * HOUR_MS)) // HOUR_MS + (1 if begin_h < _DAY_H else 2)
    first_h = (hour * HOUR_MS - now_ms) / HOUR_MS
    last = ceil(farthest_h - first_h)
    singly = min(ceil(max(_DAY_H - first_h, 0.0)), max(last, 0))
    ons = [*range(singly + 1), *range(singly + 2, last + 2, 2)]
    left_k = apart * exp((begin_h - first_h) / _FADES_H)
    errors = ceil(first_h)
    ahead.hours.extend([first_h + on for on in ons])
    ahead.degc.extend([cycle[(hour + on) % _DAY_H] + left_k * _FADED[on] for on in ons])
    known_k = [_CYCLE_ERROR_K[errors + on] for on in ons]
    ahead.error_k.extend([max(error_k, least_k) for error_k in known_k])


def _hour_of_day(outside: Outside, now_ms: int) -> int:
    return (now_ms if outside.at_ms is None else outside.at_ms) // HOUR_MS % _DAY_H
