"""The broker is started again, killed, and away for minutes while gateways publish: nothing it acknowledged is lost.

``COLDBERTH_TEST_BROKER_KILLS`` and ``COLDBERTH_TEST_AWAY_S`` say how often and how long.
"""

import os
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import paho.mqtt.client as paho
import pytest
from figures import held_against
from fixtures_broker import Broker
from gateways import Gateways, publish
from paho.mqtt.enums import CallbackAPIVersion
from troubled import TroubledYard, boats, now_ms

KILLS = int(os.environ.get("COLDBERTH_TEST_BROKER_KILLS", "2"))
AWAY_S = float(os.environ.get("COLDBERTH_TEST_AWAY_S", "5"))
MESSAGES = 1_050
SAVED_AT_ONCE = 100
"""Changes that Mosquitto gathers before it saves: `autosave_interval` of our settings."""
pytestmark = [pytest.mark.broker, pytest.mark.slow, pytest.mark.timeout(300 + 2 * AWAY_S + 20 * KILLS)]


@pytest.fixture
def yard(tmp_path: Path, broker: Broker) -> Iterator[TroubledYard]:
    made = TroubledYard(tmp_path / "yard", broker, boats(3))
    made.start()
    yield made
    made.end()


def vessels() -> list[str]:
    return [f"boat{n:03}" for n in range(3)]


def test_a_broker_that_is_started_again_and_one_that_is_killed_lose_nothing(yard: TroubledYard, broker: Broker) -> None:
    gateways = Gateways(broker, vessels(), 3, 0.03)
    time.sleep(1)
    broker.stop()
    time.sleep(0.5)
    broker.start()
    yard.until(yard.hears, 60)
    time.sleep(1)
    for _ in range(KILLS):
        broker.kill()
        broker.start()
        yard.until(yard.hears, 60)
        time.sleep(1)
    sent, acknowledged = gateways.stop()
    yard.until(lambda: yard.count() >= len(sent), 60, f"storing {len(sent)} readings")
    assert yard.stop() == 0
    held_against(f"broker started again once, then killed {KILLS} times", yard, sent, acknowledged)


def test_a_broker_that_was_away_for_minutes_is_said_and_costs_no_reading(yard: TroubledYard, broker: Broker) -> None:
    gateways = Gateways(broker, vessels(), 3, 0.03 if AWAY_S < 60 else 0.3)
    time.sleep(1)
    broker.stop()
    yard.until(lambda: "Not connected to the broker" in str(yard.health().get("reasons")))
    time.sleep(AWAY_S)
    broker.start()
    back = time.monotonic()
    yard.until(yard.hears, 90)
    heard_s = time.monotonic() - back
    sent, acknowledged = gateways.stop()
    yard.until(lambda: yard.count() >= len(sent), 120, f"storing {len(sent)} readings")
    silent = [alert for alert in yard.open_alerts() if alert["rule"] == "silence"]
    assert yard.stop() == 0
    held_against(
        f"broker away for {AWAY_S:.0f} s",
        yard,
        sent,
        acknowledged,
        f"heard again {heard_s:.0f} s after it was back; alerts of silence {len(silent)}",
    )
    assert silent == []


@contextmanager
def absent_minded(broker: Broker) -> Iterator[list[bytes]]:
    """Somebody whose session the broker keeps; gives what they hear while they are there."""
    heard: list[bytes] = []
    client = paho.Client(CallbackAPIVersion.VERSION2, client_id="absent", clean_session=False)
    client.on_message = lambda _client, _data, message: heard.append(message.payload)
    client.connect("127.0.0.1", broker.port)
    client.subscribe("layup/quay/+/+", qos=1)
    client.loop_start()
    yield heard
    client.disconnect()
    client.loop_stop()


def test_a_broker_that_loses_power_while_nobody_listens_loses_no_more_than_it_saves_at_once(
    broker: Broker,
) -> None:
    with absent_minded(broker):
        time.sleep(0.5)
    first_ms = now_ms()
    packs = [("boat000", [("outside", "Cel", first_ms + n, 5.0)]) for n in range(MESSAGES)]
    sent, acknowledged = publish(broker, packs)
    broker.kill()
    broker.start()
    with absent_minded(broker) as heard:
        time.sleep(2)
    lost = acknowledged - len(heard)
    print(
        f"\nmeasured: Mosquitto killed while the agent was away: of {acknowledged:,} messages acknowledged and taken by"
        f" nobody {lost} were lost (autosave_interval {SAVED_AT_ONCE})"
    )
    assert len(sent) == acknowledged == MESSAGES
    assert lost <= SAVED_AT_ONCE
