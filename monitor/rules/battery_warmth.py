"""How warm a battery is, and how cold it has been: acid lags behind the air, and ice takes days to thaw."""

from dataclasses import dataclass

from monitor.rules.rule import DAY_MS


@dataclass(slots=True)
class Warmth:
    """What is kept of one battery's temperature.

    Attributes:
        at_ms: when its thermometer was last heard, None where it never was.
        lagged_degc: the temperature of the acid, lagging behind it.
        day: number of the day under way.
        coldest_today, coldest_before: lowest reading of that day and of the heard day before it.
    """

    at_ms: int | None = None
    lagged_degc: float = 0.0
    day: int = 0
    coldest_today: float = 0.0
    coldest_before: float = 0.0

    @property
    def coldest_degc(self) -> float | None:
        """Lowest reading of today and the day before, None where nothing was heard."""
        return None if self.at_ms is None else min(self.coldest_today, self.coldest_before)


def feel(warmth: Warmth, at_ms: int, t_degc: float, lag_ms: int) -> None:
    """Take a temperature in."""
    day = at_ms // DAY_MS
    if warmth.at_ms is None:
        warmth.lagged_degc = warmth.coldest_today = warmth.coldest_before = t_degc
    else:
        passed = at_ms - warmth.at_ms
        warmth.lagged_degc += (t_degc - warmth.lagged_degc) * passed / (passed + lag_ms)
        if day != warmth.day:
            warmth.coldest_before, warmth.coldest_today = warmth.coldest_today, t_degc
        else:
            warmth.coldest_today = min(warmth.coldest_today, t_degc)
    warmth.at_ms, warmth.day = at_ms, day
