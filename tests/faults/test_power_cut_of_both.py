"""Broker and agent lose their power at the same moment: what the broker had acknowledged and not saved yet is gone.

``COLDBERTH_TEST_CUTS`` says how often.
"""

import os
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from boats import HOUR
from figures import doubled_events
from fixtures_broker import Broker
from gateways import Gateways, publish
from troubled import TroubledYard, boats, now_ms, records

CUTS = int(os.environ.get("COLDBERTH_TEST_CUTS", "1"))
PACKS_A_SECOND = 13.3
"""Twenty times the normal rate of 200 boats."""
BEFORE_SAVING = 150
"""Messages by which Mosquitto has saved the agent's session for the first time (autosave_interval 100)."""
IN_FLIGHT_S = 1.0
"""Longest between the broker's acknowledgement and the agent's commit that is allowed for here; 0.06 is usual."""


@pytest.fixture
def yard(tmp_path: Path, broker: Broker) -> Iterator[TroubledYard]:
    made = TroubledYard(tmp_path / "yard", broker, boats(2))
    made.start()
    yield made
    made.end()


@pytest.mark.broker
@pytest.mark.slow
@pytest.mark.timeout(120 + 30 * CUTS)
def test_a_power_cut_of_broker_and_agent_at_once_costs_what_was_between_them_and_no_more(
    yard: TroubledYard, broker: Broker
) -> None:
    first_ms = now_ms() - HOUR
    first, _ = publish(broker, [("boat000", records(first_ms + n)) for n in range(BEFORE_SAVING)])
    gateways = Gateways(broker, ["boat000", "boat001"], 2, 2 / PACKS_A_SECOND)
    saved = broker.directory / "mosquitto.db"
    yard.until(lambda: saved.exists() and b"coldberth-quay" in saved.read_bytes(), what="the broker's first saving")
    for cut in range(CUTS):
        time.sleep(1 + cut % 7 / 10)
        broker.kill()
        yard.end()
        broker.start()
        yard.start()
    sent, acknowledged = gateways.stop()
    time.sleep(2)
    stored = {key: value for key, value in yard.stored().items() if key not in first}
    lost = [key for key in sent if key not in stored]
    assert yard.stop() == 0
    print(
        f"\nmeasured: broker and agent killed at the same moment {CUTS} times, at twenty times the normal rate:"
        f" of {acknowledged:,} readings acknowledged {len(lost)} were lost, in"
        f" {len({(vessel, at_ms) for vessel, _, at_ms in lost})} messages"
    )
    assert acknowledged == len(sent)
    assert set(stored) <= set(sent)
    assert doubled_events(yard.events()) == 0
    assert len(lost) <= CUTS * 5 * PACKS_A_SECOND * IN_FLIGHT_S
