"""One publishing connection to a broker: QoS 1, in order, a window of messages, and what an outage leaves kept.

paho is driven from one thread by its calls for other people's event loops, and each connection has a client of its own:
what is not acknowledged stands in our own `Outbox`, so after a reconnect it is sent again in the old order before
anything new can come between, and a store that is full can drop its oldest message, under way or not.
"""

import logging
import select
from collections.abc import Callable
from contextlib import suppress
from time import monotonic

from paho.mqtt.client import Client
from paho.mqtt.enums import CallbackAPIVersion, MQTTProtocolVersion
from paho.mqtt.reasoncodes import ReasonCode

from simulator.outbox import Letter, Outbox

log = logging.getLogger(__name__)

FIRST_DELAY_S = 0.2
LONGEST_DELAY_S = 5.0
CONNACK_WITHIN_S = 10.0
KEEPALIVE_S = 60
# Answers are read once in so many messages: to ask the system at each of them would cost more than the message.
SERVE_EVERY = 64


class Stopped(Exception):  # noqa: N818 - it is no error
    """The publisher was asked to stop while it waited."""


class Link:
    """A connection that messages are published on.

    Attributes:
        acknowledged: the sum of the weights of all messages that the broker has acknowledged.
        is_up: whether the broker hears us now.
    """

    def __init__(
        self,
        host: str,
        port: int,
        client_id: str,
        window: int,
        stopped: Callable[[], bool],
        store: int | None = None,
    ) -> None:
        """Make one, not connected yet.

        Args:
            host: the broker.
            port: its port.
            client_id: who we are to it.
            window: how many messages may be under way.
            stopped: asked at least twice a second.
            store: how many messages each gateway keeps while the broker is away; None where publishing waits for it.
        """
        self.acknowledged = 0
        self.is_up = False
        self._address = (host, port)
        self._client_id = client_id
        self._window = window
        self._stopped = stopped
        self._waits = store is None
        self._outbox = Outbox(store)
        self._under_way: dict[int, int] = {}
        self._client: Client | None = None
        self._refusal = ""
        self._delay_s = FIRST_DELAY_S
        self._retry_at = 0.0
        self._away_since: float | None = None

    @property
    def unacknowledged(self) -> int:
        """How many messages the broker has not acknowledged yet."""
        return len(self._outbox)

    @property
    def dropped(self) -> int:
        """How many messages full stores have dropped."""
        return self._outbox.dropped

    def publish(self, topic: str, payload: bytes, weight: int, gateway: str = "", *, retain: bool = False) -> None:
        """Publish a message once there is room for it; while the broker is away, wait for it or store the message.

        Args:
            topic: its topic.
            payload: its payload.
            weight: what it counts for in `acknowledged`.
            gateway: whose store it lies in; what no gateway sends is kept without bound.
            retain: whether the broker is to keep it.

        Raises:
            Stopped: where the wait for room was ended.
        """
        while not self._has_room(gateway):
            self.attend(0.5)
        self._outbox.put(Letter(topic, payload, weight, gateway, retain))
        self._hand_over()
        if not len(self._outbox) % SERVE_EVERY:
            self._serve(0.0)

    def attend(self, wait_s: float) -> None:
        """Look after the connection for as long as something happens on it, at most for a time.

        Raises:
            Stopped: where we were asked to stop.
        """
        if self._stopped():
            raise Stopped
        if self.is_up:
            self._serve(wait_s)
        elif (left_s := self._retry_at - monotonic()) > 0:
            select.select([], [], [], min(left_s, wait_s))
        else:
            self._connect()

    def connect(self) -> None:
        """Wait until the broker has accepted us.

        Raises:
            Stopped: where we were asked to stop.
        """
        while not self.is_up:
            self.attend(0.5)

    def drain(self) -> None:
        """Wait until everything is acknowledged."""
        while self._outbox:
            self.attend(0.5)

    def close(self, within_s: float) -> None:
        """Give what is under way a last chance to be acknowledged, and say good-bye."""
        until = monotonic() + within_s
        while self._outbox and self.is_up and monotonic() < until:
            self._serve(0.1)
        self._hang_up()

    def _has_room(self, gateway: str) -> bool:
        """Whether to take a message now: a broker that is there is waited for, whatever the store holds."""
        if self.is_up:
            return len(self._outbox) < self._window and not self._outbox.is_full(gateway)
        return not self._waits

    def _hand_over(self) -> None:
        """Give paho what the window has room for."""
        client = self._client
        while client is not None and self.is_up and len(self._under_way) < self._window:
            following = self._outbox.next()
            if following is None:
                return
            serial, letter = following
            self._under_way[client.publish(letter.topic, letter.payload, qos=1, retain=letter.retain).mid] = serial

    def _serve(self, wait_s: float) -> None:
        client = self._client
        sock = None if client is None else client.socket()
        if client is None or sock is None:
            return
        readable, writable, _ = select.select([sock], [sock] if client.want_write() else [], [], wait_s)
        if readable:
            client.loop_read()
        if writable:
            client.loop_write()
        client.loop_misc()
        self._hand_over()

    def _connect(self) -> None:
        self._hang_up()
        client = self._client = self._new_client()
        try:
            client.connect(*self._address, keepalive=KEEPALIVE_S)
            until = monotonic() + CONNACK_WITHIN_S
            while not self.is_up and client.socket() is not None and monotonic() < until:
                if self._stopped():
                    raise Stopped
                self._serve(0.2)
            trouble = self._refusal or "it does not answer"
        except OSError as error:
            trouble = str(error)
        if self.is_up:
            self._is_back()
        else:
            self._is_away(trouble)

    def _new_client(self) -> Client:
        client = Client(
            CallbackAPIVersion.VERSION2,
            client_id=self._client_id,
            clean_session=True,
            protocol=MQTTProtocolVersion.MQTTv311,
            reconnect_on_failure=False,
        )
        client.max_inflight_messages_set(self._window)
        client.on_connect = lambda _client, _data, _flags, reason, *_: self._has_answered(reason)
        client.on_disconnect = lambda *_: self._has_disconnected()
        client.on_publish = lambda _client, _data, mid, *_: self._has_published(mid)
        return client

    def _hang_up(self) -> None:
        if self._client is not None:
            with suppress(OSError, ValueError):
                self._client.disconnect()
            self._client = None
        self.is_up = False

    def _is_away(self, trouble: str) -> None:
        if self._away_since is None:
            self._away_since = monotonic()
            log.warning("broker %s:%d: %s; trying again until it is there", *self._address, trouble)
        self._retry_at = monotonic() + self._delay_s
        self._delay_s = min(2 * self._delay_s, LONGEST_DELAY_S)

    def _is_back(self) -> None:
        if self._away_since is not None:
            log.warning("broker %s:%d: there after %.0f s", *self._address, monotonic() - self._away_since)
        self._away_since = None
        self._delay_s = FIRST_DELAY_S

    def _has_answered(self, reason: ReasonCode) -> None:
        self._refusal = f"it refuses us: {reason}" if reason.is_failure else ""
        if not reason.is_failure:
            self._under_way.clear()
            self._outbox.begin_again()
            self.is_up = True

    def _has_disconnected(self) -> None:
        self.is_up = False

    def _has_published(self, mid: int) -> None:
        serial = self._under_way.pop(mid, None)
        if serial is not None:
            self.acknowledged += self._outbox.acknowledge(serial)
