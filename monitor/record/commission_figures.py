"""A sensor's value, written for whoever stands beside it."""

from monitor.model.equipment import Sensor
from monitor.model.quantity import Quantity

HALF = 0.5
"""Half way between a switch that is off (0) and on (1)."""

_MINUS = "\u2212"
_FIGURES: dict[Quantity, tuple[float, int, str]] = {
    Quantity.TEMPERATURE: (1.0, 1, "°C"),
    Quantity.HUMIDITY: (1.0, 0, "%"),
    Quantity.VOLTAGE: (1.0, 2, "V"),
    Quantity.CELL: (1.0, 2, "V"),
    Quantity.CURRENT: (1.0, 2, "A"),
    Quantity.LEVEL: (1000.0, 0, "mm"),
    Quantity.PRESSURE: (0.01, 0, "hPa"),
}
_SAYS = {Quantity.FLOAT_SWITCH: ("down", "up"), Quantity.MAINS: ("off", "on")}


def figure(sensor: Sensor, value: float) -> str:
    """Write a sensor's value for whoever stands beside it.

    >>> from monitor.model.equipment import Supply
    >>> level = Sensor(id="l", quantity=Quantity.LEVEL, place="bilge", interval_s=60, supply=Supply.OWN_CELL)
    >>> figure(level, 0.012)
    '12 mm'
    """
    if sensor.quantity in _SAYS:
        return _SAYS[sensor.quantity][value >= HALF]
    scale, digits, unit = _FIGURES[sensor.quantity]
    written = f"{value * scale:.{digits}f}"
    plain = written.lstrip("-") if float(written) == 0 else written.replace("-", _MINUS)
    return f"{plain} {unit}"


def unit_by_hand(sensor: Sensor) -> str:
    """Give the unit in which people write down what they read beside a sensor; empty for a switch."""
    return "" if sensor.quantity in _SAYS else _FIGURES[sensor.quantity][2]


def in_sensor_unit(sensor: Sensor, by_hand: float) -> float:
    """Give what was read in the unit for people in the sensor's own."""
    return by_hand / _FIGURES[sensor.quantity][0]
