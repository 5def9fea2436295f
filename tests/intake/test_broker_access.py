"""The broker's settings and credentials as they are shipped, on a real Mosquitto, and a client that means harm."""

import contextlib
import os
import re
import subprocess
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

import paho.mqtt.client as paho
import pytest
from fixtures_broker import free_port
from listening import wait_until
from notify.servers import make_certificate
from paho.mqtt.enums import CallbackAPIVersion, MQTTProtocolVersion

from monitor.intake.broker_files import ACCESS, PASSWORDS, put_in, take_out
from monitor.intake.credentials import Credential, agent_credential, device_credential

SHIPPED = Path(__file__).parents[2] / "deploy" / "mosquitto-boats.conf"
PLACE = "/etc/mosquitto/coldberth"
AGENT_ID = "coldberth-quay"


@dataclass
class Boats:
    """A Mosquitto of the shipped settings, for the yard *quay* with two boats."""

    folder: Path
    program: str
    agent: Credential = field(default_factory=lambda: agent_credential("quay", "layup-alerts"))
    tern: Credential = field(default_factory=lambda: device_credential("quay", "tern", "gateway"))
    petrel: Credential = field(default_factory=lambda: device_credential("quay", "petrel", "gateway"))

    def __post_init__(self) -> None:
        self.port, self.plain = free_port(), free_port()
        for credential in (self.agent, self.tern, self.petrel):
            put_in(self.folder, credential)
        text = SHIPPED.read_text()
        user = "user root\n" if os.geteuid() == 0 else ""
        for old, new in (
            (PLACE, str(self.folder)),
            ("listener 8883", f"listener {self.port} 127.0.0.1"),
            ("listener 1883", f"listener {self.plain}"),
        ):
            assert old in text
            text = text.replace(old, new)
        settings = self.folder / "mosquitto.conf"
        settings.write_text(f"{user}persistence_location {self.folder}/\n{text}")
        with (self.folder / "log").open("wb") as log:
            self.process = subprocess.Popen([self.program, "-c", str(settings)], stderr=log)

    def client(self, credential: Credential | None, name: str = "", *, plain: bool = False) -> "Talker":
        return Talker(self, credential, name, plain=plain)


class Talker:
    """A paho client that keeps what it hears."""

    def __init__(self, boats: Boats, credential: Credential | None, name: str, *, plain: bool) -> None:
        self.heard: list[tuple[str, bytes]] = []
        self.answers: list[str] = []
        self.client = paho.Client(CallbackAPIVersion.VERSION2, client_id=name, protocol=MQTTProtocolVersion.MQTTv5)
        if credential is not None:
            self.client.username_pw_set(credential.user, credential.password)
        if not plain:
            self.client.tls_set(ca_certs=str(boats.folder / "cert.pem"))
        self.client.on_connect = lambda *given: self.answers.append(str(given[3]))
        self.client.on_disconnect = lambda *given: self.answers.append(f"gone: {given[3]}")
        self.client.on_message = lambda _client, _data, message: self.heard.append((message.topic, message.payload))
        self.port = boats.plain if plain else boats.port

    def start(self) -> "Talker":
        self.client.connect("localhost" if self.client._ssl_context else "127.0.0.1", self.port)
        self.client.loop_start()
        wait_until(lambda: bool(self.answers))
        return self

    def publish(self, topic: str, payload: str = "1", *, retain: bool = False) -> None:
        with contextlib.suppress(RuntimeError):  # paho raises where the broker says that it may not
            self.client.publish(topic, payload, qos=1, retain=retain).wait_for_publish(5)

    def stop(self) -> None:
        self.client.disconnect()
        self.client.loop_stop()


@pytest.fixture
def boats(tmp_path: Path, require_program: Callable[[str], str]) -> Iterator[Boats]:
    make_certificate(require_program("openssl"), tmp_path)
    made = Boats(tmp_path, require_program("mosquitto"))
    until = time.monotonic() + 10
    while True:
        try:
            listening = made.client(made.agent, AGENT_ID, plain=True).start()
            break
        except OSError:
            assert time.monotonic() < until, (tmp_path / "log").read_text()
            time.sleep(0.05)
    listening.stop()
    yield made
    made.process.terminate()
    made.process.wait(10)


@pytest.fixture
def agent(boats: Boats) -> Iterator[Talker]:
    """What the agent does: reads all of its yard, under its own client id."""
    talker = boats.client(boats.agent, AGENT_ID, plain=True).start()
    for topic in ("layup/quay/+/+", "layup/quay/forecast", "layup-alerts/quay/#"):
        talker.client.subscribe(topic, qos=1)
    talker.client.publish("layup/quay/agent/marker", "ready", qos=1)
    wait_until(lambda: ("layup/quay/agent/marker", b"ready") in talker.heard)
    talker.heard.clear()
    yield talker
    talker.stop()


def heard_only(agent: Talker, boats: Boats, credential: Credential, topic: str) -> None:
    """The last word of a new connection is heard, and nothing that was said before.

    A new one, since Mosquitto 2.0.11 hangs up on a client whose message it refused, at its next.
    """
    device = boats.client(credential).start()
    device.publish(topic, "last")
    wait_until(lambda: (topic, b"last") in agent.heard)
    assert agent.heard == [(topic, b"last")]
    device.stop()


def test_a_device_is_heard_under_its_own_vessel_alone(boats: Boats, agent: Talker) -> None:
    for topic in (
        "layup/quay/petrel/readings",
        "layup/quay/petrel/engine-space",
        "layup/quay/agent/marker",
        "layup/quay/agent/clock",
        "layup/quay/agent",
        "layup/quay/forecast",
        "layup/other/tern/readings",
        "layup/quay/tern",
        "layup/quay/tern/deep/er",
        "layup-alerts/quay/tern/0011223344556677",
        "layup-alerts/quay/agent",
        "$SYS/broker/version",
    ):
        device = boats.client(boats.tern).start()
        device.publish(topic, retain=True)
        device.stop()
    heard_only(agent, boats, boats.tern, "layup/quay/tern/readings")
    agent.heard.clear()
    heard_only(agent, boats, boats.tern, "layup/quay/tern/bilge-level")
    late = boats.client(boats.agent, "late", plain=True).start()
    late.client.subscribe("layup/quay/+/+", qos=1)
    late.publish("layup/quay/agent/marker", "end")
    wait_until(lambda: ("layup/quay/agent/marker", b"end") in late.heard)
    assert late.heard == [("layup/quay/agent/marker", b"end")]  # nothing was left behind, retained
    late.stop()


def test_a_device_reads_nothing_not_even_its_own(boats: Boats, agent: Talker) -> None:
    agent.publish("layup-alerts/quay/tern/1", "{}", retain=True)
    device = boats.client(boats.tern).start()
    for topic in ("#", "$SYS/#", "layup/#", "layup/quay/tern/+", "layup-alerts/#", "$share/g/layup/quay/+/+"):
        device.client.subscribe(topic, qos=1)
    device.publish("layup/quay/tern/readings")
    other = boats.client(boats.petrel).start()
    other.publish("layup/quay/petrel/readings")
    wait_until(lambda: ("layup/quay/petrel/readings", b"1") in agent.heard)
    agent.publish("layup-alerts/quay/tern/2", "{}", retain=True)
    time.sleep(0.5)
    assert device.heard == []
    device.stop()
    other.stop()


def test_a_last_will_reaches_no_further_than_a_message(boats: Boats, agent: Talker) -> None:
    device = boats.client(boats.tern)
    device.client.will_set("layup/quay/petrel/readings", "will", qos=1, retain=True)
    with contextlib.suppress(AssertionError):
        device.start()
    sock = device.client.socket()
    if sock is not None:
        sock.shutdown(2)  # gone without a word, so that the will is published
    device.client.loop_stop()
    time.sleep(0.5)
    heard_only(agent, boats, boats.petrel, "layup/quay/petrel/readings")


def test_a_device_cannot_take_the_agents_place_by_its_client_id(boats: Boats, agent: Talker) -> None:
    device = boats.client(boats.tern, AGENT_ID).start()
    device.publish("layup/quay/tern/readings")
    wait_until(lambda: ("layup/quay/tern/readings", b"1") in agent.heard)
    assert [answer for answer in agent.answers if answer.startswith("gone")] == []
    device.stop()


@pytest.mark.parametrize("who", ["nobody", "wrong password", "another's password", "unknown user"])
def test_whoever_has_no_credential_is_not_let_in(boats: Boats, who: str) -> None:
    credential = {
        "nobody": None,
        "wrong password": Credential("tern.gateway", "guess", "", ()),
        "another's password": Credential("tern.gateway", boats.petrel.password, "", ()),
        "unknown user": Credential("root", "root", "", ()),
    }[who]
    for plain in (False, True):
        talker = boats.client(credential, plain=plain).start()
        assert talker.answers[0] in {"Not authorized", "Bad user name or password"}
        talker.stop()


def test_without_tls_boats_are_not_let_in(boats: Boats) -> None:
    talker = boats.client(boats.tern, plain=True)
    talker.port = boats.port
    with contextlib.suppress(OSError):
        talker.client.connect("127.0.0.1", boats.port)
        talker.client.loop_start()
        time.sleep(0.5)
    assert "Success" not in talker.answers
    talker.client.loop_stop()


def test_one_user_is_replaced_and_taken_out_and_the_others_lines_stay(tmp_path: Path) -> None:
    (tmp_path / ACCESS).write_text(
        "# ours\nuser display\ntopic read layup-alerts/#\n\nuser tern.gateway\ntopic write x\n"
    )
    (tmp_path / PASSWORDS).write_text("display:$7$1$a$b\ntern.gateway:$7$1$a$b\n")
    (tmp_path / ACCESS).chmod(0o600)
    made = device_credential("quay", "tern", "gateway")
    put_in(tmp_path, made)
    put_in(tmp_path, made)
    access = (tmp_path / ACCESS).read_text()
    assert access == (
        "# ours\nuser display\ntopic read layup-alerts/#\n\nuser tern.gateway\ntopic write layup/quay/tern/+\n"
    )
    assert (tmp_path / PASSWORDS).read_text() == f"display:$7$1$a$b\n{made.password_line}\n"
    assert (tmp_path / ACCESS).stat().st_mode & 0o777 == 0o600
    assert made.password not in access + (tmp_path / PASSWORDS).read_text()
    assert take_out(tmp_path, "tern.gateway")
    assert not take_out(tmp_path, "tern.gateway")
    assert re.findall(r"user (\S+)", (tmp_path / ACCESS).read_text()) == ["display"]
