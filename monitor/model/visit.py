"""What somebody who went aboard wrote down: what they found, read and did."""

from dataclasses import dataclass
from enum import StrEnum


class Found(StrEnum):
    """What a visit found."""

    WELL = "well"
    """Nothing that wants doing."""
    AS_TOLD = "as told"
    """What alerts had told."""
    FALSE_CALL = "nothing of what was told"
    """A call-out that was false."""
    NOT_TOLD = "something nobody told of"
    """A missed event."""


class Read(StrEnum):
    """What is read by hand aboard."""

    DIP = "dip"
    """Water in a bilge by a stick, m; subject: the bilge."""
    VOLTS = "volts"
    """A battery by a multimeter, V; subject: the battery."""
    HUMIDITY = "humidity"
    """Air in a space by a hand instrument, %RH; subject: the space."""
    TEMPERATURE = "temperature"
    """Air in a space by a hand instrument, degC; subject: the space."""


@dataclass(frozen=True, slots=True)
class HandReading:
    """One thing read by hand.

    Attributes:
        what: which kind.
        subject: id of the thing in the record it was read at.
        value: in the unit of its kind.
        sensor: the sensor of the record that should say the same, None where there is none.
        sensor_value: what that sensor said last before the visit, in the same unit; None where it had said nothing.
        sensor_ms: when it said so (event time), None where it had not.
    """

    what: Read
    subject: str
    value: float
    sensor: str | None = None
    sensor_value: float | None = None
    sensor_ms: int | None = None


@dataclass(frozen=True, slots=True)
class VisitNote:
    """One visit.

    Attributes:
        found: what it found.
        checked: what was looked at, as codes of the round's list.
        readings: what was read by hand, beside what the sensors said.
        note: what there was to say.
        confirmed: ids of the alerts that were looked at aboard.
        nothing_wrong: those of them of which nothing was found: they called somebody out for nothing.
    """

    found: Found
    checked: tuple[str, ...] = ()
    readings: tuple[HandReading, ...] = ()
    note: str = ""
    confirmed: tuple[str, ...] = ()
    nothing_wrong: tuple[str, ...] = ()
