"""The socket between paho and the broker, read and written in bulk.

paho reads a message by four calls of the system and writes an acknowledgement by one or two, and at each of them this
thread lets the others go first; with MQTT 5 it also makes its table of properties anew for every message. That is most
of what a message costs. So what is a plain message is taken out of the stream here, hundreds at a time, and
acknowledgements are put into it as they are gathered. Everything else, and whatever is odd, is paho's as before.
"""

import ssl
from collections.abc import Callable, Iterable
from typing import Protocol

from monitor.intake.packets import Publication, acknowledgements, next_packet, publication

CHUNK = 64 * 1024  # bytes: some 500 messages of one reading

_LATER = (BlockingIOError, ssl.SSLWantReadError, ssl.SSLWantWriteError)


class Plug(Protocol):
    """What is needed of a socket, plain or TLS."""

    def recv(self, bufsize: int, /) -> bytes:
        """Read what there is, at most so many bytes."""
        ...

    def send(self, data: bytes | bytearray, /) -> int:
        """Write what there is room for, and say how many bytes it was."""
        ...

    def setblocking(self, flag: bool, /) -> None:
        """Choose whether to wait."""
        ...

    def fileno(self) -> int:
        """Give the number to poll by."""
        ...

    def close(self) -> None:
        """Close it."""
        ...


class Wire:
    """A socket for paho, and beside it a shorter way for messages and their acknowledgements.

    Used by the network thread alone.

    Args:
        plug: the socket.
        with_properties: whether messages carry properties, as those of MQTT 5 do.
    """

    def __init__(self, plug: Plug, *, with_properties: bool) -> None:
        self._plug = plug
        self._with_properties = with_properties
        self._came = bytearray()  # not whole yet
        self._wanted = 0  # bytes without which it is not worth looking again
        self._for_paho = bytearray()
        self._unsent = bytearray()
        self._ended = False

    # The shorter way.

    def receive(self, take: Callable[[Publication], None], others: Callable[[], object]) -> None:
        """Read what there is, at most a chunk.

        Args:
            take: takes each plain message.
            others: has paho read a packet of another kind, in its place among the messages.
        """
        try:
            data = self._plug.recv(CHUNK)
        except _LATER:
            return
        if not data:
            self._ended = True
            others()  # paho finds the end, and says so
            return
        if self._came:
            self._came += data
            if len(self._came) < self._wanted:
                return
            data = bytes(self._came)
            self._came.clear()
        at = 0
        while (packet := next_packet(data, at)).whole:
            message = publication(data, packet, with_properties=self._with_properties)
            if message is not None:
                take(message)
            else:
                self._for_paho += data[at : packet.end]
                others()
            at = packet.end
        self._came += data[at:]
        self._wanted = packet.end - at

    def acknowledge(self, mids: Iterable[int]) -> None:
        """Acknowledge messages of QoS 1, in order."""
        self._unsent += acknowledgements(mids)
        self.flush()

    def flush(self) -> bool:
        """Write what is left; tell whether all of it is written."""
        while self._unsent:
            try:
                sent = self._plug.send(bytes(self._unsent))
            except _LATER:
                return False
            del self._unsent[:sent]
        return True

    @property
    def wants_write(self) -> bool:
        """Whether something is left to write."""
        return bool(self._unsent)

    # What paho asks of a socket.

    def recv(self, bufsize: int, /) -> bytes:
        """Give paho what is its own."""
        if not self._for_paho:
            if self._ended:
                return b""
            raise BlockingIOError
        given = bytes(self._for_paho[:bufsize])
        del self._for_paho[:bufsize]
        return given

    def send(self, data: bytes | bytearray, /) -> int:
        """Write a packet of paho's after what is left; whole, so that nothing comes to stand in the middle of it."""
        if not self.flush():
            raise BlockingIOError
        self._unsent += data
        self.flush()
        return len(data)

    def pending(self) -> int:
        """Say how many bytes are decrypted and not read: no poll tells of them."""
        return self._plug.pending() if isinstance(self._plug, ssl.SSLSocket) else 0

    def setblocking(self, flag: bool, /) -> None:
        """Choose whether to wait."""
        self._plug.setblocking(flag)

    def fileno(self) -> int:
        """Give the number to poll by."""
        return self._plug.fileno()

    def close(self) -> None:
        """Close it."""
        self._plug.close()
