"""Two yards' agents at one broker and one history server: the real programs; nothing of one is heard at the other.

Both yards have a boat of the same id, so that whatever crosses is seen.
"""

import json
import signal
import sqlite3
import subprocess
import sys
import time
import urllib.request
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import paho.mqtt.client as paho
import pytest
from boats import boat
from fixtures_broker import Broker, free_port
from paho.mqtt.enums import CallbackAPIVersion
from victoria import Victoria

from monitor.intake.senml import encode_pack
from monitor.model.document import write_vessel
from simulator.link import Link

PROGRAM = [sys.executable, "-m", "monitor"]
READINGS = 300
SETTINGS = """
[yard]
id = "{yard}"
name = "{yard}"
[broker]
host = "127.0.0.1"
port = {broker}
[web]
port = {web}
[history]
url = "{history}"
"""


class Yard:
    """A yard's agent."""

    def __init__(self, folder: Path, yard: str, broker: Broker, victoria: Victoria) -> None:
        folder.mkdir()
        self.id, self.web, self.folder = yard, free_port(), folder
        self.settings, self.log = folder / "settings.toml", folder / "log"
        self.settings.write_text(
            SETTINGS.format(yard=yard, broker=broker.port, web=self.web, history=f"http://127.0.0.1:{victoria.port}")
        )
        record = folder / "tern.toml"
        record.write_text(write_vessel(boat(yard=yard, name=f"Tern of {yard}")))
        subprocess.run(
            [*PROGRAM, "vessel", "import", record, "--settings", self.settings],
            check=True,
            timeout=60,
            capture_output=True,
        )
        self.process: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        with self.log.open("ab") as log:
            self.process = subprocess.Popen([*PROGRAM, "run", "--settings", self.settings], stdout=log, stderr=log)
        self.until(lambda: self.get("/healthz")["ok"] is True)

    def end(self, number: int = signal.SIGTERM) -> None:
        if self.process is not None:
            self.process.send_signal(number)
            self.process.wait(20)
            self.process = None

    def get(self, path: str) -> Any:
        with urllib.request.urlopen(f"http://127.0.0.1:{self.web}{path}", timeout=5) as answer:
            return json.load(answer)

    def until(self, reached: Callable[[], bool], within_s: float = 60) -> None:
        end = time.monotonic() + within_s
        while True:
            try:
                if reached():
                    return
            except OSError:  # it is not there yet, or 503: not well yet
                pass
            assert time.monotonic() < end, f"it did not come about in time\n{self.log.read_text()}"
            time.sleep(0.1)

    def stored(self, sensor: str) -> list[tuple[int, float]]:
        db = sqlite3.connect(f"file:{self.folder / 'coldberth.sqlite'}?mode=ro", uri=True)
        rows = db.execute(
            "SELECT stated_ms, value FROM reading JOIN series ON id = series WHERE sensor = ? ORDER BY 1", (sensor,)
        ).fetchall()
        db.close()
        return rows


@pytest.fixture
def victoria(tmp_path: Path, require_program: Callable[[str], str]) -> Iterator[Victoria]:
    running = Victoria(require_program("victoria-metrics"), tmp_path / "victoria")
    running.start()
    yield running
    running.stop()


@pytest.fixture
def yards(tmp_path: Path, broker: Broker, victoria: Victoria) -> Iterator[tuple[Yard, Yard]]:
    made = (Yard(tmp_path / "quay", "quay", broker, victoria), Yard(tmp_path / "wharf", "wharf", broker, victoria))
    for yard in made:
        yard.start()
    yield made
    for yard in made:
        yard.end(signal.SIGKILL)


def publish(broker: Broker, first: int, at_ms: int) -> dict[str, list[tuple[int, float]]]:
    """Publish to both yards, turn by turn, values by which the yard is known; give what each was sent."""
    link = Link("127.0.0.1", broker.port, "both-gateways", 200, lambda: False)
    link.connect()
    sent: dict[str, list[tuple[int, float]]] = {"quay": [], "wharf": []}
    for number in range(first, first + READINGS):
        stated_ms = at_ms - (first + READINGS - number) * 1_000
        for yard, degc in (("quay", 5.0), ("wharf", 15.0)):
            value = degc + number % 7 / 10
            pack = encode_pack([("engine-space", "Cel", stated_ms, value)])
            link.publish(f"layup/{yard}/tern/readings", pack, 1)
            link.attend(0)
            sent[yard].append((stated_ms, value))
    link.drain()
    link.close(1.0)
    return sent


def retained(broker: Broker) -> list[str]:
    """Give the topics of the alerts that the broker retains."""
    found: list[str] = []
    client = paho.Client(CallbackAPIVersion.VERSION2)
    client.on_message = lambda _c, _u, message: found.append(message.topic) if message.payload else None
    client.connect("127.0.0.1", broker.port)
    client.subscribe("layup-alerts/#", qos=1)
    client.loop_start()
    time.sleep(1.5)
    client.disconnect()
    client.loop_stop()
    return found


@pytest.mark.broker
@pytest.mark.slow
def test_two_yards_share_a_broker_and_a_history_and_nothing_crosses(
    yards: tuple[Yard, Yard], broker: Broker, victoria: Victoria
) -> None:
    quay, wharf = yards
    now_ms = time.time_ns() // 1_000_000
    sent = publish(broker, 0, now_ms - READINGS * 1_000)
    for yard in yards:
        yard.until(lambda yard=yard: len(yard.stored("engine-space")) == READINGS)  # type: ignore[misc]
    # One is killed with the broker's messages for it unread; the other goes on.
    quay.end(signal.SIGKILL)
    more = publish(broker, READINGS, now_ms)
    wharf.until(lambda: len(wharf.stored("engine-space")) == 2 * READINGS)
    assert len(quay.stored("engine-space")) == READINGS
    quay.start()
    quay.until(lambda: len(quay.stored("engine-space")) == 2 * READINGS)
    whole = {yard: sent[yard] + more[yard] for yard in sent}
    assert {yard.id: yard.stored("engine-space") for yard in yards} == whole

    def in_history() -> dict[str, list[tuple[int, float]]]:
        victoria.show()
        points = victoria.points("value", sensor="engine-space", vessel="tern")
        return {yard: points.get((yard, "tern", "engine-space"), []) for yard in whole}

    quay.until(lambda: sum(map(len, in_history().values())) >= 4 * READINGS)
    assert in_history() == whole
    assert {key[:2] for key in victoria.points("value")} == {("quay", "tern"), ("wharf", "tern")}
    stored = {yard.id: len(yard.stored("engine-space")) for yard in yards}
    print(
        f"published {2 * READINGS} to each yard; stored {stored}, in history"
        f" { {yard: len(points) for yard, points in in_history().items()} }, of the other yard 0"
    )

    # An alert of one yard is that yard's alone, on its pages and at the broker.
    link = Link("127.0.0.1", broker.port, "gateway", 10, lambda: False)
    link.connect()
    link.publish("layup/wharf/tern/bilge-float", b"1", 1)
    link.drain()
    link.close(1.0)
    wharf.until(lambda: any(alert["rule"] == "bilge" for alert in wharf.get("/api/alerts?open=true")))
    assert [alert for alert in quay.get("/api/alerts?open=true") if alert["rule"] == "bilge"] == []
    (alert,) = (one for one in wharf.get("/api/alerts?open=true") if one["rule"] == "bilge")
    wharf.until(lambda: f"layup-alerts/wharf/tern/{alert['id']}" in retained(broker))
    assert [
        topic for topic in retained(broker) if topic.startswith("layup-alerts/quay/") and alert["id"] in topic
    ] == []
