"""Open alerts, retained at the broker for other programs, and cleared when they end.

Only the wanted state is kept in memory, never a queue: after any outage the broker is brought to what is open now. At
every connection the board learns what the broker retains (all that comes before its own marker comes back), clears what
is no longer open, and publishes what is missing or differs. One thread does everything, on a client of its own.
"""

import logging
import threading
import uuid
from collections.abc import Callable, Collection
from pathlib import Path
from time import monotonic
from typing import Annotated, Self
from zoneinfo import ZoneInfo

from paho.mqtt.client import Client, ConnectFlags, DisconnectFlags, MQTTMessage
from paho.mqtt.enums import CallbackAPIVersion, MQTTErrorCode, MQTTProtocolVersion
from paho.mqtt.properties import Properties
from paho.mqtt.reasoncodes import ReasonCode
from pydantic import BaseModel, ConfigDict, Field, SecretStr, model_validator

from monitor.model.alert import Alert
from monitor.model.outbox import OpenAlerts
from monitor.model.vessel import Vessel
from monitor.notify.backoff import Backoff
from monitor.notify.retained import ROOT, alert_payload, alert_topic

log = logging.getLogger(__name__)

BACKOFF = Backoff(first_s=1.0, longest_s=60.0)
CONNECT_WITHIN_S = 5.0
LEARN_WITHIN_S = 15.0
LOOP_S = 0.2
MOST_UNACKNOWLEDGED = 100
LOOK_EVERY_S = 0.25
LOOK_AGAIN_S = 60.0
STOP_WITHIN_S = 2.0
_GONE = b""


class AlertBrokerConfig(BaseModel):
    """The broker that alerts are published to."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    host: Annotated[str, Field(min_length=1)] = "localhost"
    port: Annotated[int, Field(ge=1, le=65_535)] = 1883
    username: str | None = None
    password: SecretStr | None = None
    tls: bool = False
    ca_file: Path | None = None
    client_id: Annotated[str, Field(min_length=1, max_length=128)] | None = None
    keepalive_s: Annotated[int, Field(ge=1, le=65_535)] = 60

    @model_validator(mode="after")
    def _holds_together(self) -> Self:
        if self.password is not None and self.username is None:
            raise ValueError("a password needs its username")
        if self.ca_file is not None and not self.tls:
            raise ValueError("ca_file is only used with tls = true")
        return self


class LostError(Exception):
    """The connection is not there, or is of no use."""


class AlertBoard:
    """Keeps the broker's retained alerts equal to the open ones.

    Attributes:
        failing: why nothing can be published now, empty where nothing stands in the way.
    """

    def __init__(
        self, config: AlertBrokerConfig, yard: str, alerts: OpenAlerts, zone: ZoneInfo, *, backoff: Backoff = BACKOFF
    ) -> None:
        self.failing = "not connected yet"
        self._config, self._yard, self._alerts, self._zone, self._backoff = config, yard, alerts, zone, backoff
        self._wanted = _Wanted(alerts, yard, zone)
        self._changed = threading.Event()
        self._stopping = threading.Event()
        self._thread = threading.Thread(target=self._run, name="alerts", daemon=True)

    def start(self) -> None:
        """Start publishing."""
        self._changed.set()
        self._thread.start()

    def changed(self, _ids: Collection[str] = ()) -> None:
        """Say that alerts have changed; what is open is then read again. Cheap, from any thread."""
        self._changed.set()

    def stop(self) -> None:
        """End within about two seconds. What is retained stays: alerts do not end with the agent."""
        self._stopping.set()
        self._thread.join(STOP_WITHIN_S)

    def _run(self) -> None:
        tries = 0
        while not self._stopping.is_set():
            link = _Link(self._config, self._yard)
            try:
                link.open(self._stopping.is_set)
                tries = 0
                self._mended()
                self._keep(link)
            except LostError as error:
                self._note(str(error))
            except Exception as error:  # the thread must outlive whatever it was
                log.exception("alerts cannot be published now")
                self.failing = repr(error)
            finally:
                link.close()
            tries += 1
            self._stopping.wait(self._backoff.after_s(tries, self._yard))

    def _keep(self, link: "_Link") -> None:
        """Publish what differs, as long as the connection lasts."""
        looked = -LOOK_AGAIN_S
        while not self._stopping.is_set():
            if monotonic() - looked >= (LOOK_EVERY_S if self._changed.is_set() else LOOK_AGAIN_S):
                self._changed.clear()
                self._wanted.read()
                looked = monotonic()
            link.bring_to(self._wanted.payloads)
            link.turn()

    def _note(self, reason: str) -> None:
        if self._stopping.is_set():
            return
        if not self.failing or self.failing == "not connected yet":
            log.error("alerts cannot be published over MQTT: %s; the open ones follow when the broker is back", reason)
        self.failing = reason

    def _mended(self) -> None:
        if self.failing:
            log.info("alerts are published over MQTT")
        self.failing = ""


class _Wanted:
    """What is to be retained: a payload by topic, written again only where its alert has changed."""

    def __init__(self, alerts: OpenAlerts, yard: str, zone: ZoneInfo) -> None:
        self.payloads: dict[str, bytes] = {}
        self._alerts, self._yard, self._zone = alerts, yard, zone
        self._from: dict[str, tuple[Alert, Vessel]] = {}

    def read(self) -> None:
        open_now = {alert_topic(self._yard, alert): (alert, vessel) for alert, vessel in self._alerts.open_alerts()}
        self.payloads = {
            topic: self.payloads[topic] if self._from.get(topic) == pair else alert_payload(*pair, self._zone)
            for topic, pair in open_now.items()
        }
        self._from = open_now


class _Link:
    """One connection: learns what is retained, then brings it to what is wanted."""

    def __init__(self, config: AlertBrokerConfig, yard: str) -> None:
        self._retained: dict[str, bytes] = {}
        self._marker, self._nonce = f"{ROOT}/{yard}/marker", uuid.uuid4().hex.encode()
        self._filter = f"{ROOT}/{yard}/#"
        self._settled = False
        self._accepted = False
        self._trouble = ""
        self._sent: set[int] = set()
        self._config = config
        # 3.1.1 is spoken by every broker, and nothing of 5 is needed here.
        self._client = client = Client(
            CallbackAPIVersion.VERSION2,
            client_id=config.client_id or f"coldberth-{yard}-alerts",
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
        config = self._config
        try:
            if config.username is not None:
                secret = None if config.password is None else config.password.get_secret_value()
                self._client.username_pw_set(config.username, secret)
            if config.tls:
                self._client.tls_set(ca_certs=None if config.ca_file is None else str(config.ca_file))
            self._client.connect(config.host, config.port, config.keepalive_s)
        except (OSError, ValueError) as error:
            raise LostError(f"{config.host}:{config.port}: {error}") from error
        until = monotonic() + LEARN_WITHIN_S
        while not self._settled and not stopping():
            self.turn()
            if monotonic() > until:
                if not self._accepted:
                    raise LostError(f"{config.host}:{config.port} does not answer")
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

    def bring_to(self, wanted: dict[str, bytes]) -> None:
        """Publish what is missing or differs and clear what is not wanted, as far as the broker keeps up."""
        for topic in [t for t in self._retained if t not in wanted]:
            if not self._publish(topic, _GONE):
                return
            del self._retained[topic]
        for topic, payload in wanted.items():
            if self._retained.get(topic) != payload:
                if not self._publish(topic, payload):
                    return
                self._retained[topic] = payload

    def close(self) -> None:
        """Take leave of the broker."""
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
