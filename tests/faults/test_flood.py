"""A flood of QoS 0, which no broker holds back, while the journal cannot be written: memory stays bounded."""

import sqlite3
import time
from pathlib import Path

import paho.mqtt.client as paho
import pytest
from boats import DAY
from fixtures_broker import Broker
from paho.mqtt.enums import CallbackAPIVersion
from troubled import TroubledYard, boats, now_ms

from monitor.intake.reader import LARGEST
from monitor.intake.session import MOST_HELD_BYTES

PACKS = 400


def full_pack(first_ms: int) -> tuple[bytes, int]:
    """As many readings as a message may hold, a millisecond apart; and how many."""
    records: list[str] = [f'{{"bt":{first_ms / 1000:.3f},"n":"outside","u":"Cel","v":5.1}}']
    size = len(records[0]) + 2
    while (size := size + len(one := f'{{"n":"outside","u":"Cel","t":{len(records) / 1000},"v":5.2}}') + 1) <= LARGEST:
        records.append(one)
    return f"[{','.join(records)}]".encode(), len(records)


@pytest.mark.broker
@pytest.mark.slow
def test_a_flood_of_full_packs_at_qos_0_is_held_back_by_its_bytes(tmp_path: Path, broker: Broker) -> None:
    yard = TroubledYard(tmp_path / "yard", broker, boats(2))
    client = paho.Client(CallbackAPIVersion.VERSION2)
    try:
        yard.start()
        packs, first_ms, sent = [], now_ms() - DAY, 0
        for _ in range(PACKS):
            payload, count = full_pack(first_ms + sent)
            packs.append(payload)
            sent += count
        client.connect("127.0.0.1", broker.port)
        client.loop_start()
        before_mb = yard.memory_mb("VmRSS")
        other = sqlite3.connect(yard.journal, isolation_level=None, timeout=20)
        other.execute("BEGIN IMMEDIATE")
        for payload in packs:
            last = client.publish("layup/quay/boat000/readings", payload, qos=0)
        last.wait_for_publish(60)
        time.sleep(2)
        held_mb = yard.memory_mb() - before_mb
        print(
            f"\nmeasured: {PACKS:,} messages of 64 KiB at QoS 0 while the journal could not be written:"
            f" {sent:,} readings came, memory rose by {held_mb:.0f} MB; {MOST_HELD_BYTES / 2**20:.0f} MB may wait"
        )
        assert held_mb < 2 * MOST_HELD_BYTES / 2**20
        other.execute("ROLLBACK")
        other.close()
        yard.until(lambda: yard.count() > 0, what="the first of them in the journal")  # the rest takes its time
    finally:
        client.disconnect()
        client.loop_stop()
        yard.end()
