"""What stands in the way of the pages stands in nobody's way of the watch."""

import os
import pty
import sqlite3
import subprocess
import sys
import time
import urllib.request
from contextlib import closing
from pathlib import Path

import pytest
from fixtures_broker import free_port

from monitor.agent import Agent
from monitor.settings import read_settings


def settings(folder: Path, web: str) -> Path:
    path = folder / "settings.toml"
    path.write_text(
        f'[yard]\nid = "quay"\nname = "Quay"\n[broker]\nhost = "127.0.0.1"\nport = {free_port()}\n[web]\n{web}\n'
    )
    return path


@pytest.mark.parametrize("what", ["accounts damaged", "key damaged", "beyond loopback"])
def test_the_watch_runs_without_pages_and_says_why(what: str, tmp_path: Path) -> None:
    if what == "accounts damaged":
        (tmp_path / "access.sqlite").write_bytes(b"no database at all, and long enough to be looked at" * 100)
    elif what == "key damaged":
        (tmp_path / "machine.key").write_bytes(b"")
    host = "0.0.0.0" if what == "beyond loopback" else "127.0.0.1"  # noqa: S104 - it must not be served there
    agent = Agent(read_settings(settings(tmp_path, f'host = "{host}"\nport = {free_port()}')))
    agent.start()
    try:
        assert agent.address == ""
        assert any("the pages are not served" in trouble for trouble in agent.health().troubles)
        assert agent.health().loop_alive
    finally:
        agent.stop()


def test_the_first_managers_link_is_shown_on_a_terminal_and_nowhere_else(tmp_path: Path) -> None:
    port = free_port()
    path = settings(tmp_path, f"port = {port}")
    mine, theirs = pty.openpty()
    with (tmp_path / "log").open("wb") as log:
        program = subprocess.Popen(
            [sys.executable, "-m", "monitor", "run", "--settings", str(path)], stdout=theirs, stderr=log
        )
    os.close(theirs)
    shown = os.read(mine, 10_000).decode()
    link = shown.split()[-1]
    assert link.startswith(f"http://127.0.0.1:{port}/join/")
    with urllib.request.urlopen(link, timeout=20) as page:  # noqa: S310 - checked above
        assert "You are the first" in page.read().decode()
    program.terminate()
    assert program.wait(20) == 0
    os.close(mine)
    assert "/join/" not in (tmp_path / "log").read_text()
    with closing(sqlite3.connect(tmp_path / "access.sqlite")) as db:
        before = db.execute("SELECT hash FROM secret").fetchall()
    with (tmp_path / "log").open("wb") as log:
        program = subprocess.Popen(
            [sys.executable, "-m", "monitor", "run", "--settings", str(path)], stdout=log, stderr=log
        )
    until = time.monotonic() + 20
    while "coldberth account add" not in (tmp_path / "log").read_text():
        assert time.monotonic() < until
        time.sleep(0.1)
    program.terminate()
    assert program.wait(20) == 0
    assert "/join/" not in (tmp_path / "log").read_text()
    with closing(sqlite3.connect(tmp_path / "access.sqlite")) as db:
        assert db.execute("SELECT hash FROM secret").fetchall() == before
