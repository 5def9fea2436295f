"""A channel: how the values of one sensor aboard are taken in, whatever form they came in."""

from collections.abc import Mapping
from dataclasses import dataclass
from math import isfinite

from monitor.intake.refusal import Refusal
from monitor.model.parcel import RejectReason
from monitor.model.vessel import Vessel

# Secondary units of RFC 8798 table 2 for the units of `monitor.model.quantity.SPANS`: (multiply by, divide by).
# Two whole numbers, not one fraction: 12.5 mm / 1000 is rounded once, 12.5 * 0.001 twice.
SECONDARY: Mapping[str, Mapping[str, tuple[float, float]]] = {
    "m": {"mm": (1, 1000), "cm": (1, 100), "km": (1000, 1)},
    "V": {"mV": (1, 1000)},
    "A": {"mA": (1, 1000)},
    "Pa": {"hPa": (100, 1)},
}

LARGEST = 1e9  # in any unit: beyond it no sensor reads, and sums and squares of it stay far from overflow

SWITCH_WORDS: Mapping[str, float] = {"on": 1.0, "off": 0.0}


@dataclass(frozen=True, slots=True)
class Channel:
    """How the values of one sensor are taken in.

    Attributes:
        vessel: vessel id.
        sensor: sensor id.
        is_switch: whether a value is on or off.
        unit: the sensor's unit.
    """

    vessel: str
    sensor: str
    is_switch: bool
    unit: str

    def number(self, value: float, unit: str | None = None) -> float:
        """Take a number, in ``unit`` where one was stated, into the sensor's own unit.

        Raises:
            Refusal: where the unit does not fit, or the value is no number of this sensor.
        """
        if unit is not None and unit != self.unit:
            value = self._converted(value, unit)
        if self.is_switch:
            if value in {0.0, 1.0}:
                return 1.0 if value else 0.0
            raise Refusal(RejectReason.NOT_A_NUMBER, f"{self.sensor}: a switch is 0 or 1, not {value!r}")
        if isfinite(value) and abs(value) <= LARGEST:
            return value
        raise Refusal(RejectReason.NOT_A_NUMBER, f"{self.sensor}: {value!r} is no number that could be measured")

    def switch(self, value: bool | str, unit: str | None = None) -> float:
        """Take true or false, or the words *on* and *off*, which only a switch may say.

        Raises:
            Refusal: where the sensor is no switch, or the word is another.
        """
        if not self.is_switch:
            raise Refusal(RejectReason.NOT_A_NUMBER, f"{self.sensor}: {value!r} where {self.unit} are wanted")
        if unit is not None and unit != self.unit:
            raise self._wrong_unit(unit)
        if isinstance(value, bool):
            return 1.0 if value else 0.0
        known = SWITCH_WORDS.get(value)
        if known is None:
            raise Refusal(RejectReason.NOT_A_NUMBER, f"{self.sensor}: {value[:40]!r} is neither 'on' nor 'off'")
        return known

    def _converted(self, value: float, unit: str) -> float:
        factors = SECONDARY.get(self.unit, {}).get(unit)
        if factors is None:
            raise self._wrong_unit(unit)
        multiply, divide = factors
        return value * multiply / divide

    def _wrong_unit(self, unit: str) -> Refusal:
        return Refusal(RejectReason.WRONG_UNIT, f"{self.sensor}: unit {unit[:40]!r} where {self.unit!r} is wanted")


def channels_of(vessel: Vessel) -> dict[str, Channel]:
    """Give the channels of a vessel's sensors by sensor id."""
    return {s.id: Channel(vessel.id, s.id, s.quantity.is_switch, s.unit) for s in vessel.sensors}


def channel(channels: Mapping[str, Channel], sensor: str) -> Channel:
    """Find a sensor's channel.

    Raises:
        Refusal: where the vessel has no such sensor.
    """
    known = channels.get(sensor)
    if known is None:
        raise Refusal(RejectReason.UNKNOWN_SENSOR, f"no sensor {sensor[:60]!r} in her record")
    return known
