"""Sensors as they are: noise, errors of calibration and temperature, resolution, lost readings, and faults on demand.

Every sensor draws from its own seeded generator, so neither another boat nor another sensor changes what it says; and a
fault draws from one of its own, so that the noise is the same with it and without it.
"""

from collections.abc import Callable
from dataclasses import dataclass
from random import Random

from monitor.model.equipment import Sensor
from monitor.model.quantity import SPANS, Quantity
from simulator.sensor_faults import Dead, Degc, Drift, Fault, Flips, Frost, Losses, Open, Shift, Spikes, Stuck


@dataclass(frozen=True, slots=True)
class Make:
    """How good a kind of sensor is.

    Attributes:
        noise: standard deviation of one reading.
        bias: largest fixed error of calibration; each sensor has its own within it.
        decimals: digits after the point that it sends.
        per_k: largest error a kelvin away from 20 degC; each sensor has its own within it.
    """

    noise: float
    bias: float
    decimals: int
    per_k: float = 0.0


# Ordinary small sensors: common practice, no source. Each bias lies inside the error that a record assumes, and with it
# the error of temperature at -10 degC.
MAKES: dict[Quantity, Make] = {
    Quantity.TEMPERATURE: Make(0.1, 0.25, 1, 0.003),
    Quantity.HUMIDITY: Make(0.5, 1.5, 1, 0.04),
    Quantity.VOLTAGE: Make(0.008, 0.015, 2, 0.0004),
    Quantity.CURRENT: Make(0.02, 0.05, 2, 0.0015),
    Quantity.LEVEL: Make(0.003, 0.001, 3, 0.00005),
    Quantity.PRESSURE: Make(20.0, 100.0, 0, 1.5),
    Quantity.CELL: Make(0.005, 0.02, 2, 0.0005),
    Quantity.FLOAT_SWITCH: Make(0.0, 0.0, 0),
    Quantity.MAINS: Make(0.0, 0.0, 0),
}
# Share of readings that get lost on the way to the gateway; common practice, no source.
LOST = 0.001
CALIBRATED_AT_DEGC = 20.0
# Hours in which a wet humidity sensor loses 63 % of its error; invented.
DRIES_H = 3.0

Truth = Callable[[], float]


class Instrument:
    """One sensor: asks for the truth and says what it makes of it.

    Attributes:
        id: sensor id.
        unit: unit it sends.
        truth: gives what there is to measure, in its unit.
        place_degc: gives the temperature where it sits; without it, it has no error of temperature.
    """

    __slots__ = (
        "_bias",
        "_decimals",
        "_faults",
        "_gauss",
        "_high",
        "_is_switch",
        "_last",
        "_low",
        "_noise",
        "_per_k",
        "_random",
        "_source",
        "id",
        "place_degc",
        "truth",
        "unit",
    )

    def __init__(
        self, sensor: Sensor, truth: Truth, random: Random, place_degc: Degc | None = None, make: Make | None = None
    ) -> None:
        """Make one.

        Args:
            sensor: its line in the record.
            truth: see the attributes.
            random: its own generator.
            place_degc: see the attributes.
            make: how good it is, as its quantity's sensors usually are where None.
        """
        make = MAKES[sensor.quantity] if make is None else make
        span = SPANS[sensor.quantity]
        self.id = sensor.id
        self.unit = sensor.unit
        self._is_switch = sensor.quantity.is_switch
        self.truth = truth
        self.place_degc = place_degc
        self._noise = make.noise
        self._bias = random.uniform(-make.bias, make.bias)
        self._decimals = make.decimals
        self._low, self._high = span.low, span.high
        self._source = random
        self._random = random.random
        self._gauss = random.gauss
        self._per_k = self._generator("per kelvin").uniform(-make.per_k, make.per_k) if place_degc is not None else 0.0
        self._last: float | None = None
        self._faults: tuple[Fault, ...] = ()

    def read(self, now_ms: int | None = None) -> float | None:
        """Give a reading, None where it got lost. A sound switch is sent until it has been heard: it does not get lost.

        Args:
            now_ms: the time; only faults that go by time (`drift`, `frost`) have to be told it.
        """
        if self._noise and self._random() < LOST:
            return None
        value = self.truth()
        if self._noise:
            value += self._bias + self._gauss(0.0, self._noise)
            if self._per_k and self.place_degc is not None:
                value += self._per_k * (self.place_degc() - CALIBRATED_AT_DEGC)
        for fault in self._faults:
            said = fault.says(value, now_ms)
            if said is None:
                return None
            value = said
        if self._noise or self._faults:
            value = round(value, self._decimals)
            value = self._low if value < self._low else min(value, self._high)
        self._last = value
        return value

    @property
    def is_sound(self) -> bool:
        """Whether nothing is wrong with it."""
        return not self._faults

    def stick(self, at: float | None = None) -> None:
        """Say one value for ever after: the last one, or the one given (a float iced down: 0)."""
        if at is None and self._last is None:
            self.read()
        self._put(Stuck(self._last if at is None else at))

    def loosen(self) -> None:
        """Measure again."""
        self._take_off(Stuck)

    def drift(self, per_day: float, from_ms: int) -> None:
        """Drift by so much a day from a time on."""
        self._put(Drift(per_day, from_ms))

    def shift(self, by: float) -> None:
        """Have the zero shifted by hand; shifts add up."""
        self._put(Shift(by + sum(f.by for f in self._faults if isinstance(f, Shift))))

    def rezero(self, now_ms: int | None = None) -> None:
        """Have the zero set by hand at what there is now: it says 0 for it from now on. A drift goes on from there."""
        said = self.truth() + self._bias
        for fault in self._faults:
            if isinstance(fault, Drift):
                said = fault.says(said, now_ms)
        self._put(Shift(-said))

    def recalibrate(self) -> None:
        """Have drift and shifts put right by somebody who knows how."""
        self._take_off(Drift, Shift)

    def spike(self, chance: float, size: float | None = None) -> None:
        """Say single false readings, each with a chance: off by a size, or anywhere it can. A chance of 0 ends it."""
        self._take_off(Spikes, Flips)
        if chance > 0 and self._is_switch:
            self._put(Flips(chance, self._generator("spikes")))
        elif chance > 0:
            self._put(Spikes(chance, size, (self._low, self._high), self._generator("spikes")))

    def lose(self, share: float) -> None:
        """Lose a share of the readings, beside those that get lost anyway. A share of 0 ends it."""
        self._take_off(Losses)
        if share > 0:
            self._put(Losses(share, self._generator("losses")))

    def frost(self, from_ms: int, dries_h: float = DRIES_H) -> None:
        """Frost over (a humidity sensor): see `Frost`. It recovers by itself once its place is above 0 degC."""
        self._put(Frost(from_ms, self.place_degc, dries_h))

    def die(self) -> None:
        """Send nothing."""
        self._put(Dead())

    def revive(self) -> None:
        """Have a new cell put in."""
        self._take_off(Dead)

    def disconnect(self, reads: float | None = None) -> None:
        """Have its wire come off: the input reads the lowest it can, or the value given."""
        self._put(Open(self._low if reads is None else reads))

    def reconnect(self) -> None:
        """Have its wire put back."""
        self._take_off(Open)

    def replace(self) -> None:
        """Have everything put right that is wrong with it."""
        self._faults = ()

    def measure(self, truth: Truth, place_degc: Degc | None = None) -> None:
        """Be hung elsewhere: another truth, and another temperature of its place where one is given."""
        self.truth = truth
        if place_degc is not None:
            self.place_degc = place_degc

    def swap(self, other: "Instrument") -> None:
        """Be confused with another sensor: each goes by the other's name from now on. Twice puts it right."""
        self.truth, other.truth = other.truth, self.truth
        self.place_degc, other.place_degc = other.place_degc, self.place_degc

    def _put(self, fault: Fault) -> None:
        others = [f for f in self._faults if type(f) is not type(fault)]
        self._faults = tuple(sorted([*others, fault], key=lambda f: f.place))

    def _take_off(self, *kinds: type) -> None:
        self._faults = tuple(f for f in self._faults if not isinstance(f, kinds))

    def _generator(self, name: str) -> Random:
        """Give a generator for one purpose, seeded from a copy of our own: ours draws on as if it were not there."""
        twin = Random()
        twin.setstate(self._source.getstate())
        return Random(f"{twin.getrandbits(64)}/{name}")
