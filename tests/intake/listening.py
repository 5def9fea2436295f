"""What the tests of the session share: a listener that keeps what it hears, and somebody who publishes."""

import json
import queue
import socket
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from typing import Self

import paho.mqtt.client as paho
from paho.mqtt.enums import CallbackAPIVersion

from monitor.intake.broker import BrokerConfig
from monitor.intake.reader import Reader
from monitor.intake.session import Session
from monitor.intake.topics import Topics
from monitor.model.parcel import Parcel
from monitor.model.ports import Directory

NORTH = Topics("north")


def wait_until(holds: Callable[[], bool], seconds: float = 15) -> None:
    until = time.monotonic() + seconds
    while not holds():
        assert time.monotonic() < until, "it does not come"
        time.sleep(0.005)


def stays(holds: Callable[[], bool], seconds: float = 0.5) -> bool:
    until = time.monotonic() + seconds
    while time.monotonic() < until:
        if not holds():
            return False
        time.sleep(0.02)
    return True


class Listener:
    """A session whose parcels are kept, and acknowledged when the test says so."""

    def __init__(self, config: BrokerConfig, directory: Directory, backlog: Callable[[], int] = lambda: 0) -> None:
        self.heard: list[Parcel] = []
        self.session = Session(config, Reader("north", directory), self.heard.append, backlog)

    def __enter__(self) -> Self:
        self.session.start()
        return self

    def __exit__(self, *_: object) -> None:
        self.session.stop()

    @property
    def readings(self) -> list[Parcel]:
        return [p for p in self.heard if p.marker is None]

    @property
    def values(self) -> list[float]:
        return [r.value for p in self.heard for r in p.readings]

    def catch_up(self) -> None:
        """Acknowledge all that comes, as a writer would, until the marker has come back."""
        done = 0
        until = time.monotonic() + 30
        while True:
            caught_up = self.session.caught_up
            batch = self.heard[done : done + 500]
            self.session.ack(batch)
            done += len(batch)
            if caught_up and not batch:
                return
            assert time.monotonic() < until, f"not caught up after {done} parcels: {self.session.trouble}"
            time.sleep(0.002)


@contextmanager
def publisher(port: int) -> Iterator[paho.Client]:
    client = paho.Client(CallbackAPIVersion.VERSION2)
    client.max_inflight_messages_set(1000)
    client.connect("127.0.0.1", port)
    client.loop_start()
    try:
        yield client
    finally:
        client.disconnect()
        client.loop_stop()


def publish(port: int, values: range, *, qos: int = 1, retain: bool = False) -> None:
    """Publish bare numbers of tern's block, and wait until the broker has them."""
    with publisher(port) as client:
        sent = [client.publish(NORTH.bare("tern", "block"), str(v), qos=qos, retain=retain) for v in values]
        for info in sent:
            info.wait_for_publish(20)


@contextmanager
def watched_state(port: int) -> Iterator["queue.Queue[str]"]:
    """Hear the agent's states as they are published."""
    states: queue.Queue[str] = queue.Queue()
    client = paho.Client(CallbackAPIVersion.VERSION2)
    client.on_message = lambda _c, _u, message: states.put(json.loads(message.payload)["state"])
    client.on_connect = lambda c, *_: c.subscribe(NORTH.agent, 1)
    subscribed = threading.Event()
    client.on_subscribe = lambda *_: subscribed.set()
    client.connect("127.0.0.1", port)
    client.loop_start()
    assert subscribed.wait(5)
    try:
        yield states
    finally:
        client.disconnect()
        client.loop_stop()


class OldBroker:
    """A broker that knows only 3.1.1: it passes that on to a real one, and treats MQTT 5 as it is told."""

    def __init__(self, port: int, answer: bytes) -> None:
        self.seen: list[int] = []
        self._behind = port
        self._answer = answer
        self._server = socket.create_server(("127.0.0.1", 0))
        self.port: int = self._server.getsockname()[1]
        self._threads = [threading.Thread(target=self._accept, daemon=True)]
        self._threads[0].start()

    def close(self) -> None:
        self._server.shutdown(socket.SHUT_RDWR)
        self._server.close()
        for thread in self._threads:
            thread.join(5)

    def _accept(self) -> None:
        with suppress(OSError):
            while True:
                client, _ = self._server.accept()
                first = client.recv(4096)
                level = first[first.index(b"MQTT") + 4]
                self.seen.append(level)
                if level == 5:
                    client.sendall(self._answer)
                    client.close()
                    continue
                behind = socket.create_connection(("127.0.0.1", self._behind))
                behind.sendall(first)
                for pair in ((client, behind), (behind, client)):
                    self._threads.append(threading.Thread(target=_pass_on, args=pair, daemon=True))
                    self._threads[-1].start()


def _pass_on(source: socket.socket, sink: socket.socket) -> None:
    with suppress(OSError):
        while data := source.recv(65536):
            sink.sendall(data)
    with suppress(OSError):
        sink.shutdown(socket.SHUT_RDWR)
    source.close()
