"""One connection to the broker: learns what is retained there, then brings it to what is wanted."""

import logging
import uuid
from collections.abc import Callable
from dataclasses import dataclass
from time import monotonic

from paho.mqtt.client import Client, ConnectFlags, DisconnectFlags, MQTTMessage
from paho.mqtt.enums import CallbackAPIVersion, MQTTErrorCode, MQTTProtocolVersion
from paho.mqtt.properties import Properties
from paho.mqtt.reasoncodes import ReasonCode

from monitor.model.broker import BrokerAddress
from monitor.notify.retained import ROOT

log = logging.getLogger(__name__)

CONNECT_WITHIN_S = 5.0
LEARN_WITHIN_S = 15.0
FAREWELL_WITHIN_S = 0.6
LOOP_S = 0.2
MOST_UNACKNOWLEDGED = 100
_CLEARED = b""


class LostError(Exception):
    """The connection is not there, or is of no use."""


@dataclass(frozen=True, slots=True)
class Will:
    """What the broker is to retain once our connection ends: told it at the connection, as its will."""

    topic: str
    payload: bytes


class BrokerLink:
    """One connection.

    Args:
        broker: where it is.
        yard: whose alerts.
        will: what is to be retained when the connection has ended, by our leave or without it.
    """

    def __init__(self, broker: BrokerAddress, yard: str, will: Will | None = None) -> None:
        self._retained: dict[str, bytes] = {}
        self._marker, self._nonce = f"{ROOT}/{yard}/marker", uuid.uuid4().hex.encode()
        self._filter = f"{ROOT}/{yard}/#"
        self._settled = False
        self._accepted = False
        self._trouble = ""
        self._sent: set[int] = set()
        self._broker, self._will = broker, will
        # 3.1.1 is spoken by every broker, and nothing of 5 is needed here.
        self._client = client = Client(
            CallbackAPIVersion.VERSION2,
            client_id=f"{broker.client_id or f'coldberth-{yard}'}-alerts",
            clean_session=True,
            protocol=MQTTProtocolVersion.MQTTv311,
            reconnect_on_failure=False,
        )
        client.connect_timeout = CONNECT_WITHIN_S
        client.on_connect, client.on_disconnect = self._on_connect, self._on_disconnect
        client.on_subscribe, client.on_message, client.on_publish = (
            self._on_subscribe,
            self._on_message,
            self._on_publish,
        )

    def open(self, stopping: Callable[[], bool]) -> None:
        """Connect, and learn what the broker retains.

        Raises:
            LostError: where the broker cannot be had.
        """
        broker = self._broker
        try:
            if broker.username is not None:
                secret = None if broker.password is None else broker.password.get_secret_value()
                self._client.username_pw_set(broker.username, secret)
            if broker.tls:
                self._client.tls_set(ca_certs=None if broker.ca_file is None else str(broker.ca_file))
            if self._will is not None:
                self._client.will_set(self._will.topic, self._will.payload, qos=1, retain=True)
            self._client.connect(broker.host, broker.port, broker.keepalive_s)
        except (OSError, ValueError) as error:
            raise LostError(f"{broker.host}:{broker.port}: {error}") from error
        until = monotonic() + LEARN_WITHIN_S
        while not self._settled and not stopping():
            self.turn()
            if monotonic() > until:
                if not self._accepted:
                    raise LostError(f"{broker.host}:{broker.port} does not answer")
                log.warning("the broker does not let us read %s: alerts that ended unseen stay retained", self._filter)
                self._settled = True

    def turn(self) -> None:
        """Let paho read and write for a moment.

        Raises:
            LostError: where the connection has ended.
        """
        code = self._client.loop(LOOP_S)
        if self._trouble or code is not MQTTErrorCode.MQTT_ERR_SUCCESS:
            raise LostError(self._trouble or f"the connection ended: {code.name}")

    def bring_to(self, wanted: dict[str, bytes]) -> int:
        """Publish what is missing or differs and clear what is not wanted, as far as the broker keeps up; count it."""
        changes = {topic: _CLEARED for topic in self._retained if topic not in wanted}
        changes |= {topic: payload for topic, payload in wanted.items() if self._retained.get(topic) != payload}
        for done, (topic, payload) in enumerate(changes.items()):
            if not self._publish(topic, payload):
                return done
            if payload:
                self._retained[topic] = payload
            else:
                del self._retained[topic]
        return len(changes)

    def close(self) -> None:
        """Take leave of the broker, and leave there what it would say of us had we not."""
        if self._client.socket() is not None and self._settled and self._will is not None:
            # A broker forgets the will of whoever takes leave.
            until = monotonic() + FAREWELL_WITHIN_S
            waits = self._client.publish(self._will.topic, self._will.payload, qos=1, retain=True)
            self._sent.add(waits.mid)
            while waits.mid in self._sent and self._client.socket() is not None and monotonic() < until:
                self._client.loop(LOOP_S)
        if self._client.socket() is not None:
            self._client.disconnect()
            self._client.loop(LOOP_S)

    def _publish(self, topic: str, payload: bytes) -> bool:
        if len(self._sent) >= MOST_UNACKNOWLEDGED:
            return False
        info = self._client.publish(topic, payload, qos=1, retain=True)
        if info.rc is not MQTTErrorCode.MQTT_ERR_SUCCESS:
            raise LostError(f"a message was not taken: {info.rc.name}")
        self._sent.add(info.mid)
        return True

    def _on_connect(
        self, client: Client, _userdata: object, _flags: ConnectFlags, code: ReasonCode, _properties: Properties | None
    ) -> None:
        if code.is_failure:
            self._trouble = f"the broker refuses: {code}"
        else:
            self._accepted = True
            client.subscribe(self._filter, qos=1)

    def _on_subscribe(
        self, client: Client, _userdata: object, _mid: int, codes: list[ReasonCode], _properties: Properties | None
    ) -> None:
        if any(code.is_failure for code in codes):
            log.warning("the broker refuses us %s: alerts that ended unseen stay retained", self._filter)
            self._settled = True
        else:
            client.publish(self._marker, self._nonce, qos=1)

    def _on_message(self, client: Client, _userdata: object, message: MQTTMessage) -> None:
        if message.topic == self._marker:
            if bytes(message.payload) == self._nonce:
                self._settled = True
                client.unsubscribe(self._filter)
        elif message.retain and message.topic.count("/") == 3:  # noqa: PLR2004 - root, yard, vessel, alert
            self._retained[message.topic] = bytes(message.payload)

    def _on_publish(
        self, _client: Client, _userdata: object, mid: int, _code: ReasonCode, _properties: Properties | None
    ) -> None:
        self._sent.discard(mid)

    def _on_disconnect(
        self,
        _client: Client,
        _userdata: object,
        _flags: DisconnectFlags,
        code: ReasonCode,
        _properties: Properties | None,
    ) -> None:
        self._trouble = self._trouble or f"the connection ended: {code}"
