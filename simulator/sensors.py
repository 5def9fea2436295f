"""Sensors as they are: noise, a fixed error of calibration, resolution, dropouts, and values that stick.

Every sensor draws from its own seeded generator, so neither another boat nor another sensor changes what it says.
"""

from collections.abc import Callable
from dataclasses import dataclass
from random import Random

from monitor.model.equipment import Sensor
from monitor.model.quantity import SPANS, Quantity


@dataclass(frozen=True, slots=True)
class Make:
    """How good a kind of sensor is.

    Attributes:
        noise: standard deviation of one reading.
        bias: largest fixed error of calibration; each sensor has its own within it.
        decimals: digits after the point that it sends.
    """

    noise: float
    bias: float
    decimals: int


# Ordinary small sensors: common practice, no source. Each bias lies inside the error that a record assumes.
MAKES: dict[Quantity, Make] = {
    Quantity.TEMPERATURE: Make(0.1, 0.25, 1),
    Quantity.HUMIDITY: Make(0.5, 1.5, 1),
    Quantity.VOLTAGE: Make(0.008, 0.015, 2),
    Quantity.CURRENT: Make(0.02, 0.05, 2),
    Quantity.LEVEL: Make(0.003, 0.001, 3),
    Quantity.PRESSURE: Make(20.0, 100.0, 0),
    Quantity.CELL: Make(0.005, 0.02, 2),
    Quantity.FLOAT_SWITCH: Make(0.0, 0.0, 0),
    Quantity.MAINS: Make(0.0, 0.0, 0),
}
# Share of readings that get lost on the way to the gateway; common practice, no source.
LOST = 0.001

Truth = Callable[[], float]


class Instrument:
    """One sensor: asks for the truth and says what it makes of it.

    Attributes:
        id: sensor id.
        unit: unit it sends.
    """

    __slots__ = (
        "_bias",
        "_decimals",
        "_gauss",
        "_high",
        "_last",
        "_low",
        "_noise",
        "_random",
        "_stuck",
        "_truth",
        "id",
        "unit",
    )

    def __init__(self, sensor: Sensor, truth: Truth, random: Random) -> None:
        make = MAKES[sensor.quantity]
        span = SPANS[sensor.quantity]
        self.id = sensor.id
        self.unit = sensor.unit
        self._truth = truth
        self._noise = make.noise
        self._bias = random.uniform(-make.bias, make.bias)
        self._decimals = make.decimals
        self._low, self._high = span.low, span.high
        self._random = random.random
        self._gauss = random.gauss
        self._last: float | None = None
        self._stuck = False

    def read(self) -> float | None:
        """Give a reading, None where it got lost. A switch is sent until it has been heard: it does not get lost."""
        if self._noise and self._random() < LOST:
            return None
        if self._stuck and self._last is not None:
            return self._last
        value = self._truth()
        if self._noise:
            value = round(value + self._bias + self._gauss(0.0, self._noise), self._decimals)
            value = self._low if value < self._low else min(value, self._high)
        self._last = value
        return value

    def stick(self) -> None:
        """Say the last value for ever after."""
        self._stuck = True
        if self._last is None:
            self.read()

    def loosen(self) -> None:
        """Measure again."""
        self._stuck = False
