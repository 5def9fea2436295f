"""The real program with charts of long spans from a real VictoriaMetrics, and from the journal while that is away."""

import json
import signal
import subprocess
import sys
import time
import urllib.parse
import urllib.request
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from boats import DAY, HOUR, boat
from fixtures_broker import Broker, free_port
from victoria import Victoria

from monitor.intake.senml import encode_pack
from monitor.model.document import write_vessel
from simulator.link import Link

PROGRAM = [sys.executable, "-m", "monitor"]
DAYS = 20


class Yard:
    """An agent whose settings have it read history."""

    def __init__(self, folder: Path, broker: Broker, victoria: Victoria) -> None:
        self.web, self.log, settings = free_port(), folder / "log", folder / "settings.toml"
        settings.write_text(
            f'[yard]\nid = "quay"\nname = "Quay"\n[broker]\nhost = "127.0.0.1"\nport = {broker.port}\n'
            f'[web]\nport = {self.web}\n[history]\nurl = "{victoria.url}"\nread = "prometheus"\n'
        )
        (folder / "tern.toml").write_text(write_vessel(boat()))
        command = [*PROGRAM, "vessel", "import", folder / "tern.toml", "--settings", settings]
        subprocess.run(command, check=True, timeout=60, capture_output=True)
        with self.log.open("ab") as log:
            self._process = subprocess.Popen([*PROGRAM, "run", "--settings", settings], stdout=log, stderr=log)

    def get(self, path: str) -> Any:
        with urllib.request.urlopen(f"http://127.0.0.1:{self.web}{path}", timeout=10) as answer:
            return json.load(answer)

    def until(self, reached: Callable[[], bool], within_s: float = 60) -> None:
        end = time.monotonic() + within_s
        while True:
            try:
                if reached():
                    return
            except OSError:  # it is not there yet
                pass
            assert time.monotonic() < end, f"it did not come about in time\n{self.log.read_text()}"
            time.sleep(0.1)

    def steps(self, from_ms: int, to_ms: int) -> list[dict[str, Any]]:
        """Give a sensor's buckets, as the API has them."""
        span = {
            name: datetime.fromtimestamp(at_ms / 1000, UTC).isoformat()
            for name, at_ms in (("from", from_ms), ("to", to_ms))
        }
        query = urllib.parse.urlencode({"sensor": "engine-space", **span})
        found: list[dict[str, Any]] = self.get(f"/api/vessels/tern/readings?{query}")["buckets"]
        return found

    def end(self) -> None:
        self._process.send_signal(signal.SIGTERM)
        self._process.wait(20)


@pytest.fixture
def victoria(tmp_path: Path, require_program: Callable[[str], str]) -> Iterator[Victoria]:
    running = Victoria(require_program("victoria-metrics"), tmp_path / "victoria")
    running.start()
    yield running
    running.stop()


@pytest.fixture
def yard(tmp_path: Path, broker: Broker, victoria: Victoria) -> Iterator[Yard]:
    made = Yard(tmp_path, broker, victoria)
    made.until(lambda: made.get("/healthz")["ok"] is True)
    yield made
    made.end()


@pytest.mark.broker
@pytest.mark.slow
def test_long_charts_come_from_history_and_from_the_journal_while_it_is_away(
    yard: Yard, broker: Broker, victoria: Victoria
) -> None:
    to_ms = time.time_ns() // 1_000_000 // HOUR * HOUR
    from_ms = to_ms - DAYS * DAY
    link = Link("127.0.0.1", broker.port, "gateway", 200, lambda: False)
    link.connect()
    for number in range(DAYS * 48):
        pack = encode_pack([("engine-space", "Cel", from_ms + number * HOUR // 2, 5 + number % 9 / 10)])
        link.publish("layup/quay/tern/readings", pack, 1)
        link.attend(0)
    link.drain()
    link.close(1.0)

    def in_history() -> int:
        victoria.show()
        return sum(len(points) for points in victoria.points("value", sensor="engine-space").values())

    yard.until(lambda: in_history() == DAYS * 48)
    yard.until(lambda: len(yard.steps(from_ms, to_ms)) == DAYS * 24)
    assert victoria.queries() > 0
    whole = yard.steps(from_ms, to_ms)
    asked = victoria.queries()
    yard.steps(to_ms - DAY, to_ms)
    assert victoria.queries() == asked, "the last days are in the journal"
    assert [sentence for sentence in yard.get("/healthz")["delays"] if "istory" in sentence] == []
    victoria.kill()
    for one, other in zip(yard.steps(from_ms, to_ms), whole, strict=True):
        assert one == {**other, "mean": pytest.approx(other["mean"])}
    health = yard.get("/healthz")
    assert health["ok"] is True
    assert any("come from the journal" in sentence for sentence in health["delays"])
