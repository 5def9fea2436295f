"""The real program over a real Mosquitto with a yard of boats: started, killed, asked how it is and what it stored."""

import json
import sqlite3
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Callable, Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from boats import DAY, boat, sensor
from fixtures_broker import Broker, free_port

from monitor.model.document import write_vessel
from monitor.model.vessel import Vessel

PROGRAM = [sys.executable, "-m", "monitor"]
SENSORS = (
    ("outside", "temperature", "Cel"),
    ("engine-space", "temperature", "Cel"),
    ("bilge-level", "level", "m"),
    ("bilge-float", "float_switch", "/"),
    ("house-volts", "voltage", "V"),
)
ORDINARY = {"outside": 5.0, "engine-space": 6.0, "bilge-level": 0.01, "bilge-float": 0.0, "house-volts": 12.7}
INTERVAL_S = 300.0
DUTY = 'duty = [{ name = "Duty", email = "duty@example.org" }]\n'
MAIL = '[mail]\nhost = "127.0.0.1"\nport = {port}\nsecurity = "none"\nsender = "coldberth@example.org"\n'
Key = tuple[str, str, int]
"""What a reading is known by: vessel, sensor, stated time (ms)."""
_UNITS = {name: unit for name, _, unit in SENSORS}


def now_ms() -> int:
    return time.time_ns() // 1_000_000


def boats(count: int, laid_up_ms: int | None = None) -> list[Vessel]:
    """Boats laid up two days ago, five sensors each."""
    laid_up = datetime.fromtimestamp((now_ms() - 2 * DAY if laid_up_ms is None else laid_up_ms) / 1000, UTC)
    aboard = [sensor(name, quantity, INTERVAL_S) for name, quantity, _ in SENSORS]
    return [
        boat(id=f"boat{n:03}", name=f"Boat {n:03}", plot=f"P{n}", laid_up=laid_up, sensors=aboard) for n in range(count)
    ]


def records(at_ms: int, values: dict[str, float] | None = None) -> list[tuple[str, str, int, float]]:
    """One reading of each sensor of a boat, as `encode_pack` takes them."""
    return [(name, _UNITS[name], at_ms, value) for name, value in (ORDINARY | (values or {})).items()]


class TroubledYard:
    """An agent by the wall's clock, with its settings, records, journal and log in a folder.

    Args:
        folder: where they go.
        broker: the broker.
        vessels: her boats.
        launcher: what is run instead of the program itself, given the program's own words.
        mail_port: where a mail server for the duty person is, None where there is none.
    """

    def __init__(
        self,
        folder: Path,
        broker: Broker,
        vessels: Sequence[Vessel],
        launcher: Sequence[str] = PROGRAM,
        mail_port: int | None = None,
    ) -> None:
        folder.mkdir(parents=True, exist_ok=True)
        self.journal, self.web = folder / "coldberth.sqlite", free_port()
        self._launcher = list(launcher)
        self._settings, self._log = folder / "settings.toml", folder / "log"
        self._settings.write_text(
            f'[yard]\nid = "quay"\nname = "Quay"\n{DUTY}[broker]\nhost = "127.0.0.1"\nport = {broker.port}\n'
            f"[web]\nport = {self.web}\n[journal]\nsave_every_s = 5\n"
            + ("" if mail_port is None else MAIL.format(port=mail_port))
        )
        paths = []
        for vessel in vessels:
            paths.append(folder / f"{vessel.id}.toml")
            paths[-1].write_text(write_vessel(vessel))
        done = subprocess.run(
            [*self._launcher, "vessel", "import", "--settings", self._settings, *paths],
            capture_output=True,
            text=True,
            timeout=120,
            check=False,
        )
        assert done.returncode == 0, f"{done.stdout}{done.stderr}"
        self.process: subprocess.Popen[bytes] | None = None

    def start(self, within_s: float = 60) -> None:
        """Start it, and wait until it hears."""
        with self._log.open("ab") as log:
            self.process = subprocess.Popen(
                [*self._launcher, "run", "--settings", self._settings], stdout=log, stderr=log
            )
        self.until(self.hears, within_s)

    def stop(self) -> int:
        assert self.process is not None
        self.process.terminate()
        status = self.process.wait(30)
        self.process = None
        return status

    def end(self) -> None:
        """End it however it is."""
        if self.process is not None:
            self.process.kill()
            self.process.wait(10)
            self.process = None

    def log(self) -> str:
        return self._log.read_text()

    def get(self, path: str, within_s: float = 10) -> Any:
        with urllib.request.urlopen(f"http://127.0.0.1:{self.web}{path}", timeout=within_s) as answer:
            return json.load(answer)

    def health(self) -> dict[str, Any]:
        """Give what ``/healthz`` says, nothing while nobody answers."""
        try:
            found: dict[str, Any] = self.get("/healthz")
        except urllib.error.HTTPError as error:
            found = json.load(error)
        except OSError:
            found = {}
        return found

    def hears(self) -> bool:
        """Whether it is connected, and has heard what was kept for it."""
        return self.health().get("ok") is True

    def until(self, reached: Callable[[], bool], within_s: float = 30, what: str = "it") -> None:
        end = time.monotonic() + within_s
        while not reached():
            assert self.process is None or self.process.poll() is None, f"the program has ended\n{self.log()[-3000:]}"
            assert time.monotonic() < end, f"{what} did not come about within {within_s:.0f} s\n{self.log()[-3000:]}"
            time.sleep(0.05)

    def rows(self, query: str) -> list[tuple[Any, ...]]:
        db = sqlite3.connect(f"file:{self.journal}?mode=ro", uri=True, timeout=20)
        try:
            return db.execute(query).fetchall()
        finally:
            db.close()

    def count(self) -> int:
        return int(self.rows("SELECT count(*) FROM reading")[0][0])

    def stored(self) -> dict[Key, float]:
        """Give what is stored: values by what a reading is known by."""
        query = "SELECT vessel, sensor, stated_ms, value FROM reading JOIN series ON id = series"
        return {(vessel, name, at_ms): value for vessel, name, at_ms, value in self.rows(query)}

    def events(self) -> list[tuple[str, str, int]]:
        """Give every alert event: alert, change, time (ms)."""
        return self.rows("SELECT alert, change, at_ms FROM alert_event")

    def tally(self) -> dict[str, int]:
        return dict(self.rows("SELECT name, count FROM tally"))

    def open_alerts(self) -> list[dict[str, Any]]:
        found: list[dict[str, Any]] = self.get("/api/alerts?open=true")
        return found

    def memory_mb(self, line: str = "VmHWM") -> float:
        """Give the most memory the program has held so far (``VmRSS``: holds now), MB."""
        assert self.process is not None
        status = Path(f"/proc/{self.process.pid}/status").read_text()
        return next(int(row.split()[1]) / 1024 for row in status.splitlines() if row.startswith(line))
