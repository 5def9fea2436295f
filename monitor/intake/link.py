"""One connection to the broker, from CONNECT to its end. A new connection is a new link, with the next number."""

import json
import logging
import traceback
from collections import Counter, deque
from collections.abc import Callable
from time import monotonic
from typing import Any

from paho.mqtt.client import Client, ConnectFlags, DisconnectFlags, MQTTMessage, MQTTMessageInfo
from paho.mqtt.properties import Properties
from paho.mqtt.reasoncodes import ReasonCode
from paho.mqtt.subscribeoptions import SubscribeOptions

from monitor.intake.broker import BrokerConfig, Protocol, make_client
from monitor.intake.packets import Publication
from monitor.intake.reader import Reader
from monitor.intake.refusal import Refusal
from monitor.model.parcel import Parcel, RejectReason

log = logging.getLogger(__name__)

UNSUPPORTED = "Unsupported protocol version"


class Link:
    """One connection: what the broker said to it, and its callbacks.

    Attributes:
        number: the number of the connection.
        client: the paho client behind it.
        protocol: which MQTT it speaks.
        nonce: what stands in the marker it sends.
        answered: whether the broker answered CONNECT.
        accepted: whether the broker let it in.
        kept: whether the broker still had our session.
        caught_up: whether its marker has come back.
        trouble: what went wrong, in words; None while nothing has.
    """

    def __init__(
        self,
        config: BrokerConfig,
        protocol: Protocol,
        number: int,
        nonce: str,
        reader: Reader,
        deliver: Callable[[Parcel], None],
        errors: Counter[str],
    ) -> None:
        self.number = number
        self.protocol: Protocol = protocol
        self.nonce = nonce
        self.answered = False
        self.accepted = False
        self.kept = False
        self.caught_up = False
        self.trouble: str | None = None
        self._muted = False
        self._misc_at = 0.0
        self._acked: deque[int] = deque()
        self._reader = reader
        self._deliver = deliver
        self._errors = errors
        self.client = make_client(config, protocol, config.name(reader.topics.yard))
        self.client.will_set(reader.topics.agent, _state("gone"), qos=1, retain=True)
        self.client.on_connect = self._on_connect
        self.client.on_subscribe = self._on_subscribe
        self.client.on_message = self._on_message
        self.client.on_disconnect = self._on_disconnect
        # With this callback set paho never writes to the socket from the thread that acknowledges.
        self.client.on_socket_register_write = _leave_it_to_the_network_thread

    @property
    def open(self) -> bool:
        """Whether there still is a socket."""
        return self.client.socket() is not None

    def read(self) -> None:
        """Read what there is, and take the messages in."""
        wire = self.client.wire
        if wire is not None:
            wire.receive(self._take, self.client.loop_read)

    def write(self) -> None:
        """Write what is to be written, as far as there is room."""
        wire = self.client.wire
        if wire is None:
            return
        if self._acked:
            mids = [self._acked.popleft() for _ in range(len(self._acked))]
            wire.acknowledge(mids)
        wire.flush()
        if self.client.want_write():
            self.client.loop_write()

    @property
    def wants_write(self) -> bool:
        """Whether something is left to write."""
        wire = self.client.wire
        return bool(self._acked) or self.client.want_write() or (wire is not None and wire.wants_write)

    def ack(self, parcel: Parcel) -> None:
        """Have a parcel acknowledged by the next `write`; from any thread."""
        if parcel.qos == 1:
            self._acked.append(parcel.mid)
        elif parcel.qos:
            self.client.ack(parcel.mid, parcel.qos)

    def keep_alive(self) -> None:
        """Let paho send its ping, and give up a broker that does not answer it; cheap enough to be called always."""
        now = monotonic()
        if now >= self._misc_at:
            self._misc_at = now + 0.5
            self.client.loop_misc()

    def take_leave(self, state: str, **more: str) -> MQTTMessageInfo:
        """Take nothing more in, and publish the agent's last state."""
        self._muted = True
        return self._tell(state, **more)

    def close(self) -> None:
        """Close the socket. Without a DISCONNECT before it the broker publishes our will."""
        sock = self.client.socket()
        if sock is not None:
            sock.close()

    def _tell(self, state: str, **more: str) -> MQTTMessageInfo:
        return self.client.publish(self._reader.topics.agent, _state(state, **more), qos=1, retain=True)

    def _on_connect(
        self, client: Client, _userdata: object, flags: ConnectFlags, code: ReasonCode, _properties: Properties | None
    ) -> None:
        self.answered = True
        if code.is_failure:
            self.trouble = f"the broker refuses: {code}"
            return
        self.accepted = True
        self.kept = flags.session_present
        filters = self._reader.filters
        if self.protocol == "5":
            # A retained message is sent when the subscription is new, and not again at every reconnect.
            options = SubscribeOptions(qos=1, retainHandling=SubscribeOptions.RETAIN_SEND_IF_NEW_SUB)
            client.subscribe([(topic_filter, options) for topic_filter in filters])
        else:
            client.subscribe([(topic_filter, 1) for topic_filter in filters])

    def _on_subscribe(
        self, client: Client, _userdata: object, _mid: int, codes: list[ReasonCode], _properties: Properties | None
    ) -> None:
        refused = [f for f, code in zip(self._reader.filters, codes, strict=False) if code.is_failure]
        if refused:
            self.trouble = f"the broker refuses us the topics {', '.join(refused)}"
            log.error("%s; check its access list", self.trouble)
        self._tell("here", nonce=self.nonce, protocol=self.protocol)
        client.publish(self._reader.topics.marker, self.nonce, qos=1)

    def _on_disconnect(
        self,
        _client: Client,
        _userdata: object,
        _flags: DisconnectFlags,
        code: ReasonCode,
        _properties: Properties | None,
    ) -> None:
        if self.trouble is None:
            self.trouble = f"the connection ended: {code}" if self.answered else "the broker hung up on CONNECT"

    def _on_message(self, _client: Client, _userdata: object, message: MQTTMessage) -> None:
        """Take in a message that `Wire` has left to paho."""
        topic = message._topic  # noqa: SLF001 - as bytes, which paho has no public name for: they may be no UTF-8
        self._take(Publication(topic, bytes(message.payload), message.mid, message.qos, message.retain))

    def _take(self, message: Publication) -> None:
        if self._muted:  # left unacknowledged: the broker brings it again
            return
        topic, payload, mid, qos, retained = message
        try:
            parcel = self._reader.read(
                topic.decode(), payload, mid=mid, qos=qos, session=self.number, retained=retained
            )
            self._deliver(parcel)
        except Exception as error:  # noqa: BLE001 - whatever it was, the stream goes on and the message is acknowledged
            self._note(error)
            self._deliver(self._unreadable(message, error))
            return
        if parcel.marker is not None and parcel.marker.nonce == self.nonce:
            self.caught_up = True

    def _note(self, error: Exception) -> None:
        frames = traceback.extract_tb(error.__traceback__)
        cause = f"{type(error).__name__} at {frames[-1].filename}:{frames[-1].lineno}" if frames else repr(error)
        self._errors[cause] += 1
        if self._errors[cause] == 1:
            log.error("a message could not be taken in, and others may follow: %s", cause, exc_info=error)

    def _unreadable(self, message: Publication, error: Exception) -> Parcel:
        try:
            topic = message.topic.decode()
        except UnicodeDecodeError:
            topic = "(not UTF-8)"
        parcel = Parcel(message.mid, message.qos, self.number, message.retained, topic)
        parcel.rejects.append(Refusal(RejectReason.MALFORMED, f"{type(error).__name__}: {error}").on(topic))
        return parcel


def _state(state: str, **more: str) -> bytes:
    return json.dumps({"state": state, **more}).encode()


def _leave_it_to_the_network_thread(_client: Client, _userdata: object, _socket: Any) -> None:  # noqa: ANN401 - paho's
    pass
