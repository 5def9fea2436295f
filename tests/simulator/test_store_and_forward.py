"""Gateways' own store-and-forward over a real Mosquitto that goes away, and winters at other paces than the demo's."""

import json
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import partial
from threading import Event, Timer

import pytest
from ear import Ear
from fixtures_broker import Broker
from paho.mqtt import subscribe

from monitor.intake.senml import encode_pack
from monitor.model.parcel import ClockMessage
from simulator.publish import Progress, PublisherConfig, publish_winter, start_publisher
from simulator.truth import TruthLog
from simulator.winter import Message, Pack, RecordChanged, Winter, yard_winter
from simulator.yard import YARD

pytestmark = pytest.mark.broker

HOUR_MS = 3_600_000
DAY_MS = 24 * HOUR_MS
CLOCK = f"layup/{YARD}/agent/clock"
# Twenty hours of the winter in a second: twelve boats' packs are then 240 messages a second.
SPEED = 20 * 3600.0
BOATS = 12
Heard = list[tuple[str, bytes]]


def sent(days: int) -> Heard:
    """Give what a winter of some days publishes, in order."""
    winter = yard_winter()
    last_ms = winter.plan.begins_ms + days * DAY_MS - 1
    found: Heard = []
    for message in winter.stream():
        if isinstance(message, Pack):
            found.append((f"layup/{YARD}/{message.vessel}/readings", encode_pack(message.readings)))
        elif isinstance(message, ClockMessage):
            if message.at_ms > last_ms:
                break
            found.append((CLOCK, str(message.at_ms).encode()))
    return found


class Outage:
    """Publishes six days of the winter to a broker that is stopped on the morning of one and started on another's."""

    def __init__(self, broker: Broker, stop_day: int, start_day: int) -> None:
        self._broker = broker
        self._on = {stop_day: broker.stop, start_day: broker.start}
        self.reports: list[Progress] = []

    def will_do(self, day: int, what: Callable[[], None]) -> None:
        """Do something else on the morning of a day."""
        self._on[day] = what

    def publish(self, store: int | None, speed: float | None = SPEED) -> Heard:
        """Publish, and give what a subscriber heard before the outage and after it, each message once."""
        before = Ear("127.0.0.1", self._broker.port)
        config = PublisherConfig(
            "127.0.0.1", self._broker.port, minutes=0, days=6, speed=speed, store=store, report_every_s=0.05
        )
        publish_winter(config, lambda: False, self._report)
        before.close()
        after = Ear("127.0.0.1", self._broker.port)  # the broker kept the session over the restart
        after.wait_for(10**9, 1.5)
        after.close()
        return list(dict.fromkeys(before.heard + after.heard))

    def _report(self, now: Progress) -> None:
        self.reports.append(now)
        self._on.pop(now.day, lambda: None)()


def test_an_outage_within_the_store_loses_nothing_and_changes_no_order(broker: Broker) -> None:
    outage = Outage(broker, stop_day=2, start_day=4)
    heard = outage.publish(store=200)
    assert heard == sent(days=6)
    assert not outage.reports[-1].dropped
    assert outage.reports[-1].done
    # The winter went on while the broker was away: two days' reports came unheard, and none of their readings.
    away = [r for r in outage.reports if not r.is_heard]
    assert {3, 4} <= {r.day for r in away}
    assert len({r.published for r in away}) == 1


def test_an_outage_beyond_the_store_drops_the_oldest_of_each_gateway_and_counts_them(broker: Broker) -> None:
    store = 10
    outage = Outage(broker, stop_day=2, start_day=4)
    heard = outage.publish(store)
    everything = sent(days=6)
    missing = [message for message in everything if message not in set(heard)]
    assert heard == [message for message in everything if message not in set(missing)]
    # 48 hours' packs of each boat while it was away, and those until it was found again, less the store.
    assert 36 * BOATS <= len(missing) <= 60 * BOATS
    # What the broker had taken as it went, and not acknowledged, may be counted though it was heard: a pack a boat.
    assert len(missing) <= outage.reports[-1].dropped <= len(missing) + BOATS
    begins_ms = yard_winter().plan.begins_ms
    for vessel in {topic for topic, _ in missing}:
        hours = [(json.loads(p)[0]["bt"] * 1000 - begins_ms) / HOUR_MS for topic, p in missing if topic == vessel]
        assert hours == [hours[0] + n for n in range(len(hours))]  # the oldest, and no hole behind them
        assert 24 <= hours[0] <= 26
    assert CLOCK not in {topic for topic, _ in missing}


def test_without_a_store_the_winter_waits_for_the_broker(broker: Broker) -> None:
    again = Timer(1.0, broker.start)

    def stop_for_a_second() -> None:
        broker.stop()
        again.start()

    outage = Outage(broker, stop_day=2, start_day=99)
    outage.will_do(2, stop_for_a_second)
    heard = outage.publish(store=None)
    again.join()
    assert heard == sent(days=6)
    assert outage.reports[-1].dropped == 0
    assert not [r for r in outage.reports if not r.is_heard and r.day > 2]


def test_a_small_store_does_not_drop_what_a_broker_that_is_there_has_not_acknowledged_yet(broker: Broker) -> None:
    outage = Outage(broker, stop_day=98, start_day=99)
    assert outage.publish(store=1, speed=1e7) == sent(days=6)
    assert outage.reports[-1].dropped == 0


# --- any winter, any pace, any time


def test_a_child_process_builds_the_winter_it_is_told_to(broker: Broker) -> None:
    ear = Ear("127.0.0.1", broker.port)
    config = PublisherConfig(
        "127.0.0.1", broker.port, minutes=0, days=1, yard="quay", winter=partial(yard_winter, 600), says_time=False
    )
    publisher = start_publisher(config)
    publisher.wait(30)
    assert publisher.progress().done
    ear.wait_for(BOATS * 144, 10)
    ear.close()
    # 144 packs of ten minutes in the day, and no clock.
    assert len(ear.heard) == BOATS * 144
    assert {topic.split("/")[1] for topic, _ in ear.heard} == {"quay"}


def test_at_a_speed_of_one_a_second_of_the_winter_takes_a_second() -> None:
    real = PublisherConfig("127.0.0.1", 1, minutes=3.0, speed=1.0)
    assert real.wall_s_per_ms(151 * DAY_MS) == pytest.approx(0.001)
    # Without a speed the minutes rule: 151 days in 3 minutes.
    assert replace(real, speed=None).wall_s_per_ms(151 * DAY_MS) == pytest.approx(180 / (151 * DAY_MS))


def test_a_speed_is_kept_to(broker: Broker) -> None:
    began = time.monotonic()
    config = PublisherConfig("127.0.0.1", broker.port, days=1, speed=SPEED)
    publish_winter(config, lambda: False, lambda _now: None)
    # The last hour's packs of the day go 23 h after the first ones, at 20 h a second.
    assert time.monotonic() - began == pytest.approx(23 / 20, abs=0.4)


def test_a_winter_from_now_begins_now_and_keeps_its_spacing(broker: Broker) -> None:
    ear = Ear("127.0.0.1", broker.port)
    config = PublisherConfig("127.0.0.1", broker.port, minutes=0, days=1, from_now=True)
    now_ms = time.time() * 1000
    publish_winter(config, lambda: False, lambda _now: None)
    plain = sent(days=1)
    ear.wait_for(len(plain), 10)
    ear.close()
    clocks = [int(payload) for topic, payload in ear.heard if topic == CLOCK]
    assert clocks[0] == pytest.approx(now_ms, abs=5_000)
    assert [ms - clocks[0] for ms in clocks] == [n * HOUR_MS for n in range(24)]
    stated = [round(json.loads(payload)[0]["bt"] * 1000) for topic, payload in ear.heard if topic != CLOCK]
    assert sorted(set(stated)) == clocks


class Short(Winter):
    """The yard's winter cut down to one pack that the broker keeps, and a new record."""

    def stream(self, log: TruthLog | None = None) -> Iterator[Message]:  # noqa: ARG002 - nothing befalls her
        """Give a clock, a new record and a retained pack."""
        yield ClockMessage(self.plan.begins_ms)
        yield RecordChanged(self.plan.begins_ms, self.vessels[0])
        yield Pack("tern", self.plan.begins_ms, [("cabin", "Cel", self.plan.begins_ms, 4.5)], retained=True)


def short_winter() -> Winter:
    whole = yard_winter()
    return Short(whole.plan, whole.vessels, whole.cadence_s)


def test_a_retained_pack_is_kept_by_the_broker_for_who_comes_later(broker: Broker) -> None:
    config = PublisherConfig("127.0.0.1", broker.port, minutes=0, winter=short_winter)
    publish_winter(config, lambda: False, lambda _now: None)
    message = subscribe.simple(f"layup/{YARD}/#", hostname="127.0.0.1", port=broker.port)
    assert message.retain
    assert message.topic == f"layup/{YARD}/tern/readings"


def test_a_new_version_of_a_record_is_not_published_and_that_is_said(
    broker: Broker, caplog: pytest.LogCaptureFixture
) -> None:
    config = PublisherConfig("127.0.0.1", broker.port, minutes=0, winter=short_winter)
    reports: list[Progress] = []
    publish_winter(config, lambda: False, reports.append)
    assert "a new version of a record does not go over MQTT" in caplog.text
    assert reports[-1].published == 1


def test_a_publisher_in_an_outage_ends_as_soon_as_it_is_stopped(broker: Broker) -> None:
    stopping = Event()
    outage = Outage(broker, stop_day=2, start_day=99)
    until: list[float] = []

    def report(now: Progress) -> None:
        outage._report(now)
        if now.day == 3 and not until:
            until.append(time.monotonic())
            stopping.set()

    stops: Callable[[], bool] = stopping.is_set
    publish_winter(PublisherConfig("127.0.0.1", broker.port, speed=SPEED, store=50), stops, report)
    assert time.monotonic() - until[0] < 2
    assert not outage.reports[-1].done
