"""What a sensor can measure: the quantity, its unit in the SenML registry and the span a sound sensor stays in."""

from dataclasses import dataclass
from enum import StrEnum


class Quantity(StrEnum):
    """The quantities this product understands."""

    TEMPERATURE = "temperature"
    HUMIDITY = "humidity"
    VOLTAGE = "voltage"
    CURRENT = "current"
    LEVEL = "level"
    PRESSURE = "pressure"
    FLOAT_SWITCH = "float_switch"
    MAINS = "mains"
    CELL = "cell"

    @property
    def is_switch(self) -> bool:
        """Whether a reading is on or off: 1.0 is up (water) or present (mains), 0.0 is down or absent."""
        return self in SWITCHES


SWITCHES = frozenset({Quantity.FLOAT_SWITCH, Quantity.MAINS})


@dataclass(frozen=True, slots=True)
class Span:
    """Unit of a quantity (IANA SenML registry) and the gross range outside which a reading fails."""

    unit: str
    low: float
    high: float


# Spans are common practice, no source: what the usual small sensors can report at all.
SPANS: dict[Quantity, Span] = {
    Quantity.TEMPERATURE: Span("Cel", -50.0, 150.0),
    Quantity.HUMIDITY: Span("%RH", 0.0, 100.0),
    Quantity.VOLTAGE: Span("V", 0.0, 64.0),
    Quantity.CURRENT: Span("A", -500.0, 500.0),
    Quantity.LEVEL: Span("m", -0.05, 5.0),
    Quantity.PRESSURE: Span("Pa", 80_000.0, 110_000.0),
    Quantity.FLOAT_SWITCH: Span("/", 0.0, 1.0),
    Quantity.MAINS: Span("/", 0.0, 1.0),
    Quantity.CELL: Span("V", 0.0, 6.0),
}
