"""The socket between paho and the broker: what is taken from the stream here, and what is left to paho."""

import socket
from collections.abc import Iterator
from contextlib import contextmanager, suppress

import pytest
from fixtures_broker import Broker
from listening import Listener, wait_until
from paho.mqtt.client import Client
from paho.mqtt.enums import CallbackAPIVersion, MQTTProtocolVersion
from paho.mqtt.packettypes import PacketTypes
from paho.mqtt.properties import Properties
from test_intake_reader import Yard

from monitor.intake.broker import BrokerConfig
from monitor.intake.packets import Publication
from monitor.intake.wire import Wire

PINGRESP = b"\xd0\x00"


def packet(topic: bytes, payload: bytes, mid: int = 7, *, kind: int = 0x32, properties: bytes = b"") -> bytes:
    """A PUBLISH by MQTT 3.1.1, section 3.3, or with properties by MQTT 5: of QoS 1 unless told otherwise."""
    number = mid.to_bytes(2, "big") if kind & 6 else b""
    body = len(topic).to_bytes(2, "big") + topic + number + properties + payload
    low, high = len(body) & 0x7F, len(body) >> 7
    length = bytes([low | 0x80, high]) if high else bytes([low])
    return bytes([kind]) + length + body


class Heard:
    """A wire whose other end is in hand, and what came out of it, in order."""

    def __init__(self, ours: socket.socket, *, with_properties: bool) -> None:
        ours.settimeout(0)
        self.wire = Wire(ours, with_properties=with_properties)
        self.all: list[Publication | bytes] = []

    def receive(self) -> None:
        self.wire.receive(self.all.append, self._others)

    def _others(self) -> None:
        given = b""
        try:
            while more := self.wire.recv(3):
                given += more
        except BlockingIOError:
            pass
        self.all.append(given)


@contextmanager
def wired(*, with_properties: bool = False) -> Iterator[tuple[Heard, socket.socket]]:
    ours, theirs = socket.socketpair()
    with ours, theirs:
        yield Heard(ours, with_properties=with_properties), theirs


STREAM = (
    packet(b"layup/n/tern/block", b"4.5", 1) + PINGRESP + packet(b"a/b", b"x" * 300, 515, kind=0x33) + packet(b"c", b"")
)
WANTED = [
    Publication(b"layup/n/tern/block", b"4.5", 1, 1, retained=False),
    PINGRESP,
    Publication(b"a/b", b"x" * 300, 515, 1, retained=True),
    Publication(b"c", b"", 7, 1, retained=False),
]


@pytest.mark.parametrize("size", [1, 2, 3, 7, 50, 1000])
def test_messages_come_whole_and_in_order_however_the_stream_is_cut(size: int) -> None:
    with wired() as (heard, broker):
        for at in range(0, len(STREAM), size):
            broker.sendall(STREAM[at : at + size])
            heard.receive()
        assert heard.all == WANTED


def test_a_message_of_qos_0_has_no_number() -> None:
    with wired() as (heard, broker):
        broker.sendall(packet(b"a", b"1", kind=0x30))
        heard.receive()
        assert heard.all == [Publication(b"a", b"1", 0, 0, retained=False)]


def test_properties_are_passed_over() -> None:
    with wired(with_properties=True) as (heard, broker):
        broker.sendall(packet(b"a", b"1", properties=b"\x02\x01\x01") + packet(b"a", b"2", properties=b"\x00"))
        heard.receive()
        assert [m.payload for m in heard.all if isinstance(m, Publication)] == [b"1", b"2"]


@pytest.mark.parametrize(
    ("sent", "with_properties"),
    [
        (packet(b"a", b"1", kind=0x34), False),  # QoS 2, which we never ask for
        (b"\x32\x03\x00\x01a", False),  # no number
        (b"\x32\x05\x00\x09abc", False),  # a topic longer than its packet
        (packet(b"", b"1"), False),  # an alias for a topic, or nothing
        (packet(b"a", b""), True),  # no length of its properties
        (packet(b"a", b"", properties=b"\x09\x01"), True),  # properties longer than their packet
        (packet(b"a", b"1" * 200, properties=b"\x80\x01" + b"\x01\x01" * 64), True),  # very many
        (b"\x32\xff\xff\xff\xff\x01", False),  # a length beyond MQTT's
    ],
)
def test_what_is_odd_is_left_to_paho_to_the_byte(sent: bytes, with_properties: bool) -> None:
    with wired(with_properties=with_properties) as (heard, broker):
        broker.sendall(sent)
        heard.receive()
        assert heard.all == [sent]


def test_the_end_of_the_connection_is_pahos_to_find() -> None:
    with wired() as (heard, broker):
        broker.close()
        heard.receive()
        assert heard.all == [b""]


def test_acknowledgements_never_stand_in_the_middle_of_a_packet_of_pahos() -> None:
    with wired() as (heard, broker):
        big, sent = b"\x30" + b"p" * 2_000_000, b""
        assert heard.wire.send(big) == len(big)
        assert heard.wire.wants_write  # no socket takes so much at once
        with pytest.raises(BlockingIOError):
            heard.wire.send(PINGRESP)
        heard.wire.acknowledge([1, 2])
        while heard.wire.wants_write:
            sent += broker.recv(100_000)
            heard.wire.flush()
        broker.settimeout(0)
        with suppress(BlockingIOError):
            while True:
                sent += broker.recv(100_000)
        assert sent == big + b"\x40\x02\x00\x01\x40\x02\x00\x02"


@pytest.mark.broker
@pytest.mark.parametrize("protocol", ["3.1.1", "5"])
def test_odd_messages_and_plain_ones_reach_the_reader_alike(broker: Broker, protocol: str) -> None:
    config = BrokerConfig.model_validate({"host": "127.0.0.1", "port": broker.port, "protocol": protocol})
    with Listener(config, Yard()) as ours:
        ours.catch_up()
        client = Client(CallbackAPIVersion.VERSION2, protocol=MQTTProtocolVersion.MQTTv5)
        client.connect("127.0.0.1", broker.port)
        client.loop_start()
        many = Properties(PacketTypes.PUBLISH)  # type: ignore[no-untyped-call]
        many.UserProperty = [("calibrated", "x" * 100), ("by", "y" * 100)]
        for number, properties in enumerate((None, many, None)):
            client.publish("layup/north/tern/block", str(number), 1, properties=properties).wait_for_publish(5)
        client.loop_stop()
        wait_until(lambda: ours.values == [0.0, 1.0, 2.0])
        assert not any(p.rejects for p in ours.heard)
