"""What a vessel's sensors say while somebody stands beside them, and what a hand read, out of what they typed."""

from collections.abc import Mapping

from monitor.model.equipment import Sensor
from monitor.model.quantity import Quantity
from monitor.model.views import Newest
from monitor.record.commission_check import Heard, looks_back_ms
from monitor.record.commission_figures import in_sensor_unit, unit_by_hand
from monitor.web.deps import Deps
from monitor.web.problems import Mistake, ProblemError
from monitor.web.visit_form import number

_LENGTHS = (("mm", 0.001), ("cm", 0.01), ("m", 1.0))
_FEW_MM = 3.0
"""A dip of so few millimetres with a decimal point is one in metres whose unit was left out."""


def heard_of(deps: Deps, vessel_id: str, sensor: Sensor, newest: Mapping[str, Newest]) -> Heard | None:
    """Give what a sensor said last, and the lowest of what it said shortly before; None where it never spoke."""
    last = newest.get(sensor.id)
    if last is None:
        return None
    from_ms = last.event_ms - looks_back_ms(sensor)
    before = [
        said.value
        for said in deps.readings.said(vessel_id, sensor.id, from_ms, last.event_ms)
        if said.value is not None and not said.hour and said.event_ms < last.event_ms
    ]
    return Heard(last.value, last.event_ms, min(before, default=None))


def by_hand(sensor: Sensor, typed: str) -> float | None:
    """Give what a hand read, in the sensor's unit; None where nothing was written.

    Raises:
        ProblemError: 422 where it is no number, in words.
    """
    text = typed.strip()
    if not text:
        return None
    value = _length_m(text) if sensor.quantity is Quantity.LEVEL else _plain(sensor, text)
    if value is None:
        example = "30 mm, or 0.03 m" if sensor.quantity is Quantity.LEVEL else f"12.4 {unit_by_hand(sensor)}"
        reason = f"{text!r} is no reading: write it as {example}."
        raise ProblemError(422, reason, [Mistake(key="hand", reason=reason)])
    return value


def _plain(sensor: Sensor, text: str) -> float | None:
    value = number(text, unit_by_hand(sensor))
    return None if value is None else in_sensor_unit(sensor, value)


def _length_m(text: str) -> float | None:
    for unit, metres in _LENGTHS:
        if text.endswith(unit):
            value = number(text, unit)
            return None if value is None else value * metres
    value = number(text)
    if value is None or (0 < abs(value) < _FEW_MM and value != int(value)):
        return None
    return value / 1000
