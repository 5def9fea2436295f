"""Forecasts of the outside air, made from the true weather with an error that grows with the lead.

The error's size: the weather service of the United Kingdom (Met Office, *Accuracy performance* of its public
forecasts, 36-month averages) found 95.1 % of its three-hourly temperatures of the current day, and 86.5 % of the minima
of the first night, within 2 K. For normal errors these are 1.02 K and 1.34 K; `Forecasts` has 1.05 K at 12 h and 1.40 K
at 24 h. Beyond the second day, and how long errors hold, from memory.
"""

from math import exp, sqrt
from random import Random

from simulator.hours import HOUR_MS, Weather

# An error lasts about as long as the weather that was foretold wrongly, and much of it stands in the next forecast.
ERROR_LASTS_H = 12.0
KEPT_BY_THE_NEXT = 0.7
# So many forecasts back a mistake is still made; what is left of it then is 0.7^5, a sixth.
STANDS_FOR = 5


class Forecasts:
    """All forecasts of one winter. They are the same for the same seed, in whatever order they are asked for.

    Attributes:
        every_h: they are issued at whole multiples of this, in UTC.
        reach_h: how far they look.
    """

    def __init__(
        self,
        weather: Weather,
        seed: int,
        every_h: int = 6,
        reach_h: int = 72,
        error_k_at_start: float = 0.7,
        error_k_per_day: float = 0.7,
    ) -> None:
        if not (1 <= every_h <= 24 and 24 % every_h == 0):
            raise ValueError(f"every_h is {every_h} h; it must divide a day")
        if not every_h <= reach_h <= 240:
            raise ValueError(f"reach_h is {reach_h} h; it must lie in every_h ({every_h}) to 240 h")
        if not (0 <= error_k_at_start <= 10 and 0 <= error_k_per_day <= 10):
            raise ValueError(
                f"errors are {error_k_at_start} K and {error_k_per_day} K a day; they must lie in 0 to 10 K"
            )
        self.every_h, self.reach_h = every_h, reach_h
        self._weather, self._seed = weather, seed
        self._error_k = [error_k_at_start + error_k_per_day * lead / 24 for lead in range(reach_h + 1)]
        weights = [KEPT_BY_THE_NEXT**k for k in range(STANDS_FOR)]
        norm = sqrt(sum(w * w for w in weights))
        self._weights = [w / norm for w in weights]
        self._drawn: dict[int, list[float]] = {}

    def times(self, from_ms: int, to_ms: int) -> list[int]:
        """Give the times, ms UTC, at which forecasts are issued from one time to another, both included."""
        every_ms = self.every_h * HOUR_MS
        first = -(-max(from_ms, self._weather.from_ms) // every_ms)
        last = min(to_ms, self._weather.to_ms) // every_ms
        return [n * every_ms for n in range(first, last + 1)]

    def issued(self, at_ms: int) -> list[tuple[int, float]]:
        """Give the newest forecast there is at a time.

        Returns:
            (time ms UTC, degC to a tenth) for each hour from its issue on, as far as it and the weather reach.

        Raises:
            ValueError: none has been issued yet, or the weather is over.
        """
        number = at_ms // (self.every_h * HOUR_MS)
        issue_ms = number * self.every_h * HOUR_MS
        weather = self._weather
        if not weather.from_ms <= issue_ms <= at_ms <= weather.to_ms:
            raise ValueError(
                f"no forecast at {at_ms} ms: the weather lasts from {weather.from_ms} to {weather.to_ms} ms"
            )
        # Whole hours UTC fall on the weather's own hours, or between them where those do not.
        found = []
        standing = [(w, self._errors(number - k), k * self.every_h) for k, w in enumerate(self._weights)]
        for lead in range(self.reach_h + 1):
            then_ms = issue_ms + lead * HOUR_MS
            if then_ms > weather.to_ms:
                break
            error = 0.0
            for weight, errors, older_h in standing:
                error += weight * errors[lead + older_h]
            found.append((then_ms, round(weather.at(then_ms).outside_degc + self._error_k[lead] * error, 1)))
        return found

    def _errors(self, number: int) -> list[float]:
        """Give what a forecast gets newly wrong, hour by hour from its issue on: mean 0, deviation 1."""
        drawn = self._drawn.get(number)
        if drawn is None:
            random = Random(f"forecast/{self._seed}/{number}")
            keep = exp(-1 / ERROR_LASTS_H)
            kick = sqrt(1 - keep * keep)
            error = random.gauss(0, 1)
            drawn = [error]
            for _ in range(self.reach_h + STANDS_FOR * self.every_h):
                error = keep * error + kick * random.gauss(0, 1)
                drawn.append(error)
            if len(self._drawn) > 2 * STANDS_FOR:
                self._drawn.clear()
            self._drawn[number] = drawn
        return drawn
