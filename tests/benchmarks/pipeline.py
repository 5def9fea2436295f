"""How fast the whole way is, from Mosquitto to the acknowledgement, beside a paho subscriber that only counts.

Both get the same messages, of a yard that is well: boats whose sensors are all heard every ten minutes, and have been
for two days. All of them wait in the broker beforehand, in a session that it has kept, with QoS 1, so that no publisher
is in the measurement and each is as fast as it can take and acknowledge. Ours is timed from the start of its session
until the last reading is committed, by MQTT 5; the counting one from its connecting until the last message is seen, by
paho's own defaults (MQTT 3.1.1, its own loop and acknowledgement), which are the faster ones for it.
"""

import shutil
import tempfile
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import paho.mqtt.client as paho
from paho.mqtt.enums import CallbackAPIVersion

from monitor.agent import Agent
from monitor.intake.broker import BrokerConfig
from monitor.intake.senml import encode_pack
from monitor.model.inputs import RecordVersion
from monitor.settings import ClockMode, Journal, Settings, Web, Yard
from simulator.link import Link
from tests.benchmarks.rate import Rate, timed
from tests.benchmarks.yard import BEGINS_MS, SENSORS, Broker, records, value_at

MESSAGES, VESSELS, WINDOW = 40_000, 50, 500
EVERY_MS, BEFORE_MS = 600_000, 2 * 86_400_000
# A broker that saves its queue at every change, as the tests' own does, would be measured instead.
SAVES_SELDOM = "autosave_on_changes false\nautosave_interval 1800\n"


def pipeline_rates(folder: Path, readings: int) -> tuple[Rate, Rate]:
    """Measure with so many readings a message, 1 or 5.

    Returns:
        The agent's rate, and a bare counting subscriber's.
    """
    mosquitto = shutil.which("mosquitto") or shutil.which("mosquitto", path="/usr/sbin")
    if mosquitto is None:
        raise SystemExit("the benchmark needs mosquitto: apt-get install mosquitto")
    rates = []
    for name, take in (("agent", _agent), ("bare", _bare)):
        broker = Broker(mosquitto, folder / f"{name}-{readings}", SAVES_SELDOM)
        broker.start()
        try:
            rates.append(take(broker, folder, readings))
        finally:
            broker.stop()
    return rates[0], rates[1]


def lines() -> Iterator[str]:
    """Measure one reading a message and packs of five, in words."""
    with tempfile.TemporaryDirectory(prefix="coldberth-bench-") as folder:
        for readings in (1, len(SENSORS)):
            took, counted = pipeline_rates(Path(folder), readings)
            yield f"pipeline, {readings} reading{'s' * (readings > 1)} a message, queued in Mosquitto, QoS 1:"
            per_s = f"{took.per_s * readings:,.0f} readings/s"
            yield (
                f"         {took.per_s:9,.0f} messages/s judged, committed and acknowledged ({per_s}),"
                f" {took.cpu_us:.0f} us of processor each"
            )
            yield (
                f"         {counted.per_s:9,.0f} messages/s, counting paho subscriber, {counted.cpu_us:.0f} us each:"
                f" ratio {took.of(counted)}"
            )


def _messages(readings: int, from_ms: int) -> Iterator[tuple[str, bytes]]:
    """Give the yard's messages in their order, without end: each boat in turn, each of her sensors in turn."""
    at_ms = from_ms
    while True:
        at_ms += EVERY_MS
        yield "layup/quay/agent/clock", str(at_ms).encode()
        for number in range(VESSELS):
            for first in range(0, len(SENSORS), readings):
                some = SENSORS[first : first + readings]
                pack = [(name, unit, at_ms, value_at(usual, at_ms)) for name, unit, usual in some]
                yield f"layup/quay/boat-{number}/readings", encode_pack(pack)


def _publish(port: int, readings: int, messages: int, from_ms: int = BEGINS_MS + BEFORE_MS) -> None:
    link = Link("127.0.0.1", port, "bench", WINDOW, lambda: False)
    link.connect()
    left = messages
    for topic, payload in _messages(readings, from_ms):
        link.publish(topic, payload, 1)
        left -= topic.endswith("readings")
        if not left:
            break
    link.drain()
    link.close(1.0)


def _agent(broker: Broker, folder: Path, readings: int) -> Rate:
    settings = Settings(
        yard=Yard(id="quay", name="Quay"),
        journal=Journal(path=folder / f"pipeline-{readings}.sqlite", clock=ClockMode.STREAM),
        broker=BrokerConfig(host="127.0.0.1", port=broker.port),
        web=Web(enabled=False),
    )
    agent = Agent(settings)
    agent.start()
    for record in records(VESSELS):
        agent.submit(RecordVersion(record, BEGINS_MS, "bench")).result(10)
    before = VESSELS * BEFORE_MS // EVERY_MS
    _publish(broker.port, len(SENSORS), before, BEGINS_MS)
    _until(lambda: agent.writer.stored == before * len(SENSORS))
    agent.stop()  # the broker keeps its session, and queues what now comes
    _publish(broker.port, readings, MESSAGES)
    agent = Agent(settings)

    def take() -> None:
        agent.start()
        _until(lambda: agent.writer.stored == MESSAGES * readings)

    rate = timed(take, MESSAGES)
    agent.stop()
    return rate


def _bare(broker: Broker, _folder: Path, readings: int) -> Rate:
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
    _publish(broker.port, readings, MESSAGES)
    second = client()

    def take() -> None:
        second.loop_start()
        counted.wait(120)

    rate = timed(take, MESSAGES)
    second.disconnect()
    second.loop_stop()
    return rate


def _until(reached: Callable[[], bool]) -> None:
    end = time.monotonic() + 180
    while not reached():
        if time.monotonic() > end:
            raise SystemExit("the benchmark did not come to its end in three minutes")
        time.sleep(0.01)
