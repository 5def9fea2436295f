"""What goes wrong with a sensor."""

from typing import Annotated, ClassVar, Literal

from pydantic import Field

from monitor.model.quantity import Quantity
from monitor.model.scale import Priority
from monitor.model.vessel import Vessel
from simulator.boat import Boat
from simulator.faults.fault import FaultPlan, ways_of
from simulator.truth import Explains


class SensorFault(FaultPlan):
    """Something wrong with a sensor, the subject."""

    expected_rules: ClassVar[tuple[str, ...]] = ("silence",)

    def explains(self, record: Vessel) -> tuple[Explains, ...]:
        """It explains that the sensor is not heard or believed, or that one of its kind disagrees; nothing of the boat.

        A float or level that cannot be believed may be called *water or bad sensor*.
        """
        sensor = record.sensor(self.subject)
        is_water = sensor is not None and sensor.quantity in {Quantity.LEVEL, Quantity.FLOAT_SWITCH}
        doubted = (Explains("bilge", most=Priority.WARNING),) if is_water else ()
        beside = {s.id for s in record.sensors if sensor is not None and s.quantity is sensor.quantity}
        return (*(Explains("silence", s) for s in sorted(beside | {self.subject})), *doubted)

    @classmethod
    def ways(cls, record: Vessel) -> list[dict[str, str]]:
        """It is any sensor that measures: a switch is no measure."""
        return ways_of(s.id for s in record.sensors if not s.quantity.is_switch)


class SensorSticks(SensorFault):
    """A sensor says its last value for ever after."""

    kind: Literal["sensor sticks"]

    def begin(self, boat: Boat) -> None:
        """Stick."""
        boat.instruments[self.subject].stick()

    def end(self, boat: Boat) -> None:
        """Come loose."""
        boat.instruments[self.subject].loosen()

    @classmethod
    def ways(cls, record: Vessel) -> list[dict[str, str]]:
        """It is a sensor whose value moves: a dry bilge is flat and healthy, and so is a switch."""
        still = {Quantity.LEVEL, Quantity.FLOAT_SWITCH, Quantity.MAINS}
        return ways_of(s.id for s in record.sensors if s.quantity not in still)


class SensorDies(SensorFault):
    """A sensor sends nothing any more."""

    kind: Literal["sensor dies"]

    def begin(self, boat: Boat) -> None:
        """Die."""
        boat.instruments[self.subject].die()

    def end(self, boat: Boat) -> None:
        """Have a new cell."""
        boat.instruments[self.subject].revive()

    @classmethod
    def ways(cls, record: Vessel) -> list[dict[str, str]]:
        """It is any sensor."""
        return ways_of(s.id for s in record.sensors)


class SensorDrifts(SensorFault):
    """A thermometer or humidity sensor drifts by so much a day, in its unit."""

    kind: Literal["sensor drifts"]
    per_day: float

    def begin(self, boat: Boat) -> None:
        """Drift."""
        boat.instruments[self.subject].drift(self.per_day, boat.now_ms)

    def end(self, boat: Boat) -> None:
        """Be put right."""
        boat.instruments[self.subject].recalibrate()

    @classmethod
    def ways(cls, record: Vessel) -> list[dict[str, str]]:
        """It is a thermometer or a humidity sensor."""
        drifting = {Quantity.TEMPERATURE, Quantity.HUMIDITY}
        return ways_of(s.id for s in record.sensors if s.quantity in drifting)


class SensorSpikes(SensorFault):
    """A sensor says single false readings, a share of all; a switch says the other position."""

    kind: Literal["sensor spikes"]
    share: Annotated[float, Field(gt=0, le=0.5)] = 0.01

    def begin(self, boat: Boat) -> None:
        """Spike."""
        boat.instruments[self.subject].spike(self.share)

    def end(self, boat: Boat) -> None:
        """Spike no more."""
        boat.instruments[self.subject].spike(0.0)


class ReadingsLost(SensorFault):
    """A share of a sensor's readings gets lost."""

    kind: Literal["readings lost"]
    share: Annotated[float, Field(gt=0, le=1)] = 0.3

    def begin(self, boat: Boat) -> None:
        """Lose them."""
        boat.instruments[self.subject].lose(self.share)

    def end(self, boat: Boat) -> None:
        """Lose none."""
        boat.instruments[self.subject].lose(0.0)


class HumidityFrosted(SensorFault):
    """Frost forms on a humidity sensor, and melt water keeps it wet for hours after."""

    kind: Literal["humidity sensor frosted"]

    def begin(self, boat: Boat) -> None:
        """Frost over."""
        boat.instruments[self.subject].frost(boat.now_ms)

    @classmethod
    def ways(cls, record: Vessel) -> list[dict[str, str]]:
        """It is a humidity sensor."""
        return ways_of(s.id for s in record.sensors if s.quantity is Quantity.HUMIDITY)


class SensorsSwapped(SensorFault):
    """Two thermometers or humidity sensors of two boats were put back each on the other boat."""

    kind: Literal["sensors swapped between boats"]
    other: str

    @property
    def other_vessel(self) -> str | None:
        """The boat whose sensor it is."""
        return self.other

    def begin(self, boat: Boat) -> None:
        """Hear the other boat's sensor."""
        boat.swapped[self.subject] = boat.instruments[self.subject].truth
        boat.instruments[self.subject].truth = boat.neighbours[self.other].instruments[self.subject].truth

    def end(self, boat: Boat) -> None:
        """Swap back."""
        boat.instruments[self.subject].truth = boat.swapped.pop(self.subject)

    @classmethod
    def ways(cls, record: Vessel) -> list[dict[str, str]]:
        """It is a sensor that every boat has."""
        return ways_of(i for i in ("cabin", "cabin-humidity", "engine-space") if record.sensor(i) is not None)
