"""How fast the whole way is, from Mosquitto to the acknowledgement, beside a paho subscriber that only counts.

The messages wait in the broker for both, so that only the taking is measured.
"""

import shutil
import sys
import threading
import time
from collections.abc import Callable
from pathlib import Path

import paho.mqtt.client as paho
from paho.mqtt.enums import CallbackAPIVersion

sys.path.insert(0, str(Path(__file__).parents[1]))

from boats import LAID_UP_MS, boat, sensor
from fixtures_broker import Broker

from monitor.agent import Agent
from monitor.intake.broker import BrokerConfig
from monitor.intake.senml import encode_pack
from monitor.model.inputs import RecordVersion
from monitor.settings import ClockMode, Journal, Settings, Web, Yard
from simulator.link import Link

MESSAGES, VESSELS = 20_000, 50
NAMES = ("engine-space", "outside", "bilge-level", "house-volts", "cabin")
UNITS = ("Cel", "Cel", "m", "V", "Cel")
VALUES = (4.0, 2.0, 0.01, 12.6, 6.0)


def pipeline_rates(folder: Path, readings: int) -> tuple[float, float]:
    """Measure with so many readings a message.

    Returns:
        Messages a second by the agent, and by a bare counting subscriber.
    """
    mosquitto = shutil.which("mosquitto") or shutil.which("mosquitto", path="/usr/sbin")
    if mosquitto is None:
        raise SystemExit("the benchmark needs mosquitto: apt-get install mosquitto")
    rates = []
    for name, take in (("agent", _agent), ("bare", _bare)):
        broker = Broker(mosquitto, folder / f"{name}-{readings}")
        broker.start()
        try:
            rates.append(take(broker, folder, readings))
        finally:
            broker.stop()
    return rates[0], rates[1]


def _publish(port: int, readings: int) -> None:
    link = Link("127.0.0.1", port, "bench", 500, lambda: False)
    link.connect()
    for number in range(MESSAGES):
        at_ms = LAID_UP_MS + (number // VESSELS + 1) * 600_000
        vessel = f"boat-{number % VESSELS}"
        if not number % VESSELS:
            link.publish("layup/quay/agent/clock", str(at_ms).encode(), 0)
        pack = [(NAMES[n], UNITS[n], at_ms, VALUES[n] + number // VESSELS % 7 * 0.001) for n in range(readings)]
        link.publish(f"layup/quay/{vessel}/readings", encode_pack(pack), readings)
    link.drain()
    link.close(1.0)


def _agent(broker: Broker, folder: Path, readings: int) -> float:
    settings = Settings(
        yard=Yard(id="quay", name="Quay"),
        journal=Journal(path=folder / f"pipeline-{readings}.sqlite", clock=ClockMode.STREAM),
        broker=BrokerConfig(host="127.0.0.1", port=broker.port),
        web=Web(enabled=False),
    )
    agent = Agent(settings)
    agent.start()
    sensors = [s.model_dump() for s in boat().sensors] + [sensor("cabin", "temperature")]
    for number in range(VESSELS):
        record = boat(id=f"boat-{number}", sensors=sensors)
        agent.submit(RecordVersion(record, LAID_UP_MS, "bench")).result(10)
    _until(lambda: agent.writer.caught_up)
    agent.stop()  # the broker keeps its session, and queues what now comes
    _publish(broker.port, readings)
    agent = Agent(settings)
    began = time.perf_counter()
    agent.start()
    _until(lambda: agent.view.stored() == MESSAGES * readings)
    took_s = time.perf_counter() - began
    agent.stop()
    return MESSAGES / took_s


def _bare(broker: Broker, _folder: Path, readings: int) -> float:
    counted = threading.Event()
    seen = 0

    def count(*_: object) -> None:
        nonlocal seen
        seen += 1
        if seen == MESSAGES:
            counted.set()

    def client() -> paho.Client:
        made = paho.Client(CallbackAPIVersion.VERSION2, client_id="bare", clean_session=False)
        made.on_message = count
        made.connect("127.0.0.1", broker.port)
        return made

    first = client()
    first.subscribe("layup/quay/+/readings", qos=1)
    first.loop_start()
    time.sleep(0.5)
    first.disconnect()
    first.loop_stop()
    _publish(broker.port, readings)
    second = client()
    began = time.perf_counter()
    second.loop_start()
    counted.wait(120)
    took_s = time.perf_counter() - began
    second.disconnect()
    second.loop_stop()
    return MESSAGES / took_s


def _until(reached: Callable[[], bool]) -> None:
    end = time.monotonic() + 180
    while not reached():
        if time.monotonic() > end:
            raise SystemExit("the benchmark did not come to its end in three minutes")
        time.sleep(0.01)
