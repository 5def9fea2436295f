"""How warm a battery is, and how cold it has been and may become: acid lags behind the air, ice takes days to thaw."""

from dataclasses import dataclass, field

from monitor.model.surroundings import Forecast
from monitor.rules.battery_limits import LIMITS
from monitor.rules.rule import DAY_MS

_LAG_MS = LIMITS.ms("outside_lag")
_COLD_DAYS = int(LIMITS["cold_days"])
_MAYBE_ICE_DAYS = 2


@dataclass(slots=True)
class Warmth:
    """What is kept of one battery's temperature.

    Attributes:
        at_ms: when its thermometer was last heard, None where it never was.
        latest_degc: what it said.
        lagged_degc: the temperature of the acid, lagging behind it.
        coldest: lowest reading of each of the last days that were heard, as (day's number, degC), oldest first.
    """

    at_ms: int | None = None
    latest_degc: float = 0.0
    lagged_degc: float = 0.0
    coldest: list[tuple[int, float]] = field(default_factory=list)

    @property
    def coldest_degc(self) -> float | None:
        """Lowest reading of today and the day before, None where nothing was heard."""
        return min((t for _, t in self.coldest[-_MAYBE_ICE_DAYS:]), default=None)

    @property
    def coldest_lately_degc(self) -> float | None:
        """Lowest reading of the last days, None where nothing was heard."""
        return min((t for _, t in self.coldest), default=None)


def feel(warmth: Warmth, at_ms: int, t_degc: float, lag_ms: int) -> None:
    """Take a temperature in."""
    if warmth.at_ms is None:
        warmth.lagged_degc = t_degc
    else:
        passed = at_ms - warmth.at_ms
        warmth.lagged_degc += (t_degc - warmth.lagged_degc) * passed / (passed + lag_ms)
    day, coldest = at_ms // DAY_MS, warmth.coldest
    if coldest and coldest[-1][0] >= day:
        coldest[-1] = (coldest[-1][0], min(coldest[-1][1], t_degc))
    else:
        coldest.append((day, t_degc))
        del coldest[:-_COLD_DAYS]
    warmth.at_ms, warmth.latest_degc = at_ms, t_degc


def acid_ahead(warmth: Warmth, forecast: Forecast | None, now_ms: int) -> list[tuple[int, float]]:
    """Give what the acid comes to, hour by hour, by what is foretold of the outside air: empty without a forecast.

    From what it is now it follows the air half a day behind, as a battery in a closed space does.
    """
    if forecast is None or warmth.at_ms is None:
        return []
    acid, last_ms = warmth.lagged_degc, now_ms
    path = []
    for hour in forecast.hours:
        if hour.at_ms > now_ms:
            passed = hour.at_ms - last_ms
            acid += (hour.degc - acid) * passed / (passed + _LAG_MS)
            last_ms = hour.at_ms
            path.append((last_ms, acid))
    return path
