"""A winter over a real broker: in order, nothing lost, whatever happens to the cable, and ended cleanly."""

import json
import os
import signal
from collections.abc import Iterator
from threading import Event
from time import monotonic

import pytest
from cable import Cable
from ear import Ear

from monitor.intake.senml import encode_pack
from monitor.model.parcel import ClockMessage
from simulator.broker import Broker, start_broker
from simulator.publish import Progress, Publisher, PublisherConfig, publish_winter, start_publisher
from simulator.winter import yard_winter
from simulator.yard import YARD

DAY_MS = 86_400_000


@pytest.fixture
def own_broker() -> Iterator[Broker]:
    running = start_broker()
    yield running
    running.stop()


@pytest.fixture
def ear(own_broker: Broker) -> Iterator[Ear]:
    listening = Ear(own_broker.host, own_broker.port)
    yield listening
    listening.close()


def expected(days: int | None = None) -> list[tuple[str, bytes]]:
    winter = yard_winter()
    messages: list[tuple[str, bytes]] = []
    for message in winter.stream():
        if isinstance(message, ClockMessage):
            if days is not None and message.at_ms >= winter.plan.begins_ms + days * DAY_MS:
                break
            messages.append((f"layup/{YARD}/agent/clock", str(message.at_ms).encode()))
        else:
            messages.append((f"layup/{YARD}/{message.vessel}/readings", encode_pack(message.readings)))
    return messages


def _readings(messages: list[tuple[str, bytes]]) -> int:
    return sum(len(json.loads(payload)) for topic, payload in messages if topic.endswith("/readings"))


def _finish(publisher: Publisher, within_s: float) -> Progress:
    until = monotonic() + within_s
    pause = Event()
    while not publisher.progress().done and publisher.is_running and monotonic() < until:
        pause.wait(0.02)
    return publisher.progress()


def test_the_broker_listens_on_loopback_alone_and_stops(own_broker: Broker) -> None:
    assert own_broker.host == "127.0.0.1"
    assert own_broker.is_running
    own_broker.stop()
    own_broker.stop()
    assert not own_broker.is_running


def test_a_port_that_is_taken_is_refused(own_broker: Broker) -> None:
    with pytest.raises(OSError, match=r"in use"):
        start_broker(own_broker.port)


@pytest.mark.slow
def test_a_whole_winter_is_heard_whole_and_in_order_by_a_subscriber_that_commits_in_batches(
    own_broker: Broker, ear: Ear
) -> None:
    publisher = start_publisher(PublisherConfig(own_broker.host, own_broker.port, minutes=0))
    done = _finish(publisher, 60)
    publisher.stop()
    sent = expected()
    ear.wait_for(len(sent), 60)
    assert done == Progress(day=151, published=_readings(sent), done=True)
    assert ear.heard == sent
    assert publisher.exit_code == 0


@pytest.mark.slow
def test_a_subscriber_that_was_away_for_a_whole_winter_hears_all_of_it(own_broker: Broker) -> None:
    Ear(own_broker.host, own_broker.port).close()
    publisher = start_publisher(PublisherConfig(own_broker.host, own_broker.port, minutes=0))
    assert _finish(publisher, 60).done
    publisher.stop()
    back = Ear(own_broker.host, own_broker.port)
    sent = expected()
    back.wait_for(len(sent), 60)
    back.close()
    assert back.heard == sent


def test_a_pulled_cable_loses_nothing_and_changes_no_order(own_broker: Broker, ear: Ear) -> None:
    cable = Cable(own_broker.host, own_broker.port)
    reports: list[Progress] = []

    def report(now: Progress) -> None:
        reports.append(now)
        if now.day in {3, 6, 9} and not now.done:
            cable.cut()
            cable.mend()

    config = PublisherConfig(cable.host, cable.port, minutes=0, days=12)
    publish_winter(config, lambda: False, report)
    sent = expected(days=12)
    ear.wait_for(len(sent), 30)
    cable.close()
    assert cable.cuts == 4
    assert reports[-1] == Progress(day=12, published=_readings(sent), done=True)
    # What was under way when the cable was pulled may come twice (QoS 1): first arrivals are whole and in order.
    assert list(dict.fromkeys(ear.heard)) == sent


def test_a_broker_that_comes_late_is_waited_for() -> None:
    first = start_broker()
    first.stop()
    publisher = start_publisher(PublisherConfig(first.host, first.port, minutes=0, days=1))
    Event().wait(0.7)
    late = start_broker(first.port)
    done = _finish(publisher, 30)
    publisher.stop()
    late.stop()
    assert done.done


def test_a_broker_that_is_restarted_is_gone_on_with(own_broker: Broker) -> None:
    again: list[Broker] = []

    def report(now: Progress) -> None:
        if now.day == 3 and not again:
            own_broker.stop()
            again.append(start_broker(own_broker.port))

    seen: list[Progress] = []
    config = PublisherConfig(own_broker.host, own_broker.port, minutes=0, days=6)
    publish_winter(config, lambda: False, lambda now: (seen.append(now), report(now))[0])
    again[0].stop()
    assert seen[-1] == Progress(day=6, published=_readings(expected(days=6)), done=True)


def test_the_pace_is_the_one_asked_for(own_broker: Broker) -> None:
    # The whole winter in 1.51 minutes is 0.6 s a day; four days end with their last hour, 95 h after the first.
    began = monotonic()
    publish_winter(
        PublisherConfig(own_broker.host, own_broker.port, minutes=1.51, days=4), lambda: False, lambda _now: None
    )
    assert monotonic() - began == pytest.approx(95 / 24 * 0.6, abs=0.4)


@pytest.mark.parametrize("how", ["asked", "SIGTERM"])
def test_a_publisher_ends_cleanly_when_stopped(own_broker: Broker, how: str) -> None:
    publisher = start_publisher(PublisherConfig(own_broker.host, own_broker.port, minutes=60))
    until = monotonic() + 20
    while publisher.progress().day == 0 and monotonic() < until:
        Event().wait(0.05)
    began = monotonic()
    if how == "SIGTERM":
        assert publisher.pid is not None
        os.kill(publisher.pid, signal.SIGTERM)
        publisher.wait(5)
    else:
        publisher.stop()
    assert monotonic() - began < 4
    assert publisher.exit_code == 0
    assert not publisher.progress().done
    publisher.stop()


def test_a_publisher_that_finds_no_broker_still_stops_at_once() -> None:
    gone = start_broker()
    gone.stop()
    publisher = start_publisher(PublisherConfig(gone.host, gone.port))
    Event().wait(1.5)
    began = monotonic()
    publisher.stop()
    assert monotonic() - began < 2
    assert publisher.exit_code == 0
