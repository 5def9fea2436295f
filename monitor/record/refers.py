"""What in a record refers to its sensors: what falls away with one, and what cannot be without."""

from collections.abc import Iterator
from dataclasses import dataclass

from monitor.model.vessel import Vessel


@dataclass(frozen=True, slots=True)
class Reference:
    """One field of a record that names a sensor.

    Attributes:
        part: the vessel's field it lies in.
        entry: the entry's id, empty where the part is there once.
        field: the field of the entry.
        sensor: the sensor it names.
        name: what the entry is called.
        needed: whether the entry cannot be without.
    """

    part: str
    entry: str
    field: str
    sensor: str
    name: str
    needed: bool = False


_FIELDS = (
    ("liquid_systems", ("sensor",), False),
    ("batteries", ("voltage_sensor", "temperature_sensor"), False),
    ("bilges", ("level_sensor", "float_sensor", "temperature_sensor", "pump_sensor"), False),
    ("spaces", ("humidity_sensor", "temperature_sensor"), True),
)


def sensor_references(record: Vessel) -> Iterator[Reference]:
    """Give every field that names a sensor."""
    if record.outside_sensor is not None:
        yield Reference("", "", "outside_sensor", record.outside_sensor, "Her outside thermometer")
    if record.shore_power.mains_sensor is not None:
        yield Reference("shore_power", "", "mains_sensor", record.shore_power.mains_sensor, "Shore power")
    for part, fields, needed in _FIELDS:
        for entry in getattr(record, part):
            for field in fields:
                sensor = getattr(entry, field)
                if sensor is not None:
                    yield Reference(part, entry.id, field, sensor, entry.name, needed)
    for sensor in record.sensors:
        if sensor.cell_of is not None:
            yield Reference("sensors", sensor.id, "cell_of", sensor.cell_of, sensor.place, needed=False)
