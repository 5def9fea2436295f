"""Twenty times the normal rate, and twenty thousand readings at once: nothing is lost, and the pages answer meanwhile.

Normal is 200 boats of five sensors at five minutes: 3.3 readings a second. ``COLDBERTH_TEST_STORM_S`` says how long the
storm lasts.
"""

import os
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from figures import held_against
from fixtures_broker import Broker
from gateways import Gateways, publish
from troubled import INTERVAL_S, SENSORS, TroubledYard, boats, now_ms, records

STORM_S = float(os.environ.get("COLDBERTH_TEST_STORM_S", "6"))
COUNT = 200
NORMAL_PER_S = COUNT * len(SENSORS) / INTERVAL_S
TIMES = 20
BURST = 20_000
MOST_MB = 400.0
"""Of the whole program; it starts at some 150."""
ANSWERS_WITHIN_S = 3.0
pytestmark = [pytest.mark.broker, pytest.mark.slow, pytest.mark.timeout(300 + 3 * STORM_S)]


class Asking:
    """Somebody who asks ``/healthz`` ten times a second, and notes how long the answers take."""

    def __init__(self, yard: TroubledYard) -> None:
        self.took_s: list[float] = []
        self.failed: list[str] = []
        self._yard, self._stopping = yard, threading.Event()
        self._thread = threading.Thread(target=self._ask)
        self._thread.start()

    def stop(self) -> str:
        """Stop, and say how long the answers took."""
        self._stopping.set()
        self._thread.join(20)
        assert self.failed == []
        took_ms = sorted(1000 * took_s for took_s in self.took_s)
        half, most = took_ms[len(took_ms) // 2], took_ms[-1]
        return f"/healthz took {half:.0f} ms at the middle, {most:.0f} at most of {len(took_ms)}"

    def _ask(self) -> None:
        while not self._stopping.wait(0.1):
            began = time.monotonic()
            try:
                self._yard.get("/healthz", within_s=30)
            except OSError as error:
                self.failed.append(str(error))
            self.took_s.append(time.monotonic() - began)


@pytest.fixture
def yard(tmp_path: Path, broker: Broker) -> Iterator[TroubledYard]:
    made = TroubledYard(tmp_path / "yard", broker, boats(COUNT))
    made.start()
    yield made
    made.end()


def test_twenty_times_the_normal_rate_and_then_a_burst_are_stored_while_the_pages_answer(
    yard: TroubledYard, broker: Broker
) -> None:
    vessels = [f"boat{n:03}" for n in range(COUNT)]
    asking = Asking(yard)
    began = time.monotonic()
    gateways = Gateways(broker, vessels, 2, 2 * len(SENSORS) / (TIMES * NORMAL_PER_S))
    time.sleep(STORM_S)
    sent, acknowledged = gateways.stop()
    yard.until(lambda: yard.count() >= len(sent), 60, f"storing {len(sent)} readings")
    rate = len(sent) / (time.monotonic() - began)
    storm_s = asking.stop()
    memory = f"memory at most {yard.memory_mb():.0f} MB"
    held_against(
        f"storm: {TIMES} times the normal rate of {COUNT} boats for {STORM_S:.0f} s",
        yard,
        sent,
        acknowledged,
        f"{rate:.0f} readings a second against {NORMAL_PER_S:.1f}; {storm_s}; {memory}",
    )
    assert rate > 0.7 * TIMES * NORMAL_PER_S

    asking = Asking(yard)
    first_ms = now_ms()
    burst = [
        (vessels[n % COUNT], [reading])
        for turn in range(BURST // COUNT // len(SENSORS))
        for n in range(COUNT)
        for reading in records(first_ms + turn)
    ]
    began = time.monotonic()
    more, taken = publish(broker, burst)
    published_s = time.monotonic() - began
    yard.until(lambda: yard.count() >= len(sent) + len(more), 120, f"storing {len(more)} readings")
    stored_s = time.monotonic() - began
    burst_s = asking.stop()
    memory = f"memory at most {yard.memory_mb():.0f} MB"
    most_mb = yard.memory_mb()
    silent = [alert for alert in yard.open_alerts() if alert["rule"] == "silence"]
    assert yard.stop() == 0
    held_against(
        f"burst: {BURST:,} readings at once after the storm, a message each",
        yard,
        sent | more,
        acknowledged + taken,
        f"published in {published_s:.1f} s, all stored after {stored_s:.1f} s; {burst_s}; {memory}",
    )
    assert most_mb < MOST_MB
    assert max(asking.took_s) < ANSWERS_WITHIN_S
    assert silent == []
