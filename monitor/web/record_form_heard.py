"""How a sensor is heard: the line that sends one reading of it by hand."""

import shlex
from dataclasses import dataclass

from monitor.model.quantity import Quantity
from monitor.model.vessel import Vessel
from monitor.web.deps import Deps

EXAMPLES: dict[Quantity, str] = {
    Quantity.TEMPERATURE: "4.5",
    Quantity.HUMIDITY: "71",
    Quantity.VOLTAGE: "12.64",
    Quantity.CURRENT: "0.4",
    Quantity.LEVEL: "0.012",
    Quantity.PRESSURE: "101300",
    Quantity.FLOAT_SWITCH: "0",
    Quantity.MAINS: "1",
    Quantity.CELL: "3.1",
}
"""An ordinary reading of each quantity, in its unit: an example, no limit."""
_HOST, _PORT = "HOST", "PORT"


@dataclass(frozen=True, slots=True)
class Heard:
    """How one sensor is heard.

    Attributes:
        topic: where its bare numbers go.
        line: what is typed at a machine with the broker's own tools.
        unit: what the number is in.
        known: whether the broker's address stands in the line.
        beyond: whether another machine must write this one's name instead of the address in the line.
        login: whether the broker asks for a name and password.
    """

    topic: str
    line: str
    unit: str
    known: bool
    beyond: bool
    login: bool


def heard_by(deps: Deps, record: Vessel, sensor_id: str) -> Heard | None:
    """Say how a sensor is heard; None where the record has none of that id."""
    sensor = record.sensor(sensor_id)
    if sensor is None:
        return None
    broker = deps.broker
    topic = f"layup/{record.yard}/{record.id}/{sensor.id}"
    words = ["mosquitto_pub", "-h", _HOST if broker is None else broker.host]
    words += ["-p", _PORT if broker is None else str(broker.port)]
    if broker is not None and broker.tls and broker.ca_file is not None:
        words += ["--cafile", str(broker.ca_file)]
    login = broker is not None and broker.username is not None
    if login:
        words += ["-u", f"{record.id}.DEVICE", "-P", "PASSWORD"]
    words += ["-q", "1", "-t", topic, "-m", EXAMPLES[sensor.quantity]]
    local = broker is not None and broker.host in {"localhost", "127.0.0.1", "::1"}
    return Heard(topic, shlex.join(words), sensor.unit, broker is not None, local, login)
