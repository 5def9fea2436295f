"""Kill the agent at any instant, start it again, and the readings and the alerts are the same.

A week of the demo's winter comes over a real Mosquitto to the real program, which is killed with SIGKILL at random
points; an uninterrupted run of the same week is what it is held against. ``COLDBERTH_TEST_KILLS`` sets how often.
"""

import os
import random
import signal
import sqlite3
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from fixtures_broker import Broker

from monitor.intake.senml import encode_pack
from monitor.model.document import write_vessel
from monitor.model.parcel import ClockMessage
from simulator.link import Link
from simulator.winter import Message, yard_winter

KILLS = int(os.environ.get("COLDBERTH_TEST_KILLS", "20"))
WEEK_FROM_DAY = 113  # 21 February: a frost, a seacock that lets go, a sensor that is stuck, a gateway that is silent
DAY_MS = 86_400_000
PROGRAM = [sys.executable, "-m", "monitor"]


@pytest.fixture(scope="module")
def week() -> list[Message]:
    winter = yard_winter()
    from_ms = winter.plan.begins_ms + WEEK_FROM_DAY * DAY_MS
    return [message for message in winter.stream() if from_ms <= message.at_ms < from_ms + 7 * DAY_MS]


class Program:
    """The real program with its own broker, settings and journal."""

    def __init__(self, folder: Path, broker: Broker) -> None:
        folder.mkdir()
        self.journal = folder / "coldberth.sqlite"
        self.settings = folder / "settings.toml"
        self.settings.write_text(
            f'[yard]\nid = "eiderhythe"\nname = "Eiderhythe"\n[journal]\nclock = "stream"\n'
            "save_every_s = 0.4\n"
            f'[broker]\nhost = "127.0.0.1"\nport = {broker.port}\n[web]\nenabled = false\n'
        )
        self.log = folder / "log"
        self._process: subprocess.Popen[bytes] | None = None
        paths = []
        for vessel in yard_winter().vessels:
            paths.append(folder / f"{vessel.id}.toml")
            paths[-1].write_text(write_vessel(vessel))
        subprocess.run(
            [*PROGRAM, "vessel", "import", "--settings", self.settings, *paths],
            check=True,
            timeout=60,
            stdout=subprocess.DEVNULL,
        )

    def start(self) -> None:
        with self.log.open("ab") as log:
            self._process = subprocess.Popen([*PROGRAM, "run", "--settings", self.settings], stderr=log)

    def kill(self) -> None:
        assert self._process is not None
        self._process.send_signal(signal.SIGKILL)
        self._process.wait(10)

    def stop(self) -> int:
        assert self._process is not None
        self._process.terminate()
        return self._process.wait(20)

    def stored(self) -> int:
        with sqlite3.connect(self.journal) as db:
            return int(db.execute("SELECT count(*) FROM reading").fetchone()[0])

    def readings(self) -> list[tuple[object, ...]]:
        with sqlite3.connect(self.journal) as db:
            return db.execute(
                "SELECT vessel, sensor, stated_ms, event_ms, value, flag, mark FROM reading JOIN series"
                " ON id = series ORDER BY 1, 2, 3"
            ).fetchall()

    def alerts(self) -> list[tuple[object, ...]]:
        with sqlite3.connect(self.journal) as db:
            return db.execute(
                "SELECT id, vessel, rule, subject, priority, highest, state, opened_ms, returned_ms, ended_ms"
                " FROM alert ORDER BY opened_ms, id"
            ).fetchall()

    def events(self) -> list[tuple[object, ...]]:
        with sqlite3.connect(self.journal) as db:
            return db.execute(
                "SELECT alert, at_ms, change, state, priority FROM alert_event ORDER BY seq, place"
            ).fetchall()


@pytest.fixture
def make_broker(tmp_path: Path, require_program: Callable[[str], str]) -> Iterator[Callable[[str], Broker]]:
    made = []

    def make(name: str) -> Broker:
        broker = Broker(require_program("mosquitto"), tmp_path / f"broker-{name}")
        broker.start()
        made.append(broker)
        return broker

    yield make
    for broker in made:
        broker.stop()


def publish(week: list[Message], broker: Broker, pause_s: float) -> int:
    link = Link("127.0.0.1", broker.port, "week", 200, lambda: False)
    link.connect()
    for message in week:
        if isinstance(message, ClockMessage):
            link.publish("layup/eiderhythe/agent/clock", str(message.at_ms).encode(), 0)
            time.sleep(pause_s)
        else:
            topic = f"layup/eiderhythe/{message.vessel}/readings"
            link.publish(topic, encode_pack(message.readings), len(message.readings))
    link.drain()
    link.close(1.0)
    return link.acknowledged


def wait_for(program: Program, readings: int) -> None:
    until = time.monotonic() + 60
    while program.stored() < readings:
        assert time.monotonic() < until, f"{program.stored()} of {readings} stored\n{program.log.read_text()}"
        time.sleep(0.1)


@pytest.mark.broker
@pytest.mark.slow
@pytest.mark.timeout(600)
def test_a_killed_agent_comes_back_to_the_same_readings_and_alerts(
    tmp_path: Path, week: list[Message], make_broker: Callable[[str], Broker]
) -> None:
    whole_broker = make_broker("whole")
    whole = Program(tmp_path / "whole", whole_broker)
    whole.start()
    wait_until_heard(whole)
    published = publish(week, whole_broker, 0.0)
    wait_for(whole, published)
    assert whole.stop() == 0

    broker = make_broker("killed")
    killed = Program(tmp_path / "killed", broker)
    killed.start()
    wait_until_heard(killed)
    source = random.Random(2)
    publishing = threading.Thread(target=publish, args=(week, broker, KILLS * 1.2 / 169))
    publishing.start()
    for _ in range(KILLS):
        time.sleep(source.uniform(0.3, 1.5))
        killed.kill()
        killed.start()
    publishing.join()
    wait_for(killed, published)
    assert killed.stop() == 0

    stored = killed.stored()
    doubled = len(killed.events()) - len(set(killed.events()))
    print(
        f"\nfigures: agent killed (SIGKILL) {KILLS} times in a week of the demo's winter: published {published:,},"
        f" acknowledged {published:,}, stored {stored:,}, lost {published - stored:,}, doubled {doubled:,};"
        f" {len(killed.alerts())} alerts with {len(killed.events())} events, as without a kill"
    )
    assert killed.readings() == whole.readings()
    assert len(whole.alerts()) >= 5
    assert killed.alerts() == whole.alerts()
    assert killed.events() == whole.events()


def wait_until_heard(program: Program) -> None:
    """Wait until the agent has a session at the broker: from then on nothing is lost."""
    until = time.monotonic() + 20
    while "listening at" not in (program.log.read_text() if program.log.exists() else ""):
        assert time.monotonic() < until, program.log.read_text()
        time.sleep(0.05)
    time.sleep(0.5)
