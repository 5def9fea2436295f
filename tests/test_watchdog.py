"""The service manager hears that the agent is ready and turns, and nothing more once its loop is stuck."""

import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from fixtures_broker import free_port

# The loop is stuck for good at its first turn, and a second is long enough to see that.
STUCK = """
import sys, threading, pathlib
from monitor import agent
from monitor.settings import read_settings
from monitor.writer import Writer
agent.STUCK_AFTER_S = 1.0
Writer.turn = lambda self, items: threading.Event().wait()
agent.Agent(read_settings(pathlib.Path(sys.argv[1]))).run()
"""


@pytest.fixture
def manager(tmp_path: Path) -> Iterator[socket.socket]:
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as heard:
        heard.bind(str(tmp_path / "notify"))
        heard.settimeout(20)
        yield heard


@pytest.fixture
def settings(tmp_path: Path) -> Path:
    path = tmp_path / "settings.toml"
    path.write_text(
        '[yard]\nid = "quay"\nname = "Quay"\n[web]\nenabled = false\n'
        f'[broker]\nhost = "127.0.0.1"\nport = {free_port()}\n'
    )
    return path


def start(tmp_path: Path, *words: str) -> "subprocess.Popen[bytes]":
    environment = {**os.environ, "NOTIFY_SOCKET": str(tmp_path / "notify")}
    with (tmp_path / "log").open("wb") as log:
        return subprocess.Popen([sys.executable, *words], env=environment, stderr=log)


def heard_for(manager: socket.socket, seconds: float) -> list[bytes]:
    words, until = [], time.monotonic() + seconds
    while (left := until - time.monotonic()) > 0:
        manager.settimeout(left)
        try:
            words.append(manager.recv(100))
        except TimeoutError:
            break
    return words


def test_ready_is_said_once_then_the_dog_is_fed_and_the_end_is_said(
    manager: socket.socket, settings: Path, tmp_path: Path
) -> None:
    program = start(tmp_path, "-m", "monitor", "run", "--settings", str(settings))
    assert [manager.recv(100) for _ in range(3)] == [b"READY=1", b"WATCHDOG=1", b"WATCHDOG=1"]
    program.send_signal(signal.SIGTERM)
    assert program.wait(20) == 0
    words = heard_for(manager, 0.2)
    assert words[-1] == b"STOPPING=1"
    assert b"READY=1" not in words


def test_nothing_more_is_said_once_the_loop_is_stuck(manager: socket.socket, settings: Path, tmp_path: Path) -> None:
    program = start(tmp_path, "-c", STUCK, str(settings))
    try:
        assert manager.recv(100) == b"READY=1"
        time.sleep(2.5)
        heard_for(manager, 0.2)
        assert heard_for(manager, 2.0) == []
        assert program.poll() is None
    finally:
        program.kill()
        program.wait(10)
