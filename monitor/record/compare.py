"""What was read by hand, held against what the sensor said."""

import math
from dataclasses import dataclass
from enum import StrEnum

from monitor.model.equipment import USUAL_ERROR, Sensor
from monitor.model.quantity import Quantity
from monitor.model.visit import HandReading, Read
from monitor.record.round_limits import LIMITS, hand_error

QUANTITY: dict[Read, Quantity] = {
    Read.DIP: Quantity.LEVEL,
    Read.VOLTS: Quantity.VOLTAGE,
    Read.HUMIDITY: Quantity.HUMIDITY,
    Read.TEMPERATURE: Quantity.TEMPERATURE,
}


class Agreement(StrEnum):
    """Whether a hand and a sensor say the same."""

    AGREE = "agree"
    DIFFER = "differ"
    OLD = "too old"
    """What the sensor said last is too long ago to be held against anything."""
    UNHEARD = "unheard"
    """The sensor had said nothing."""
    NO_SENSOR = "no sensor"


@dataclass(frozen=True, slots=True)
class Comparison:
    """A reading taken by hand beside the sensor's.

    Attributes:
        reading: what was read, and what the sensor had said.
        verdict: whether they say the same.
        difference: how far apart they are, in the reading's unit; None where there is nothing to compare with.
        allowed: how far apart both may be and still agree; None likewise.
    """

    reading: HandReading
    verdict: Agreement
    difference: float | None = None
    allowed: float | None = None


def compare(reading: HandReading, sensor: Sensor | None, at_ms: int) -> Comparison:
    """Hold a reading against the sensor that should say the same.

    They differ where they are further apart than ``k * sqrt(s_sensor**2 + s_hand**2)``: the combined standard
    uncertainty of two independent measurements (JCGM 100:2008, 5.1.2), with coverage factor k of 2. ``s_sensor`` is
    the error in the record (`Sensor.error`), else the usual one of its kind (`USUAL_ERROR`); ``s_hand`` stands in
    `round_limits`. Both are taken as one standard deviation, so that a good sensor is seldom called wrong.

    Args:
        reading: what was read, with what the sensor said in the same unit.
        sensor: the sensor in her record; None where it is no longer there, which leaves the usual error.
        at_ms: event time of the visit.

    Example:
        12.41 V by hand and 12.38 V by the sensor: 2 * sqrt(0.03**2 + 0.0496**2) is 0.116 V, so that they agree.

        >>> compare(HandReading(Read.VOLTS, "house", 12.41, "volts", 12.38, 0), None, 60_000).verdict.value
        'agree'
    """
    if reading.sensor is None:
        return Comparison(reading, Agreement.NO_SENSOR)
    if reading.sensor_value is None or reading.sensor_ms is None:
        return Comparison(reading, Agreement.UNHEARD)
    if sensor is not None and at_ms - reading.sensor_ms > LIMITS["intervals"] * sensor.interval_s * 1000:
        return Comparison(reading, Agreement.OLD)
    sensor_error = USUAL_ERROR[QUANTITY[reading.what]] if sensor is None else sensor.accuracy
    allowed = LIMITS["sigmas"] * math.hypot(sensor_error, hand_error(reading.what, reading.value))
    difference = abs(reading.value - reading.sensor_value)
    return Comparison(reading, Agreement.DIFFER if difference > allowed else Agreement.AGREE, difference, allowed)
