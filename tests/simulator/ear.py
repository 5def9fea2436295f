"""A subscriber that keeps its session and acknowledges by hand, in batches, as the agent does."""

import select
import threading
from time import monotonic

from paho.mqtt.client import Client, MQTTMessage
from paho.mqtt.enums import CallbackAPIVersion, MQTTProtocolVersion


class Ear:
    """Hears everything under ``layup/``, on its own thread."""

    def __init__(self, host: str, port: int, commit_s: float = 0.0) -> None:
        self.heard: list[tuple[str, bytes]] = []
        self._commit_s = commit_s
        self._waiting: list[int] = []
        self._subscribed = threading.Event()
        self._stop = threading.Event()
        self._client = Client(
            CallbackAPIVersion.VERSION2,
            client_id="ear",
            clean_session=False,
            protocol=MQTTProtocolVersion.MQTTv311,
            manual_ack=True,
        )
        self._client.on_message = self._hear
        self._client.on_subscribe = lambda *_: self._subscribed.set()
        self._client.connect(host, port)
        self._client.subscribe("layup/#", qos=1)
        self._thread = threading.Thread(target=self._listen)
        self._thread.start()
        assert self._subscribed.wait(5)

    @property
    def readings(self) -> int:
        """How many readings were in what was heard."""
        return sum(payload.count(b'"n":') for topic, payload in self.heard if topic.endswith("/readings"))

    def wait_for(self, messages: int, within_s: float) -> None:
        """Wait until so many messages were heard."""
        until = monotonic() + within_s
        while len(self.heard) < messages and monotonic() < until:
            self._stop.wait(0.05)

    def close(self) -> None:
        """Go away; the broker keeps the session."""
        self._stop.set()
        self._thread.join()
        self._client.disconnect()

    def _hear(self, _client: Client, _data: object, message: MQTTMessage) -> None:
        self.heard.append((message.topic, message.payload))
        self._waiting.append(message.mid)

    def _listen(self) -> None:
        while not self._stop.is_set():
            sock = self._client.socket()
            if sock is None:
                return
            if select.select([sock], [], [], 0.1)[0]:
                before = -1
                while before != len(self.heard):
                    before = len(self.heard)
                    self._client.loop_read()
                self._stop.wait(self._commit_s)
                for mid in self._waiting:
                    self._client.ack(mid, 1)
                self._waiting.clear()
            self._client.loop_misc()
