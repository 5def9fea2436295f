"""A real Mosquitto that a test starts, stops and starts again."""

import os
import socket
import subprocess
import time
from pathlib import Path

# The settings the product asks of a broker (DESIGN.md, MQTT); saved at every change so that a kill loses little.
SETTINGS = """
listener {port} 127.0.0.1
allow_anonymous true
max_queued_messages 0
max_inflight_messages 1000
persistence true
persistence_location {directory}/
autosave_on_changes true
autosave_interval 100
"""


class Broker:
    """A Mosquitto process with its own directory and port, which it keeps over restarts."""

    def __init__(self, program: str, directory: Path, more: str = "") -> None:
        directory.mkdir(parents=True, exist_ok=True)
        self.port = free_port()
        self.directory = directory
        self._program = program
        self._settings = directory / "mosquitto.conf"
        user = "user root\n" if os.geteuid() == 0 else ""  # else it gives up root, and cannot write its directory
        self._settings.write_text(user + SETTINGS.format(port=self.port, directory=directory) + more)
        self._process: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        """Start it and wait until it listens."""
        with (self.directory / "log").open("ab") as log:
            self._process = subprocess.Popen(
                [self._program, "-c", str(self._settings)], stdout=log, stderr=subprocess.STDOUT
            )
        until = time.monotonic() + 10
        while not self._listens():
            if self._process.poll() is not None or time.monotonic() > until:
                raise RuntimeError(f"mosquitto does not listen: {(self.directory / 'log').read_text()}")
            time.sleep(0.02)

    def stop(self) -> None:
        """Stop it cleanly: it saves its sessions and queues."""
        if self._process is not None:
            self._process.terminate()
            self._process.wait(10)
            self._process = None

    def kill(self) -> None:
        """Stop it as a power cut does."""
        if self._process is not None:
            self._process.kill()
            self._process.wait(10)
            self._process = None

    def _listens(self) -> bool:
        with socket.socket() as probe:
            probe.settimeout(0.5)
            return probe.connect_ex(("127.0.0.1", self.port)) == 0


def free_port() -> int:
    """Find a port of the loopback address that nobody listens on."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port
