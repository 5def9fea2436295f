"""One publishing connection to a broker: QoS 1, in order, a window of messages, and nothing lost by an outage.

paho is driven from one thread by its calls for other people's event loops. So after a reconnect it sends again what was
not acknowledged, in the old order, before anything new can come between.
"""

import logging
import select
from collections.abc import Callable
from contextlib import suppress
from time import monotonic

from paho.mqtt.client import Client
from paho.mqtt.enums import CallbackAPIVersion, MQTTProtocolVersion
from paho.mqtt.reasoncodes import ReasonCode

log = logging.getLogger(__name__)

FIRST_DELAY_S = 0.2
LONGEST_DELAY_S = 5.0
CONNACK_WITHIN_S = 10.0
KEEPALIVE_S = 60


class Stopped(Exception):  # noqa: N818 - it is no error
    """The publisher was asked to stop while it waited."""


class Link:
    """A connection that messages are published on.

    Attributes:
        acknowledged: the sum of the weights of all messages that the broker has acknowledged.
    """

    def __init__(self, host: str, port: int, client_id: str, window: int, stopped: Callable[[], bool]) -> None:
        self.acknowledged = 0
        self._address = (host, port)
        self._window = window
        self._stopped = stopped
        self._waiting: dict[int, int] = {}
        self._connected = False
        self._delay_s = FIRST_DELAY_S
        self._client = Client(
            CallbackAPIVersion.VERSION2,
            client_id=client_id,
            clean_session=False,
            protocol=MQTTProtocolVersion.MQTTv311,
            reconnect_on_failure=False,
        )
        self._client.max_inflight_messages_set(window)
        self._client.on_connect = lambda _client, _data, _flags, reason, *_: self._has_answered(reason)
        self._client.on_disconnect = lambda *_: self._has_disconnected()
        self._client.on_publish = lambda _client, _data, mid, *_: self._has_published(mid)

    @property
    def unacknowledged(self) -> int:
        """How many messages the broker has not acknowledged yet."""
        return len(self._waiting)

    def publish(self, topic: str, payload: bytes, weight: int) -> None:
        """Publish a message, once there is room in the window for it.

        Args:
            topic: its topic.
            payload: its payload.
            weight: what it counts for in `acknowledged`.

        Raises:
            Stopped: where the wait for room was ended.
        """
        while not self._connected or len(self._waiting) >= self._window:
            self.attend(0.5)
        mid = self._client.publish(topic, payload, qos=1).mid
        self._waiting[mid] = weight
        if not len(self._waiting) % 64:
            self._serve(0.0)

    def attend(self, wait_s: float) -> None:
        """Look after the connection for as long as something happens on it, at most for a time.

        Raises:
            Stopped: where we were asked to stop.
        """
        if self._stopped():
            raise Stopped
        if self._connected:
            self._serve(wait_s)
        else:
            self._connect()

    def connect(self) -> None:
        """Wait until the broker has accepted us.

        Raises:
            Stopped: where we were asked to stop.
        """
        while not self._connected:
            self.attend(0.5)

    def drain(self) -> None:
        """Wait until everything is acknowledged."""
        while self._waiting:
            self.attend(0.5)

    def close(self, within_s: float) -> None:
        """Give what is under way a last chance to be acknowledged, and say good-bye."""
        until = monotonic() + within_s
        while self._waiting and self._connected and monotonic() < until:
            self._serve(0.1)
        with suppress(OSError, ValueError):
            self._client.disconnect()

    def _serve(self, wait_s: float) -> None:
        sock = self._client.socket()
        if sock is None:
            return
        readable, writable, _ = select.select([sock], [sock] if self._client.want_write() else [], [], wait_s)
        if readable:
            self._client.loop_read()
        if writable:
            self._client.loop_write()
        self._client.loop_misc()

    def _connect(self) -> None:
        try:
            # paho ends what is left of an old connection, and takes what was under way on it for unsent.
            self._client.connect(*self._address, keepalive=KEEPALIVE_S)
            until = monotonic() + CONNACK_WITHIN_S
            while not self._connected and self._client.socket() is not None and monotonic() < until:
                if self._stopped():
                    raise Stopped
                self._serve(0.2)
            trouble = "not accepted"
        except OSError as error:
            trouble = str(error)
        if not self._connected:
            log.warning("broker %s:%d: %s; trying again in %.1f s", *self._address, trouble, self._delay_s)
            self._wait_to_retry()

    def _wait_to_retry(self) -> None:
        until = monotonic() + self._delay_s
        self._delay_s = min(2 * self._delay_s, LONGEST_DELAY_S)
        while monotonic() < until:
            if self._stopped():
                raise Stopped
            select.select([], [], [], 0.1)

    def _has_answered(self, reason: ReasonCode) -> None:
        if not reason.is_failure:
            self._connected = True
            self._delay_s = FIRST_DELAY_S

    def _has_disconnected(self) -> None:
        self._connected = False

    def _has_published(self, mid: int) -> None:
        self.acknowledged += self._waiting.pop(mid, 0)
