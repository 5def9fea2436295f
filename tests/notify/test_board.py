"""Alerts retained at a real broker."""

import json
import socket
import threading
import time
from collections.abc import Iterator
from dataclasses import replace
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from boats import HOUR, LAID_UP_MS, boat
from fixtures_broker import Broker
from notices import wait_until
from paho.mqtt import publish
from paho.mqtt.client import Client, MQTTMessage
from paho.mqtt.enums import CallbackAPIVersion

from monitor.model.alert import Alert
from monitor.model.broker import BrokerAddress
from monitor.model.finding import Figure, Finding
from monitor.model.scale import AlertState, Priority, Sure
from monitor.model.vessel import Vessel
from monitor.notify.backoff import Backoff
from monitor.notify.mqtt import AlertBoard
from monitor.notify.retained import alert_payload, alert_topic

pytestmark = pytest.mark.broker

UTC = ZoneInfo("UTC")
AGENT = "layup-alerts/quay/agent"
TERN = boat()
FOUND = Finding(
    "frost", "s", "not known", Priority.WARNING, Figure(None, 0.0, "degC"), None, Sure.LIKELY,
    ("no_temperature",), ("read_temperature_aboard",), (), facts={"name": "Cooling", "protected_to_degc": 0.0},
)  # fmt: skip


def alert(key: str = "a1", **changes: Any) -> Alert:
    made = Alert(
        key, "tern", "frost", "s", AlertState.UNACKNOWLEDGED, Priority.ALARM, Priority.ALARM, LAID_UP_MS, FOUND
    )
    return replace(made, **changes)


class Open:
    """The open alerts, as the journal would give them."""

    def __init__(self, *alerts: Alert) -> None:
        self.alerts = {a.id: a for a in alerts}
        self.vessel = TERN

    def open_alerts(self) -> Iterator[tuple[Alert, Vessel]]:
        return iter([(a, self.vessel) for a in list(self.alerts.values())])


class Dashboard:
    """Another program, that shows what is retained and counts the messages."""

    def __init__(self, port: int) -> None:
        self.seen: dict[str, bytes] = {}
        self.count = 0
        self._here = threading.Event()
        self._client = Client(CallbackAPIVersion.VERSION2)
        self._client.on_message = self._on_message
        self._client.on_subscribe = lambda *_: self._here.set()
        self._client.connect("127.0.0.1", port)
        self._client.subscribe("layup-alerts/#", qos=1)
        self._client.loop_start()
        assert self._here.wait(5)

    def close(self) -> None:
        self._client.disconnect()
        self._client.loop_stop()

    def ids(self) -> set[str]:
        return {topic.rpartition("/")[2] for topic in self.seen}

    def _on_message(self, _client: Client, _userdata: object, message: MQTTMessage) -> None:
        if message.topic.endswith("/marker"):
            return
        self.count += 1
        if message.payload:
            self.seen[message.topic] = bytes(message.payload)
        else:
            self.seen.pop(message.topic, None)


def retained(broker: Broker) -> dict[str, bytes]:
    """Look at what the broker retains, as a program does that comes now."""
    fresh = Dashboard(broker.port)
    time.sleep(0.2)
    fresh.close()
    return fresh.seen


def board_on(broker: Broker, alerts: Open, **options: Any) -> AlertBoard:
    config = BrokerAddress(host="127.0.0.1", port=broker.port)
    board = AlertBoard(config, "quay", alerts, UTC, backoff=Backoff(0.1, 0.3), **options)
    board.start()
    return board


@pytest.fixture
def dashboard(broker: Broker) -> Iterator[Dashboard]:
    made = Dashboard(broker.port)
    yield made
    made.close()


def test_an_open_alert_is_retained_for_whoever_comes_later_and_cleared_when_it_ends(
    broker: Broker, dashboard: Dashboard
) -> None:
    alerts = Open()
    board = board_on(broker, alerts)
    alerts.alerts["a1"] = alert()
    board.changed(["a1"])
    wait_until(lambda: "a1" in dashboard.ids())
    assert set(retained(broker)) == {"layup-alerts/quay/tern/a1"}
    del alerts.alerts["a1"]
    board.changed(["a1"])
    wait_until(lambda: not dashboard.ids())
    board.stop()
    assert retained(broker) == {}


def test_a_change_of_an_alert_is_published_and_nothing_else_is_published_again(
    broker: Broker, dashboard: Dashboard
) -> None:
    alerts = Open(alert("a1"), alert("a2"))
    board = board_on(broker, alerts)
    wait_until(lambda: dashboard.ids() == {"a1", "a2"})
    alerts.alerts["a2"] = alert("a2", state=AlertState.ACKNOWLEDGED, acknowledged_ms=LAID_UP_MS + HOUR)
    board.changed(["a2"])
    wait_until(lambda: b'"acknowledged"' in dashboard.seen["layup-alerts/quay/tern/a2"])
    for _ in range(5):
        board.changed()
        time.sleep(0.1)
    board.stop()
    assert dashboard.count == 3


def test_at_its_start_the_board_clears_what_is_no_longer_open_and_leaves_what_is_right(broker: Broker) -> None:
    right, wrong = alert("right"), alert("wrong")
    for topic, payload in (
        (alert_topic("quay", right), alert_payload(right, TERN, UTC)),
        (alert_topic("quay", wrong), b"{}"),
        ("layup-alerts/quay/gone/old", b"{}"),
        ("layup-alerts/other/tern/theirs", b"{}"),
        ("layup-alerts/quay/note", b"somebody else's"),
    ):
        publish.single(topic, payload, qos=1, retain=True, hostname="127.0.0.1", port=broker.port)
    dashboard = Dashboard(broker.port)
    wait_until(lambda: len(dashboard.seen) == 5)
    alerts = Open(right, wrong, alert("new"))
    board = board_on(broker, alerts)
    wait_until(lambda: dashboard.ids() == {"right", "wrong", "new", "theirs", "note"})
    wait_until(lambda: dashboard.seen["layup-alerts/quay/tern/wrong"] != b"{}")
    time.sleep(0.3)
    board.stop()
    assert dashboard.count == 5 + 3  # old is cleared, wrong is put right, new is added; right is left alone
    dashboard.close()


def test_after_an_outage_only_the_last_state_is_published(broker: Broker) -> None:
    alerts = Open(alert("a1"), alert("a2"))
    board = board_on(broker, alerts)
    wait_until(lambda: len(retained(broker)) == 2)
    broker.stop()
    wait_until(lambda: bool(board.progress.failing))
    del alerts.alerts["a1"]
    for step in range(500):
        alerts.alerts["a2"] = alert("a2", priority=Priority.WARNING, acknowledged_ms=LAID_UP_MS + step)
        alerts.alerts["a3"] = alert("a3")
        board.changed()
    broker.start()
    dashboard = Dashboard(broker.port)
    wait_until(lambda: dashboard.ids() == {"a2", "a3"})
    wait_until(lambda: json.loads(dashboard.seen["layup-alerts/quay/tern/a2"])["priority"] == "warning")
    time.sleep(0.3)
    board.stop()
    assert dashboard.count <= 6  # at most two retained from before, then a1 cleared, a2 and a3 once each
    dashboard.close()


def test_a_broker_that_forgot_everything_is_told_again(broker: Broker) -> None:
    board = board_on(broker, Open(alert("a1")))
    wait_until(lambda: len(retained(broker)) == 1)
    broker.kill()
    for kept in broker.directory.glob("*.db*"):
        kept.unlink()
    broker.start()
    wait_until(lambda: len(retained(broker)) == 1)
    board.stop()


def test_many_alerts_are_published_and_cleared(broker: Broker, dashboard: Dashboard) -> None:
    alerts = Open(*(alert(f"a{n}") for n in range(1500)))
    board = board_on(broker, alerts)
    wait_until(lambda: len(dashboard.seen) == 1500, within_s=30)
    board.stop()
    again = board_on(broker, Open(alert("a7")))
    wait_until(lambda: dashboard.ids() == {"a7"}, within_s=30)
    again.stop()


def test_a_journal_that_cannot_be_read_for_a_moment_does_not_end_the_board(
    broker: Broker, dashboard: Dashboard
) -> None:
    alerts = Open(alert("a1"))
    faults = [OSError("busy")]

    class Faulty:
        def open_alerts(self) -> Iterator[tuple[Alert, Vessel]]:
            if faults:
                raise faults.pop()
            return alerts.open_alerts()

    board = AlertBoard(
        BrokerAddress(host="127.0.0.1", port=broker.port), "quay", Faulty(), UTC, backoff=Backoff(0.1, 0.3)
    )
    board.start()
    wait_until(lambda: dashboard.ids() == {"a1"})
    assert board.progress.failing == ""
    board.stop()


def test_an_alert_that_was_shelved_keeps_standing_and_says_until_when(broker: Broker, dashboard: Dashboard) -> None:
    board = board_on(broker, Open(alert(state=AlertState.SHELVED, aside_until_ms=LAID_UP_MS + HOUR)))
    wait_until(lambda: "a1" in dashboard.ids())
    board.stop()
    body = json.loads(dashboard.seen["layup-alerts/quay/tern/a1"])
    assert (body["state"], body["aside_until"]) == ("shelved", "2013-11-01T10:00:00Z")


def test_the_last_beat_is_retained_and_the_broker_says_gone_when_the_agent_is_cut_off(
    broker: Broker, dashboard: Dashboard
) -> None:
    board = board_on(broker, Open(alert()), heartbeat=True)
    board.beat(b'{"seq":1}')
    board.beat(b'{"seq":2}')
    wait_until(lambda: dashboard.seen.get(AGENT) == b'{"seq":2}')
    assert set(retained(broker)) == {AGENT, "layup-alerts/quay/tern/a1"}
    board._link._client.socket().shutdown(socket.SHUT_RDWR)  # as a cable that is pulled
    wait_until(lambda: dashboard.seen.get(AGENT) == b'{"gone":true}')
    wait_until(lambda: dashboard.seen.get(AGENT) == b'{"seq":2}')  # it is back, with what was said last
    board.stop()


def test_a_board_that_stops_leaves_word_that_it_is_gone_and_the_alerts_stand(broker: Broker) -> None:
    board = board_on(broker, Open(alert()), heartbeat=True)
    board.beat(b'{"seq":1}')
    wait_until(lambda: len(retained(broker)) == 2)
    began = time.monotonic()
    board.stop()
    assert time.monotonic() - began < 1.5
    assert retained(broker)[AGENT] == b'{"gone":true}'
    assert "layup-alerts/quay/tern/a1" in retained(broker)


def test_the_board_ends_soon_with_and_without_a_broker(broker: Broker) -> None:
    for away in (False, True):
        if away:
            broker.stop()
        board = board_on(broker, Open(alert()))
        time.sleep(0.3)
        began = time.monotonic()
        board.stop()
        assert time.monotonic() - began < 1.5


def test_the_retained_message_says_what_other_programs_need() -> None:
    returned = alert(has_it="Per", returned_ms=LAID_UP_MS + HOUR, state=AlertState.RETURNED_UNACKNOWLEDGED)
    body = json.loads(alert_payload(returned, TERN, UTC))
    assert body == {
        "id": "a1",
        "vessel": "tern",
        "name": "Tern",
        "place": "plot B4",
        "rule": "frost",
        "subject": "s",
        "kind": "not known",
        "state": "returned unacknowledged",
        "priority": "alarm",
        "opened": "2013-11-01T09:00:00Z",
        "returned": "2013-11-01T10:00:00Z",
        "acknowledged": None,
        "confirmed": None,
        "has_it": "Per",
        "aside_until": None,
        "as_of": "2013-11-01T10:00:00Z",
        "title": "Cooling: temperature not known",
        "what": body["what"],
        "sure": "likely",
        "first": ["Read a thermometer at that place, and find out why the sensor is not heard."],
        "never": [],
        "harm_low_s": None,
        "harm_high_s": None,
    }
