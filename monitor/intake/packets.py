"""Packets of MQTT in a stream of bytes: where each ends, what a plain message holds, and acknowledgements."""

import struct
from collections.abc import Iterable
from typing import NamedTuple

PUBLISH, QOS, RETAIN = 0x30, 0x06, 0x01
PUBACK = 0x4002  # and that two bytes follow: an acknowledgement without a reason is the same in 3.1.1 and 5
MOST_LENGTH_BYTES = 4


class Packet(NamedTuple):
    """A packet's place in the bytes, or what is known of it so far.

    Attributes:
        kind: its first byte.
        body: where its own bytes begin.
        end: where they end; where it is not whole, how far the bytes must reach at least.
        whole: whether it is there to its end.
    """

    kind: int
    body: int
    end: int
    whole: bool


class Publication(NamedTuple):
    """A plain message: of QoS 0 or 1."""

    topic: bytes
    payload: bytes
    mid: int
    qos: int
    retained: bool


def next_packet(data: bytes, at: int) -> Packet:
    """Find the packet that begins at a place. One whose length is nonsense goes to the end of what there is.

    >>> next_packet(bytes([0xD0, 0, 0xD0]), 0)
    Packet(kind=208, body=2, end=2, whole=True)
    >>> next_packet(bytes([0xD0, 0, 0xD0]), 2).whole
    False
    """
    there = len(data)
    length = shift = 0
    for body in range(at + 1, min(there, at + 1 + MOST_LENGTH_BYTES)):
        byte = data[body]
        length |= (byte & 0x7F) << shift
        if byte < _MANY:  # the top bit says that another follows
            end = body + 1 + length
            return Packet(data[at], body + 1, end, end <= there)
        shift += 7
    if there > at + MOST_LENGTH_BYTES:
        return Packet(0, there, there, whole=True)  # left to paho, which ends the connection
    return Packet(0, there, max(there, at + 1) + 1, whole=False)


def publication(data: bytes, packet: Packet, *, with_properties: bool) -> Publication | None:
    """Read a plain message; None where the packet is none, or is not as it should be."""
    kind, body, end, _ = packet
    qos = (kind & QOS) >> 1
    if kind & 0xF0 != PUBLISH or qos > 1 or end - body < _LEAST:
        return None
    at = body + 2 + (data[body] << 8 | data[body + 1])
    topic = data[body + 2 : at]
    mid = 0
    if qos:
        if at + 2 > end:
            return None
        mid = data[at] << 8 | data[at + 1]
        at += 2
    if with_properties:
        if at >= end or data[at] >= _MANY:
            return None
        # None of them changes how a message is read; an alias for a topic must not come, as we allow none.
        at += 1 + data[at]
    if at > end or not topic:
        return None
    return Publication(topic, data[at:end], mid, qos, bool(kind & RETAIN))


def acknowledgements(mids: Iterable[int]) -> bytes:
    """Write acknowledgements of messages of QoS 1.

    >>> acknowledgements([1, 258]).hex()
    '4002000140020102'
    """
    return b"".join([_ACK(PUBACK, mid) for mid in mids])


_ACK = struct.Struct(">HH").pack
_LEAST, _MANY = 3, 0x80
