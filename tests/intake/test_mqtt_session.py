"""The session, held against a real Mosquitto."""

import logging
import os
import socket
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from fixtures_broker import Broker, free_port
from listening import NORTH, Listener, OldBroker, publish, publisher, stays, wait_until, watched_state
from pydantic import ValidationError
from test_intake_reader import Yard

from monitor.intake.broker import RECEIVE_MAXIMUM, BrokerConfig
from monitor.intake.session import MOST_WAITING
from monitor.model.parcel import RejectReason
from monitor.model.vessel import Vessel

pytestmark = pytest.mark.broker


def config(port: int, protocol: str = "auto") -> BrokerConfig:
    return BrokerConfig.model_validate({"host": "127.0.0.1", "port": port, "protocol": protocol})


def listener(port: int, protocol: str = "auto", backlog: Callable[[], int] = lambda: 0) -> Listener:
    return Listener(config(port, protocol), Yard(), backlog)


@pytest.fixture
def known_there(broker: Broker) -> Broker:
    """A broker at which our session has been before, so that it keeps our messages."""
    with listener(broker.port) as ours:
        ours.catch_up()
    return broker


@pytest.mark.parametrize("protocol", ["5", "3.1.1"])
def test_3000_messages_wait_for_a_listener_that_was_away(broker: Broker, protocol: str) -> None:
    with listener(broker.port, protocol) as ours:
        ours.catch_up()
    publish(broker.port, range(3000))
    with listener(broker.port, protocol) as ours:
        ours.catch_up()
        assert ours.session.protocol == protocol
        assert ours.values == [float(v) for v in range(3000)]


def test_the_marker_comes_back_behind_all_that_was_queued(known_there: Broker) -> None:
    publish(known_there.port, range(50))
    with listener(known_there.port) as ours:
        ours.catch_up()
        last = ours.heard[-1].marker
        assert last is not None
        assert last.nonce == ours.session.nonce
        assert len(ours.readings) == 50


def test_nothing_is_acknowledged_before_ack_is_called(known_there: Broker) -> None:
    more = RECEIVE_MAXIMUM + 500
    publish(known_there.port, range(more))
    with listener(known_there.port) as ours:
        wait_until(lambda: len(ours.heard) == RECEIVE_MAXIMUM)
        assert stays(lambda: len(ours.heard) == RECEIVE_MAXIMUM)
        assert not ours.session.caught_up
        ours.catch_up()
        assert ours.values == [float(v) for v in range(more)]


@pytest.mark.parametrize("protocol", ["5", "3.1.1"])
def test_what_was_not_acknowledged_comes_again_after_a_drop(broker: Broker, protocol: str) -> None:
    with listener(broker.port, protocol) as ours:
        ours.catch_up()
        publish(broker.port, range(20))
        wait_until(lambda: len(ours.values) == 20)
        ours.session.ack(ours.readings[:5])
        first = ours.readings[-1].session
        ours.session.drop("the journal is full")
        wait_until(lambda: len(ours.values) == 35)
        again = ours.readings[20:]
        assert [r.value for p in again for r in p.readings] == [float(v) for v in range(5, 20)]
        assert {p.session for p in again} == {first + 1}


def test_an_acknowledgement_for_an_earlier_connection_does_nothing(known_there: Broker) -> None:
    with listener(known_there.port) as ours:
        ours.catch_up()
        publish(known_there.port, range(20))
        wait_until(lambda: len(ours.values) == 20)
        early = list(ours.readings)
        ours.session.drop("a test")
        wait_until(lambda: len(ours.values) == 40)
        ours.session.ack(early)
        ours.session.drop("a test")
        wait_until(lambda: len(ours.values) == 60)


def test_what_was_acknowledged_does_not_come_again(known_there: Broker) -> None:
    publish(known_there.port, range(20))
    with listener(known_there.port) as ours:
        ours.catch_up()
    with listener(known_there.port) as ours:
        ours.catch_up()
        assert ours.values == []


def test_messages_of_qos_0_need_no_acknowledgement(broker: Broker) -> None:
    with listener(broker.port) as ours:
        ours.catch_up()
        publish(broker.port, range(5), qos=0)
        wait_until(lambda: len(ours.values) == 5)
        assert {p.qos for p in ours.readings} == {0}
        ours.session.ack(ours.readings)
        publish(broker.port, range(5, 6))
        wait_until(lambda: len(ours.values) == 6)


def test_a_retained_message_is_known_as_one(broker: Broker) -> None:
    publish(broker.port, range(7, 8), retain=True)
    with listener(broker.port) as ours:
        wait_until(lambda: ours.values == [7.0])
        assert ours.readings[0].retained


def test_with_mqtt_5_a_retained_message_does_not_come_again_at_every_reconnect(known_there: Broker) -> None:
    publish(known_there.port, range(7, 8), retain=True)
    with listener(known_there.port) as ours:
        ours.catch_up()
    with listener(known_there.port) as ours:
        ours.catch_up()
        assert ours.values == []


# MQTT 3.1.1 section 3.2.2.3: return code 1 is "unacceptable protocol version"; MQTT 5 section 3.2.2.2: reason 0x84.
@pytest.mark.parametrize("answer", [b"\x20\x02\x00\x01", b"\x20\x03\x00\x84\x00", b""], ids=["311", "5", "hangs-up"])
def test_a_broker_that_does_not_know_mqtt_5_is_spoken_to_in_3_1_1(broker: Broker, answer: bytes) -> None:
    old = OldBroker(broker.port, answer)
    try:
        with listener(old.port) as ours:
            ours.catch_up()
            assert ours.session.protocol == "3.1.1"
            publish(broker.port, range(3))
            wait_until(lambda: ours.values == [0.0, 1.0, 2.0])
            assert old.seen == [5, 4]
            assert ours.session.trouble is None
    finally:
        old.close()


def test_a_protocol_that_was_asked_for_is_not_left(broker: Broker) -> None:
    old = OldBroker(broker.port, b"\x20\x02\x00\x01")
    try:
        with listener(old.port, "5") as ours:
            wait_until(lambda: old.seen == [5, 5])
            assert ours.session.trouble == "the broker refuses: Unsupported protocol version"
    finally:
        old.close()


def test_the_agents_state_is_here_and_then_stopped(broker: Broker) -> None:
    with watched_state(broker.port) as states:
        with listener(broker.port):
            assert states.get(timeout=5) == "here"
        assert states.get(timeout=5) == "stopped"


def test_the_agents_state_is_gone_when_the_connection_breaks_and_here_again_after_it(broker: Broker) -> None:
    with watched_state(broker.port) as states, listener(broker.port) as ours:
        assert states.get(timeout=5) == "here"
        break_connection(ours)
        assert states.get(timeout=5) == "gone"
        assert states.get(timeout=5) == "here"


def test_the_agents_state_is_gone_while_it_is_dropped(broker: Broker) -> None:
    with watched_state(broker.port) as states, listener(broker.port) as ours:
        assert states.get(timeout=5) == "here"
        ours.session.drop("the journal is full")
        assert states.get(timeout=5) == "gone"
        assert states.get(timeout=5) == "here"


def test_the_agents_state_is_retained(broker: Broker) -> None:
    with listener(broker.port) as ours:
        ours.catch_up()
        with watched_state(broker.port) as states:
            assert states.get(timeout=5) == "here"


def break_connection(ours: Listener) -> None:
    link = ours.session._link
    assert link is not None
    wire = link.client.wire
    assert wire is not None
    with socket.socket(fileno=os.dup(wire.fileno())) as sock:
        sock.shutdown(socket.SHUT_RDWR)


class Stumbling(Yard):
    """A directory that fails for one vessel: an error of our own in the callback."""

    def vessel(self, vessel_id: str) -> Vessel | None:
        if vessel_id == "gull":
            raise RuntimeError("she\ncapsized")
        return super().vessel(vessel_id)


def test_an_error_in_the_callback_does_not_stop_the_stream(broker: Broker, caplog: pytest.LogCaptureFixture) -> None:
    with Listener(config(broker.port), Stumbling()) as ours:
        ours.catch_up()
        with publisher(broker.port) as client:
            for _ in range(3):
                client.publish(NORTH.bare("gull", "block"), "1", qos=1).wait_for_publish(5)
        publish(broker.port, range(3, 4))
        wait_until(lambda: ours.values == [3.0])
        rejects = [r for p in ours.readings for r in p.rejects]
        assert [r.reason for r in rejects] == [RejectReason.MALFORMED] * 3
        assert rejects[0].detail == "RuntimeError: she\\ncapsized"
        ours.session.ack(ours.readings)
        assert list(ours.session.errors.values()) == [3]
        logged = [r for r in caplog.records if r.levelno == logging.ERROR]
        assert len(logged) == 1
        assert logged[0].exc_info is not None


@pytest.mark.filterwarnings("ignore::pytest.PytestUnhandledThreadExceptionWarning")
def test_a_network_thread_that_has_died_is_started_again(known_there: Broker) -> None:
    publish(known_there.port, range(1))
    ours = listener(known_there.port)
    keep = ours.session._deliver

    def die(_: object) -> None:
        raise SystemExit

    ours.session._deliver = die
    ours.session.start()
    wait_until(lambda: not ours.session.alive)
    assert not ours.session.connected
    ours.session._deliver = keep
    assert ours.session.check() is False
    assert ours.session.check() is True
    ours.catch_up()
    assert ours.values == [0.0]
    ours.session.stop()


def test_an_error_in_the_consumer_ends_in_a_reconnect_and_nothing_is_lost(known_there: Broker) -> None:
    publish(known_there.port, range(3))
    ours = listener(known_there.port)
    failures = [1, 1]

    def stumble(parcel: object) -> None:
        if failures:
            failures.pop()
            raise MemoryError
        ours.heard.append(parcel)

    ours.session._deliver = stumble
    with ours:
        ours.catch_up()
        assert ours.values == [0.0, 1.0, 2.0]
        assert ours.session.session == 2


def test_a_broker_that_restarts_is_found_again_with_all_it_kept(known_there: Broker) -> None:
    with listener(known_there.port) as ours:
        ours.catch_up()
        publish(known_there.port, range(10))
        wait_until(lambda: len(ours.values) == 10)
        ours.session.ack(ours.readings[:4])
        publish(known_there.port, range(10, 11))
        known_there.stop()
        wait_until(lambda: not ours.session.connected)
        assert ours.session.trouble is not None
        known_there.start()
        publish(known_there.port, range(11, 14))
        wait_until(lambda: ours.session.session > 1 and ours.session.connected)
        ours.catch_up()
        # Nothing unacknowledged is lost. An acknowledgement that was still under way when the broker went may be: its
        # message then comes twice, as QoS 1 allows and the journal's identity of a reading expects.
        heard = set(ours.values[11:])
        assert {float(v) for v in range(4, 14)} <= heard <= {float(v) for v in range(14)}


def test_a_broker_that_is_not_there_yet_is_waited_for(tmp_path: Path, require_program: Callable[[str], str]) -> None:
    broker = Broker(require_program("mosquitto"), tmp_path / "late")
    with listener(broker.port) as ours:
        wait_until(lambda: ours.session.trouble is not None)
        assert ours.session.trouble == f"no connection to 127.0.0.1:{broker.port}: [Errno 111] Connection refused"
        broker.start()
        ours.catch_up()
        assert ours.session.trouble is None
    broker.stop()


def test_a_broker_that_refuses_our_name_is_a_trouble_in_words(
    tmp_path: Path, require_program: Callable[[str], str]
) -> None:
    broker = Broker(require_program("mosquitto"), tmp_path / "strict", "allow_anonymous false\n")
    broker.start()
    with listener(broker.port) as ours:
        wait_until(lambda: ours.session.trouble is not None)
        assert ours.session.trouble == "the broker refuses: Not authorized"
    broker.stop()


@pytest.mark.parametrize("qos", [0, 1])
def test_nothing_more_is_read_while_too_many_parcels_wait(broker: Broker, qos: int) -> None:
    waiting = [0]
    with listener(broker.port, backlog=lambda: waiting[0]) as ours:
        ours.catch_up()
        waiting[0] = MOST_WAITING
        ours.session.ack([])
        assert stays(lambda: ours.session.connected, 0.1)
        publish(broker.port, range(200), qos=qos)
        assert stays(lambda: len(ours.values) <= 1)
        waiting[0] = MOST_WAITING - 1
        wait_until(lambda: len(ours.values) == 200)


def test_a_paused_session_reads_nothing_more_and_still_acknowledges(known_there: Broker) -> None:
    with listener(known_there.port) as ours:
        ours.catch_up()
        publish(known_there.port, range(3))
        wait_until(lambda: len(ours.values) == 3)
        ours.session.pause()
        assert stays(lambda: ours.session.connected, 0.1)
        publish(known_there.port, range(3, 6))
        assert stays(lambda: len(ours.values) == 3, 0.3)
        ours.session.ack(ours.readings)
    with listener(known_there.port) as ours:
        ours.catch_up()
        assert ours.values == [3.0, 4.0, 5.0]


def test_keepalive_is_kept_while_nothing_is_published(broker: Broker) -> None:
    short = BrokerConfig(host="127.0.0.1", port=broker.port, keepalive_s=1)
    with Listener(short, Yard()) as ours:
        ours.catch_up()
        assert stays(lambda: ours.session.connected, 3)  # a broker hangs up after one and a half times the keepalive
        assert ours.session.session == 1


@pytest.fixture
def tls_broker(tmp_path: Path, require_program: Callable[[str], str]) -> Iterator[Broker]:
    import subprocess

    openssl, place = require_program("openssl"), tmp_path / "tls"
    place.mkdir()
    key = ["-newkey", "rsa:2048", "-nodes", "-keyout", str(place / "key.pem"), "-out", str(place / "cert.pem")]
    name = ["-subj", "/CN=localhost", "-addext", "subjectAltName=DNS:localhost,IP:127.0.0.1", "-days", "2"]
    subprocess.run([openssl, "req", "-x509", *key, *name], check=True, capture_output=True)
    port = free_port()
    lines = f"listener {port} 127.0.0.1\ncertfile {place}/cert.pem\nkeyfile {place}/key.pem\n"
    broker = Broker(require_program("mosquitto"), place, lines)
    broker.tls_port = port
    broker.start()
    yield broker
    broker.stop()


def test_over_tls_all_messages_come_and_the_broker_is_known_by_its_certificate(tls_broker: Broker) -> None:
    ca = tls_broker.directory / "cert.pem"
    ours = Listener(BrokerConfig(host="localhost", port=tls_broker.tls_port, tls=True, ca_file=ca), Yard())
    with ours:
        ours.catch_up()
        publish(tls_broker.port, range(RECEIVE_MAXIMUM + 500))
        wait_until(lambda: len(ours.values) >= RECEIVE_MAXIMUM)
        ours.catch_up()
        wait_until(lambda: len(ours.values) == RECEIVE_MAXIMUM + 500)


@pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")  # paho leaves the socket to be collected
def test_over_tls_an_unknown_certificate_is_refused(tls_broker: Broker) -> None:
    with Listener(BrokerConfig(host="localhost", port=tls_broker.tls_port, tls=True), Yard()) as ours:
        wait_until(lambda: ours.session.trouble is not None)
        assert "CERTIFICATE_VERIFY_FAILED" in str(ours.session.trouble)


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ({"password": "s"}, "needs its username"),
        ({"ca_file": "/ca.pem"}, "tls = true"),
        ({"port": 0}, "greater than or equal to 1"),
        ({"protocol": "4"}, "'auto', '5' or '3.1.1'"),
        ({"hostname": "x"}, "not permitted"),
    ],
)
def test_a_mistake_in_the_settings_is_said_in_words(row: dict[str, object], said: str) -> None:
    with pytest.raises(ValidationError, match=said.replace(".", r"\.")):
        BrokerConfig.model_validate(row)


def test_a_password_is_not_shown() -> None:
    assert "hunter2" not in repr(BrokerConfig.model_validate({"username": "u", "password": "hunter2"}))
