"""The real program over a real Mosquitto while its disk or its journal fails: what is published, stored, lost."""

import json
import sqlite3
import subprocess
import sys
import threading
import time
import urllib.error
import urllib.request
from collections.abc import Callable
from pathlib import Path
from typing import Any

from boats import boat
from fixtures_broker import Broker, free_port

from monitor.intake.senml import encode_pack
from monitor.model.document import write_vessel
from simulator.link import Link

PROGRAM = [sys.executable, "-m", "monitor"]
SENSORS = ("engine-space", "outside")


class FaultedYard:
    """The agent of a yard with one boat.

    Args:
        folder: where settings and log go.
        broker: the broker.
        journal: the journal's file.
    """

    def __init__(self, folder: Path, broker: Broker, journal: Path) -> None:
        self.journal, self._web = journal, free_port()
        self._settings, self._log = folder / "settings.toml", folder / "log"
        self._settings.write_text(
            f'[yard]\nid = "quay"\nname = "Quay"\n[journal]\npath = "{journal}"\nsave_every_s = 1\n'
            f'[broker]\nhost = "127.0.0.1"\nport = {broker.port}\n[web]\nport = {self._web}\n'
        )
        (folder / "tern.toml").write_text(write_vessel(boat()))
        self.command("vessel", "import", str(folder / "tern.toml"))
        self._process: subprocess.Popen[bytes] | None = None

    def command(self, *words: str) -> None:
        done = subprocess.run(
            [*PROGRAM, *words, "--settings", self._settings], timeout=60, capture_output=True, text=True, check=False
        )
        assert done.returncode == 0, f"{words}: {done.stdout}{done.stderr}"

    def start(self) -> None:
        with self._log.open("ab") as log:
            self._process = subprocess.Popen([*PROGRAM, "run", "--settings", self._settings], stderr=log)
        wait_until(lambda: self.health()[0] == 200, self.log)

    def run_once(self) -> subprocess.CompletedProcess[str]:
        """Run it where it is not to come up."""
        command = [*PROGRAM, "run", "--settings", self._settings]
        return subprocess.run(command, timeout=30, capture_output=True, text=True, check=False)

    def stop(self) -> int:
        assert self._process is not None
        self._process.terminate()
        return self._process.wait(20)

    def end(self) -> None:
        """End it however it is."""
        if self._process is not None:
            self._process.kill()
            self._process.wait(10)

    def log(self) -> str:
        return self._log.read_text()

    def health(self) -> tuple[int, dict[str, Any]]:
        """Give status and body of ``/healthz``; 0 while nothing answers."""
        try:
            with urllib.request.urlopen(f"http://127.0.0.1:{self._web}/healthz", timeout=5) as answer:
                return answer.status, json.load(answer)
        except urllib.error.HTTPError as error:
            return error.code, json.load(error)
        except OSError:
            return 0, {}

    def stored(self) -> list[tuple[str, int, float]]:
        db = sqlite3.connect(f"file:{self.journal}?mode=ro", uri=True)
        rows = db.execute("SELECT sensor, stated_ms, value FROM reading JOIN series ON id = series").fetchall()
        db.close()
        return rows


class Publishing:
    """Publishes a reading of each sensor every so often, at QoS 1, until it is told to stop."""

    def __init__(self, broker: Broker, every_s: float) -> None:
        self.sent: list[tuple[str, int, float]] = []
        self._every_s, self._stopping = every_s, threading.Event()
        self._link = Link("127.0.0.1", broker.port, "gateway", 200, lambda: False)
        self._thread = threading.Thread(target=self._run)
        self._thread.start()

    def stop(self) -> int:
        """Stop once the broker has acknowledged all; give how many readings that is."""
        self._stopping.set()
        self._thread.join(30)
        return self._link.acknowledged

    def _run(self) -> None:
        self._link.connect()
        while not self._stopping.wait(self._every_s):
            at_ms = time.time_ns() // 1_000_000
            readings = [(sensor, "Cel", at_ms, 5 + len(self.sent) % 7 / 10) for sensor in SENSORS]
            self._link.publish("layup/quay/tern/readings", encode_pack(readings), len(readings))
            self._link.attend(0)
            self.sent += [(sensor, stated, value) for sensor, _, stated, value in readings]
        self._link.drain()
        self._link.close(1.0)


def account(yard: FaultedYard, publishing: Publishing, acknowledged: int, what: str) -> None:
    """Wait until all is stored, print what became of it, and hold that nothing was lost and nothing doubled."""
    wait_until(lambda: len(yard.stored()) >= acknowledged, yard.log)
    stored = yard.stored()
    lost, strange = len(set(publishing.sent) - set(stored)), len(stored) - len(set(publishing.sent) & set(stored))
    print(
        f"{what}: published and acknowledged {acknowledged}, stored {len(stored)}, lost {lost}, doubled {strange}",
    )
    assert acknowledged == len(publishing.sent)
    assert (lost, strange) == (0, 0)


def wait_until(reached: Callable[[], bool], log: Callable[[], str], within_s: float = 45) -> None:
    until = time.monotonic() + within_s
    while not reached():
        assert time.monotonic() < until, log()
        time.sleep(0.1)
