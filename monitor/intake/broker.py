"""Which broker to listen to and how, and the paho client that does it."""

from typing import Annotated, Literal

from paho.mqtt.client import Client
from paho.mqtt.enums import CallbackAPIVersion, MQTTProtocolVersion
from paho.mqtt.packettypes import PacketTypes
from paho.mqtt.properties import Properties
from pydantic import Field

from monitor.intake.wire import Wire
from monitor.model.broker import BrokerAddress

# How many messages a v5 broker may have sent that are not acknowledged: two batches of one reading each. With 3.1.1 the
# broker's own setting bounds it (Mosquitto: max_inflight_messages), and where it has none, that we stop reading
# (`Session`).
RECEIVE_MAXIMUM = 4000
# What a v5 broker need not send at all. Above the 64 KiB that are read, so that somewhat too large is still counted.
MAXIMUM_PACKET = 1024 * 1024

Protocol = Literal["5", "3.1.1"]


class BrokerConfig(BrokerAddress):
    """The broker's address, our name there, and how long it is to keep our messages while we are away."""

    protocol: Literal["auto", "5", "3.1.1"] = "auto"
    session_expiry_s: Annotated[int, Field(ge=1, le=0xFFFF_FFFF)] = 30 * 86_400

    def name(self, yard: str) -> str:
        """Give the client id: the broker keeps our messages under it, so it must stay the same and be ours alone."""
        return self.client_id or f"coldberth-{yard}"


class WiredClient(Client):
    """A paho client whose socket is a `Wire`."""

    def _create_socket(self) -> Wire:
        return Wire(super()._create_socket(), with_properties=self._protocol == MQTTProtocolVersion.MQTTv5)

    @property
    def wire(self) -> Wire | None:
        """The socket, None where there is none."""
        sock = self.socket()
        if sock is None or isinstance(sock, Wire):
            return sock
        raise TypeError("this paho-mqtt makes its socket in another way: install a version that the package names")


def make_client(config: BrokerConfig, protocol: Protocol, name: str) -> WiredClient:
    """Make a client that keeps its session at the broker and acknowledges only what it is told to.

    Raises:
        OSError: where the file of certificates cannot be read.
    """
    client = WiredClient(
        CallbackAPIVersion.VERSION2,
        client_id=name,
        clean_session=None if protocol == "5" else False,
        protocol=MQTTProtocolVersion.MQTTv5 if protocol == "5" else MQTTProtocolVersion.MQTTv311,
        reconnect_on_failure=False,
        manual_ack=True,
    )
    if config.username is not None:
        client.username_pw_set(config.username, config.password.get_secret_value() if config.password else None)
    if config.tls:
        client.tls_set(ca_certs=None if config.ca_file is None else str(config.ca_file))
    return client


def connect(client: Client, config: BrokerConfig, protocol: Protocol) -> None:
    """Open the connection and send CONNECT.

    Raises:
        OSError: where nobody answers, or TLS fails.
    """
    if protocol == "5":
        # Both are needed: without an expiry a v5 broker ends the session with the connection.
        wishes = Properties(PacketTypes.CONNECT)  # type: ignore[no-untyped-call]  # paho leaves it without annotations
        wishes.SessionExpiryInterval = config.session_expiry_s
        wishes.ReceiveMaximum = RECEIVE_MAXIMUM
        wishes.MaximumPacketSize = MAXIMUM_PACKET
        client.connect(config.host, config.port, config.keepalive_s, clean_start=False, properties=wishes)
    else:
        client.connect(config.host, config.port, config.keepalive_s)
