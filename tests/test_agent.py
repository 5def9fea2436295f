"""The real program with a real broker and a real mail server: from a sensor's message to somebody who is told."""

import json
import signal
import socket
import subprocess
import sys
import threading
import time
import urllib.request
from collections.abc import Callable, Iterator
from contextlib import suppress
from pathlib import Path
from typing import Any

import paho.mqtt.client as paho
import pytest
from boats import HOUR, LAID_UP_MS, boat
from fixtures_broker import Broker, free_port
from notify.servers import MailServer
from paho.mqtt.enums import CallbackAPIVersion

from monitor.model.document import write_vessel

PROGRAM = [sys.executable, "-m", "monitor"]
SETTINGS = """
[yard]
id = "quay"
name = "Quay"
duty = [{{ name = "Duty", email = "duty@example.org" }}]
[broker]
host = "127.0.0.1"
port = {broker}
[web]
port = {web}
[mail]
host = "127.0.0.1"
port = {mail}
security = "none"
sender = "coldberth@example.org"
"""


class Yard:
    """A yard's agent, its broker and its mail server."""

    def __init__(self, folder: Path, broker: Broker, mail: MailServer) -> None:
        self.broker, self.mail, self.web = broker, mail, free_port()
        self.settings = folder / "settings.toml"
        self.settings.write_text(SETTINGS.format(broker=broker.port, web=self.web, mail=mail.port))
        self.record = folder / "tern.toml"
        self.record.write_text(write_vessel(boat(owner={"name": "Owner", "email": "owner@example.org"})))
        self.log = folder / "log"
        self.process: subprocess.Popen[bytes] | None = None

    def flood(self) -> dict[str, Any]:
        """Give the alert of her bilge; as minutes pass others may stand beside it."""
        return next(a for a in self.get("/api/alerts?open=true") if a["rule"] == "bilge")

    def command(self, *words: str) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [*PROGRAM, *words, "--settings", str(self.settings)],
            capture_output=True,
            text=True,
            timeout=30,
            check=False,
        )

    def start(self) -> None:
        with self.log.open("ab") as log:
            self.process = subprocess.Popen([*PROGRAM, "run", "--settings", self.settings], stderr=log)
        self.until(lambda: self.get("/healthz")["ok"] is True)

    def stop(self) -> int:
        assert self.process is not None
        self.process.send_signal(signal.SIGTERM)
        return self.process.wait(10)

    def get(self, path: str) -> Any:
        with urllib.request.urlopen(f"http://127.0.0.1:{self.web}{path}", timeout=5) as answer:
            return json.load(answer)

    def publish(self, topic: str, payload: str) -> None:
        client = paho.Client(CallbackAPIVersion.VERSION2)
        client.connect("127.0.0.1", self.broker.port)
        client.loop_start()
        client.publish(topic, payload, qos=1).wait_for_publish(5)
        client.disconnect()
        client.loop_stop()

    def acknowledge(self, alert: str, name: str, note: str) -> None:
        self.post(f"/api/alerts/{alert}/acknowledge", {"name": name, "note": note})

    def post(self, path: str, body: dict[str, Any]) -> None:
        request = urllib.request.Request(
            f"http://127.0.0.1:{self.web}{path}",
            method="POST",
            data=json.dumps(body).encode(),
            headers={"Content-Type": "application/json"},
        )
        with urllib.request.urlopen(request, timeout=5) as answer:  # noqa: S310 - as above
            assert answer.status == 200

    def until(self, reached: Callable[[], bool], within_s: float = 20) -> None:
        end = time.monotonic() + within_s
        while True:
            with suppress(OSError):
                if reached():
                    return
            assert time.monotonic() < end, f"it did not come about in time\n{self.log.read_text()}"
            time.sleep(0.05)


@pytest.fixture
def yard(tmp_path: Path, broker: Broker) -> Iterator[Yard]:
    mail = MailServer(free_port()).start()
    made = Yard(tmp_path, broker, mail)
    yield made
    if made.process is not None and made.process.poll() is None:
        made.process.kill()
        made.process.wait()
    mail.stop()


@pytest.fixture
def running(yard: Yard) -> Yard:
    assert yard.command("vessel", "import", str(yard.record)).returncode == 0
    yard.start()
    return yard


def retained_alerts(port: int, within_s: float = 1.5) -> dict[str, dict[str, Any]]:
    """Give what the broker retains for somebody who has just come."""
    found: dict[str, dict[str, Any]] = {}
    client = paho.Client(CallbackAPIVersion.VERSION2)
    client.on_message = lambda _c, _u, m: found.update({m.topic: json.loads(m.payload)}) if m.payload else None
    client.connect("127.0.0.1", port)
    client.subscribe("layup-alerts/#", qos=1)
    client.loop_start()
    time.sleep(within_s)
    client.disconnect()
    client.loop_stop()
    return found


def float_is(position: int) -> tuple[str, str]:
    return "layup/quay/tern/bilge-float", str(position)


@pytest.mark.broker
class TestAgent:
    def test_a_float_that_goes_up_is_told_by_page_mail_and_broker_within_a_minute(self, running: Yard) -> None:
        went_up = time.monotonic()
        running.publish(*float_is(1))
        running.until(lambda: len(running.mail.box.taken) == 1, within_s=60)
        assert time.monotonic() - went_up < 60
        alert = running.flood()
        assert (alert["rule"], alert["subject"], alert["priority"]) == ("bilge", "bilge", "alarm")
        told = retained_alerts(running.broker.port)[f"layup-alerts/quay/tern/{alert['id']}"]
        assert told["priority"] == "alarm"
        subject = running.mail.box.taken[0][1]["Subject"]
        assert "Tern" in subject
        assert "plot B4" in subject

    def test_her_owner_hears_of_it_once_somebody_has_it_and_is_told_who(self, running: Yard) -> None:
        running.publish(*float_is(1))
        running.until(lambda: len(running.mail.box.taken) == 1)
        alert = running.flood()
        running.acknowledge(alert["id"], "R. Invented", "on my way")
        running.until(lambda: len(running.mail.box.taken) == 2)
        (duty, _), (owner, mail) = running.mail.box.taken
        assert (duty, owner) == ("duty@example.org", "owner@example.org")
        body = mail.get_body(("plain",))
        assert body is not None
        assert "R. Invented" in body.get_content()

    def test_it_is_cleared_at_the_broker_when_it_ends(self, yard: Yard) -> None:
        # By the stream's clock: a bilge must stay dry for hours before its alarm returns.
        yard.settings.write_text(yard.settings.read_text() + '[journal]\nclock = "stream"\n')
        assert yard.command("vessel", "import", str(yard.record)).returncode == 0
        yard.start()

        def tick(hours: float) -> None:
            yard.publish("layup/quay/agent/clock", str(LAID_UP_MS + round(hours * HOUR)))

        tick(1)
        yard.publish(*float_is(1))
        yard.until(lambda: len(yard.get("/api/alerts?open=true")) == 1)
        (alert,) = yard.get("/api/alerts?open=true")
        yard.acknowledge(alert["id"], "R. Invented", "on my way")
        yard.until(lambda: [t["state"] for t in retained_alerts(yard.broker.port, 0.5).values()] == ["acknowledged"])
        yard.publish(*float_is(0))
        tick(12)
        yard.until(lambda: yard.get(f"/api/alerts/{alert['id']}")["state"] == "latched")  # somebody has to go aboard
        yard.post(f"/api/alerts/{alert['id']}/confirm", {"name": "R. Invented", "note": "dry, and found the hose"})
        yard.until(lambda: yard.get(f"/api/alerts/{alert['id']}")["events"][-1]["change"] == "ended")
        yard.until(lambda: alert["id"] not in str(retained_alerts(yard.broker.port, 0.5)))
        events = yard.get(f"/api/alerts/{alert['id']}")["events"]
        assert [e["change"] for e in events] == ["opened", "acknowledged", "latched", "confirmed", "ended"]
        assert (events[1]["actor"], events[1]["note"]) == ("R. Invented", "on my way")

    def test_what_cannot_be_used_is_counted_by_reason_and_what_is_good_beside_it_is_kept(self, running: Yard) -> None:
        pack = [
            {"n": "engine-space", "u": "Cel", "v": 4.2},
            {"n": "engine-space", "u": "V", "v": 4.2},
            {"n": "keel", "v": 1},
        ]
        running.publish("layup/quay/tern/readings", json.dumps(pack))
        running.publish("layup/quay/gull/readings", json.dumps(pack))
        running.publish("layup/quay/tern/readings", "{")
        running.publish("layup/quay/tern/engine-space", "NaN")
        running.until(lambda: len(running.get("/api/rejects")) == 5)
        assert {r["reason"] for r in running.get("/api/rejects")} == {
            "wrong unit",
            "unknown sensor",
            "unknown vessel",
            "malformed",
            "not a number",
        }
        running.until(lambda: b"coldberth_readings_stored_total 1.0" in self.metrics(running))

    def test_a_record_is_imported_through_the_running_agent(self, running: Yard) -> None:
        running.record.write_text(write_vessel(boat(id="gull", name="Gull")))
        imported = running.command("vessel", "import", str(running.record))
        assert imported.returncode == 0, imported.stderr
        running.publish("layup/quay/gull/bilge-float", "1")
        running.until(lambda: [a["vessel"] for a in running.get("/api/alerts?open=true")] == ["gull"])
        listed = running.command("vessel", "list")
        assert [line.split()[0] for line in listed.stdout.splitlines()] == ["gull", "tern"]

    def test_a_second_agent_on_the_same_journal_is_refused_in_words(self, running: Yard) -> None:
        second = running.command("run")
        assert second.returncode == 2
        assert "is written by another process" in second.stderr
        assert "Traceback" not in second.stderr

    def test_a_port_of_the_pages_that_is_taken_is_said_and_leaves_nothing_running(self, yard: Yard) -> None:
        with socket.create_server(("127.0.0.1", yard.web)):
            done = yard.command("run")
        assert done.returncode == 2
        said = f"the agent cannot start: the pages cannot be served at 127.0.0.1:{yard.web}: Address already in use"
        assert done.stderr.splitlines()[-1].startswith(said)

    def test_readings_that_nobody_had_thought_of_leave_the_agent_watching(self, running: Yard) -> None:
        running.publish("layup/quay/tern/bilge-level", "1e306")
        running.publish("layup/quay/tern/bilge-level", "9e8")
        running.publish("layup/quay/tern/engine-space", "-45")
        running.publish(*float_is(1))
        running.until(lambda: "alarm" in [a["priority"] for a in running.get("/api/alerts?open=true")])
        assert running.process is not None
        assert running.process.poll() is None

    def test_it_stops_cleanly_with_a_page_open(self, running: Yard) -> None:
        reading = threading.Thread(target=self.read_stream, args=(running,), daemon=True)
        reading.start()
        time.sleep(0.5)
        began = time.monotonic()
        assert running.stop() == 0
        assert time.monotonic() - began < 8
        assert "Traceback" not in running.log.read_text()

    def test_the_broker_may_be_away_at_the_start_and_come_later(self, yard: Yard) -> None:
        yard.broker.stop()
        assert yard.command("vessel", "import", str(yard.record)).returncode == 0
        with yard.log.open("ab") as log:
            yard.process = subprocess.Popen([*PROGRAM, "run", "--settings", yard.settings], stderr=log)
        yard.until(lambda: "no connection" in yard.log.read_text())
        yard.broker.start()
        yard.until(lambda: yard.get("/healthz")["ok"] is True, within_s=40)

    @staticmethod
    def metrics(running: Yard) -> bytes:
        with urllib.request.urlopen(f"http://127.0.0.1:{running.web}/metrics", timeout=5) as answer:
            body: bytes = answer.read()
            return body

    @staticmethod
    def read_stream(running: Yard) -> None:
        with suppress(OSError), urllib.request.urlopen(f"http://127.0.0.1:{running.web}/events", timeout=30) as stream:
            while stream.readline():
                pass


def test_wrong_settings_are_said_in_one_line_each_with_status_2(tmp_path: Path) -> None:
    path = tmp_path / "settings.toml"
    path.write_text('[yard]\nid = "quay"\nname = "Quay"\ncolour = "red"\n')
    done = subprocess.run(
        [*PROGRAM, "run", "--settings", str(path)], capture_output=True, text=True, timeout=30, check=False
    )
    assert done.returncode == 2
    assert done.stderr == f"{path}: yard.colour: unknown key: look for a slip of the pen\n"


def test_a_wrong_record_is_refused_whole(tmp_path: Path) -> None:
    settings = tmp_path / "settings.toml"
    settings.write_text('[yard]\nid = "quay"\nname = "Quay"\n')
    good, bad = tmp_path / "good.toml", tmp_path / "bad.toml"
    good.write_text(write_vessel(boat()))
    bad.write_text(write_vessel(boat(id="gull")).replace('plot = "B4"', 'berth = "N1"'))
    words = ["vessel", "import", str(good), str(bad), "--settings", str(settings)]
    done = subprocess.run([*PROGRAM, *words], capture_output=True, text=True, timeout=30, check=False)
    assert done.returncode == 2
    assert done.stderr.splitlines() == [f"{bad}: document: a vessel ashore needs a plot", "nothing was imported"]
    assert not (tmp_path / "coldberth.sqlite").exists()
