"""The demo's own MQTT broker: an installed package (Rust) in a child process, on loopback and a free port.

It speaks MQTT 3.1.1 and keeps everything in memory: enough for a demo and a test, and no broker for a yard.
"""

import socket
import tempfile
from dataclasses import dataclass, field
from pathlib import Path
from typing import Protocol

import iotcore

HOST = "127.0.0.1"
STARTS_WITHIN_S = 10.0
# A free port can be taken by somebody else between asking for it and using it.
TRIES = 5

# The broker keeps what it passes on in segments, and drops the oldest one when there are too many, heard or not: that
# is how a slow subscriber would lose messages. A whole winter at the demo's cadence is 25 MB, at ten minutes 150 MB; 64
# segments of 16 MB hold it all. However many messages it is allowed here, it sends no subscriber more than 100 that are
# not acknowledged (a constant of rumqttd 0.20): a subscriber that only acknowledges every 50 ms gets 2,000 a second.
SETTINGS = """\
id = 0

[router]
id = 0
max_connections = 64
max_outgoing_packet_count = 1000
max_segment_size = {segment_bytes}
max_segment_count = {segments}

[v4.plain]
name = "plain"
listen = "{host}:{port}"
next_connection_delay_ms = 1

[v4.plain.connections]
connection_timeout_ms = 60000
max_payload_size = 262144
max_inflight_count = 1000
dynamic_filters = true
"""
SEGMENT_BYTES = 16 * 1024 * 1024
SEGMENTS = 64


class _Process(Protocol):
    @property
    def is_running(self) -> bool: ...

    def stop(self, timeout: float = ...) -> None: ...


@dataclass(frozen=True, slots=True)
class Broker:
    """A running broker: where it listens, and how to stop it. It also stops when this process ends."""

    host: str
    port: int
    _process: _Process = field(repr=False)

    @property
    def is_running(self) -> bool:
        """Whether it still runs."""
        return self._process.is_running

    def stop(self) -> None:
        """Stop it. Safe to call twice."""
        self._process.stop()


def start_broker(port: int | None = None) -> Broker:
    """Start a broker on loopback and wait until it accepts connections.

    Args:
        port: the port, a free one where None.

    Raises:
        OSError: where the port is taken.
        RuntimeError: where it does not come up.
    """
    for tries_left in reversed(range(TRIES)):
        chosen = port if port is not None else _free_port()
        try:
            return _start(chosen)
        except (OSError, RuntimeError):
            if port is not None or not tries_left:
                raise
    raise AssertionError("unreachable: the last try returns or raises")


def _start(port: int) -> Broker:
    settings = SETTINGS.format(host=HOST, port=port, segment_bytes=SEGMENT_BYTES, segments=SEGMENTS)
    # It reads its settings once, while it starts.
    with tempfile.TemporaryDirectory(prefix="coldberth-broker-") as folder:
        path = Path(folder) / "broker.toml"
        path.write_text(settings, encoding="utf-8")
        process = iotcore.Broker(config_path=str(path))
        process.start(timeout=STARTS_WITHIN_S)
    return Broker(HOST, port, process)


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind((HOST, 0))
        port: int = probe.getsockname()[1]
    return port
