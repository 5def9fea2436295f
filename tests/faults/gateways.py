"""Gateways that keep what they publish until the broker has acknowledged it, and send it again until then."""

import threading
from collections.abc import Sequence

from fixtures_broker import Broker
from troubled import Key, now_ms, records

from monitor.intake.senml import encode_pack
from simulator.link import Link

KEPT = 1_000_000
"""Messages each gateway has room for: here it is not the gateways that lose any."""


class Gateway:
    """Publishes a pack of five readings of each of its boats in turn, every so often, until it is told to stop."""

    def __init__(self, broker: Broker, name: str, vessels: Sequence[str], every_s: float) -> None:
        self.sent: dict[Key, float] = {}
        self.acknowledged = 0
        self._vessels, self._every_s = vessels, every_s
        self._link = Link("127.0.0.1", broker.port, name, 200, lambda: False, KEPT)
        self._stopping = threading.Event()
        self._thread = threading.Thread(target=self._run, name=name)
        self._thread.start()

    def stop(self) -> None:
        """Stop once the broker has acknowledged everything."""
        self._stopping.set()
        self._thread.join(120)
        assert not self._thread.is_alive(), f"{self._link.unacknowledged} messages are still not acknowledged"

    def _run(self) -> None:
        self._link.connect()
        turn = 0
        while not self._stopping.wait(self._every_s):
            vessel = self._vessels[turn % len(self._vessels)]
            turn += 1
            pack = records(now_ms(), {"outside": 5 + turn % 17 / 10, "house-volts": 12.6 + turn % 9 / 100})
            self._link.publish(f"layup/quay/{vessel}/readings", encode_pack(pack), len(pack), vessel)
            self._link.attend(0)
            self.sent |= {(vessel, name, at_ms): value for name, _, at_ms, value in pack}
        self._link.drain()
        self.acknowledged = self._link.acknowledged
        self._link.close(1.0)


class Gateways:
    """Several gateways, each with its share of a yard's boats."""

    def __init__(self, broker: Broker, vessels: Sequence[str], count: int, every_s: float) -> None:
        self._all = [Gateway(broker, f"gateway{n}", vessels[n::count], every_s) for n in range(count)]

    def stop(self) -> tuple[dict[Key, float], int]:
        """Stop them; give what they sent, and how many readings the broker has acknowledged."""
        for gateway in self._all:
            gateway.stop()
        sent: dict[Key, float] = {}
        for gateway in self._all:
            sent |= gateway.sent
        return sent, sum(gateway.acknowledged for gateway in self._all)


def publish(
    broker: Broker, packs: Sequence[tuple[str, list[tuple[str, str, int, float]]]]
) -> tuple[dict[Key, float], int]:
    """Publish packs in order, as fast as the broker takes them; give what was sent, and how much was acknowledged."""
    link = Link("127.0.0.1", broker.port, "publisher", 200, lambda: False)
    link.connect()
    sent: dict[Key, float] = {}
    for vessel, pack in packs:
        link.publish(f"layup/quay/{vessel}/readings", encode_pack(pack), len(pack))
        sent |= {(vessel, name, at_ms): value for name, _, at_ms, value in pack}
    link.drain()
    link.close(1.0)
    return sent, link.acknowledged
