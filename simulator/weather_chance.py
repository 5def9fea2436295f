"""Chance that remembers: what made-up weather wanders by, hour after hour."""

from dataclasses import dataclass
from math import cos, erfc, exp, gamma, log, pi, sin, sqrt
from random import Random


@dataclass(slots=True)
class Wander:
    """A first-order autoregressive process, hourly: mean 0, a standard deviation, a memory in hours."""

    deviation: float
    memory_h: float
    random: Random
    value: float = 0.0
    _keep: float = 0.0
    _kick: float = 0.0

    def __post_init__(self) -> None:
        self._keep = exp(-1 / self.memory_h)
        self._kick = self.deviation * sqrt(1 - self._keep * self._keep)
        self.value = self.random.gauss(0, self.deviation)

    def step(self) -> float:
        """Go on by an hour."""
        self.value = self._keep * self.value + self._kick * self.random.gauss(0, 1)
        return self.value


class SmoothWander:
    """A wander that is followed with a lag, so that it turns instead of jumping; its deviation is what is followed."""

    __slots__ = ("_follow", "_led", "value")

    def __init__(self, deviation: float, memory_h: float, lag_h: float, random: Random) -> None:
        a, b = exp(-1 / memory_h), exp(-1 / lag_h)
        # The variance of an autoregressive process after an exponential lag: (1 - b)(1 + ab) / ((1 + b)(1 - ab)).
        self._led = Wander(deviation / sqrt((1 - b) * (1 + a * b) / ((1 + b) * (1 - a * b))), memory_h, random)
        self._follow = 1 - b
        self.value = 0.0
        for _ in range(round(4 * lag_h)):
            self.step()

    def step(self) -> float:
        """Go on by an hour."""
        self.value += self._follow * (self._led.step() - self.value)
        return self.value


class Gales:
    """Gales that come by chance, rise and die away; their peaks have an exponential tail."""

    __slots__ = ("_begins_h", "_ends_h", "_every_h", "_h", "_last_h", "_peak", "_peak_m_s", "_random")

    def __init__(self, a_month: float, peak_m_s: float, last_h: float, random: Random) -> None:
        self._every_h, self._peak_m_s, self._last_h, self._random = 720.0 / a_month, peak_m_s, last_h, random
        self._h = 0.0
        self._next()

    def _next(self) -> None:
        random = self._random
        self._begins_h = self._h + random.expovariate(1 / self._every_h)
        self._ends_h = self._begins_h + self._last_h * random.uniform(0.6, 1.6)
        self._peak = self._peak_m_s * (0.5 + random.expovariate(2.0))

    def step(self) -> tuple[float, float]:
        """Go on by an hour: how far the gale is up (0 to 1), and what it adds to the wind, m/s."""
        self._h += 1
        if self._h < self._begins_h:
            return 0.0, 0.0
        if self._h >= self._ends_h:
            self._next()
            return 0.0, 0.0
        up = sin(pi * (self._h - self._begins_h) / (self._ends_h - self._begins_h)) ** 2
        return up, up * self._peak


def weibull(deviate: float, mean: float, shape: float) -> float:
    """Give the wind that is as rare in a Weibull distribution as a deviate is in the normal one.

    ``w = mean / Gamma(1 + 1/k) (-ln(1 - Phi(z)))^(1/k)``. Hourly winds are Weibull, with shapes of 1.5 to 2.5 (Justus,
    Hargraves, Mikhail and Graber, *Methods for estimating wind speed frequency distributions*, J. Appl. Meteorol. 17,
    1978).
    """
    rarer = max(0.5 * erfc(deviate / sqrt(2)), 1e-9)
    return mean / gamma(1 + 1 / shape) * float((-log(rarer)) ** (1 / shape))


# What the sun makes of the 24 hours, by the sun's time: warmest past one, coldest before dawn. Harmonics of the shipped
# winter: 1.8 K at 14.3 h and 0.55 K at 12 h.
_FIRST_H, _SECOND_H, _SECOND = 14.3, 12.0, 0.3
DAY_SHAPE = tuple(
    cos(2 * pi * (n / 4 - _FIRST_H) / 24) + _SECOND * cos(2 * pi * (n / 4 - _SECOND_H) / 12) for n in range(96)
)


def day_shape(sun_h: float) -> float:
    """Give how warm an hour of the day is beside the day's mean, -1.1 to 1.2 of the half swing; to a quarter hour."""
    return DAY_SHAPE[int(sun_h * 4) % 96]
