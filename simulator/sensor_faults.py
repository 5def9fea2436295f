"""What can be wrong with a sensor: each fault takes what the sensor would say and gives what it says instead.

Faults stack in the order of `place`: what befalls the element comes before what befalls the electronics, and what
befalls the wire comes last. One that draws by chance has a generator of its own: the sensor's noise stays what it was.
"""

from collections.abc import Callable
from math import exp
from random import Random
from typing import ClassVar, Protocol

DAY_MS = 86_400_000
HOUR_MS = 3_600_000

Degc = Callable[[], float]


class Fault(Protocol):
    """Something wrong with a sensor. The one with the lower place acts first."""

    place: ClassVar[int]

    def says(self, value: float, now_ms: int | None) -> float | None:
        """Give what is said instead of a value, None for nothing."""


class NoTimeError(ValueError):
    """A fault that goes by time was asked without one."""

    def __init__(self, what: str) -> None:
        super().__init__(f"{what} goes by time: give read() the time (now_ms)")


class Frost:
    """Frost, then melt water, on a humidity sensor.

    Iced, it says what air in balance with ice holds: the ratio of Buck's saturation pressures over ice and over water,
    100 % at 0 degC and 91 % at -10 degC. From the moment its place is above 0 degC it is wet: it says 100 %, and comes
    back to the air's humidity as ``exp(-t / dries_h)`` (*invented* time constant). Where it freezes again before it
    is dry, it is iced again.
    """

    place: ClassVar[int] = 0
    __slots__ = ("_degc", "_dries_ms", "_dry", "_thawed_ms")

    def __init__(self, from_ms: int, degc: Degc | None, dries_h: float) -> None:
        self._degc = degc
        self._dries_ms = dries_h * HOUR_MS
        self._dry = False
        self._thawed_ms: int | None = None if degc is not None else from_ms

    def says(self, value: float, now_ms: int | None) -> float:
        """Give the humidity at the element, %RH."""
        if now_ms is None:
            raise NoTimeError("frost")
        if self._dry:
            return value
        if self._degc is not None and (degc := self._degc()) < 0:
            self._thawed_ms = None
            return 100 * ice_to_water(degc)
        if self._thawed_ms is None:
            self._thawed_ms = now_ms
        wet = exp(-max(now_ms - self._thawed_ms, 0) / self._dries_ms)
        self._dry = wet < 0.002
        return value + (100 - value) * wet


def ice_to_water(degc: float) -> float:
    """Give the ratio of the saturation vapour pressures over ice and over water, -40 to 0 degC.

    ``611.15 exp((23.036 - t / 333.7) t / (279.82 + t))`` over ice, by ``611.21 exp((18.678 - t / 234.5) t / (257.14 +
    t))`` over water, t in degC: Buck 1981 in the form of his 1996 revision, as `simulator.vapour` has it over water.

    >>> round(ice_to_water(-10.0), 3)
    0.907
    """
    over_ice = (23.036 - degc / 333.7) * degc / (279.82 + degc)
    over_water = (18.678 - degc / 234.5) * degc / (257.14 + degc)
    return 611.15 / 611.21 * exp(over_ice - over_water)


class Drift:
    """An offset that grows by so much a day from a time on."""

    place: ClassVar[int] = 1
    __slots__ = ("_from_ms", "_per_day")

    def __init__(self, per_day: float, from_ms: int) -> None:
        self._per_day = per_day
        self._from_ms = from_ms

    def says(self, value: float, now_ms: int | None) -> float:
        """Add what it has drifted by now."""
        if now_ms is None:
            raise NoTimeError("drift")
        return value + self._per_day * max(now_ms - self._from_ms, 0) / DAY_MS


class Shift:
    """A fixed offset: a zero set wrong, a mount that slipped."""

    place: ClassVar[int] = 2
    __slots__ = ("by",)

    def __init__(self, by: float) -> None:
        self.by = by

    def says(self, value: float, _now_ms: int | None) -> float:
        """Add the offset."""
        return value + self.by


class Spikes:
    """Single false readings: off by a size either way, or anywhere between two ends where no size is given."""

    place: ClassVar[int] = 3
    __slots__ = ("_chance", "_high", "_low", "_random", "_size")

    def __init__(self, chance: float, size: float | None, ends: tuple[float, float], random: Random) -> None:
        self._chance = chance
        self._size = size
        self._low, self._high = ends
        self._random = random

    def says(self, value: float, _now_ms: int | None) -> float:
        """Give the value, or by chance a false one."""
        if self._random.random() >= self._chance:
            return value
        if self._size is None:
            return self._random.uniform(self._low, self._high)
        return value + self._random.choice((-self._size, self._size))


class Flips:
    """Single false readings of a switch: on where it is off, off where it is on."""

    place: ClassVar[int] = 3
    __slots__ = ("_chance", "_random")

    def __init__(self, chance: float, random: Random) -> None:
        self._chance = chance
        self._random = random

    def says(self, value: float, _now_ms: int | None) -> float:
        """Give the value, or by chance the other one."""
        return 1.0 - value if self._random.random() < self._chance else value


class Open:
    """A wire that is off: the input says what it floats at."""

    place: ClassVar[int] = 4
    __slots__ = ("_reads",)

    def __init__(self, reads: float) -> None:
        self._reads = reads

    def says(self, _value: float, _now_ms: int | None) -> float:
        """Give what an open input reads."""
        return self._reads


class Stuck:
    """One value for ever after; the first that comes where none is known."""

    place: ClassVar[int] = 5
    __slots__ = ("_at",)

    def __init__(self, at: float | None) -> None:
        self._at = at

    def says(self, value: float, _now_ms: int | None) -> float:
        """Give the value it is stuck at."""
        if self._at is None:
            self._at = value
        return self._at


class Losses:
    """A share of the readings gets lost on the way to the gateway."""

    place: ClassVar[int] = 6
    __slots__ = ("_random", "_share")

    def __init__(self, share: float, random: Random) -> None:
        self._share = share
        self._random = random

    def says(self, value: float, _now_ms: int | None) -> float | None:
        """Give the value, or by chance nothing."""
        return None if self._random.random() < self._share else value


class Dead:
    """A sensor that sends nothing."""

    place: ClassVar[int] = 7
    __slots__ = ()

    def says(self, _value: float, _now_ms: int | None) -> None:
        """Give nothing."""
