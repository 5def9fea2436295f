"""The heartbeat: to a real receiver, only while the agent is well, and without queue or secret."""

import base64
import json
import logging
import time
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from fixtures_broker import free_port
from notices import wait_until
from pydantic import ValidationError
from receivers import Receiver
from standardwebhooks.webhooks import Webhook

from monitor.notify import heartbeat
from monitor.notify.heartbeat import Heartbeat, HeartbeatConfig, Pulse

SECRET = "whsec_" + base64.b64encode(bytes(range(40))).decode()
WELL = Pulse(seq=7, stored_ms=1_700_000_000_000, troubles=("the broker is away",))


@pytest.fixture
def receiver() -> Iterator[Receiver]:
    made = Receiver(free_port()).start()
    yield made
    made.stop()


def heart(
    pulse: Callable[[], Pulse | None], retained: list[bytes], url: str | None = None, **options: Any
) -> Heartbeat:
    config = HeartbeatConfig.model_validate({"url": url, "every_s": 0.05, "allow_private": True} | options)
    return Heartbeat(config, "quay", pulse, retained.append)


def test_each_beat_is_posted_signed_and_retained_alike_and_says_how_the_agent_is(receiver: Receiver) -> None:
    retained: list[bytes] = []
    beating = heart(lambda: WELL, retained, receiver.url(), secret=SECRET)
    beating.start()
    wait_until(lambda: beating.progress.sent >= 3)
    beating.stop()
    got = receiver.got[0]
    body = Webhook(SECRET).verify(got.body, got.headers)
    assert body == {
        "yard": "quay",
        "at": body["at"],
        "every_s": 0.05,
        "seq": 7,
        "stored": "2023-11-14T22:13:20Z",
        "troubles": ["the broker is away"],
    }
    assert got.body == retained[0]
    assert len(set(receiver.ids())) == len(receiver.got)


def test_no_beat_goes_out_while_the_loop_does_not_turn_and_they_go_on_when_it_does(receiver: Receiver) -> None:
    well: list[Pulse | None] = [None]
    retained: list[bytes] = []
    beating = heart(lambda: well[0], retained, receiver.url())
    beating.start()
    time.sleep(0.4)
    assert (receiver.got, retained, beating.beaten_ms) == ([], [], None)
    well[0] = WELL
    wait_until(lambda: len(receiver.got) >= 2)
    well[0] = None
    time.sleep(0.15)
    count = len(receiver.got)
    time.sleep(0.3)
    beating.stop()
    assert len(receiver.got) == count
    assert len(retained) == count


def test_a_pulse_that_raises_sends_nothing_and_ends_nothing(receiver: Receiver) -> None:
    faults = [OSError("the journal cannot be read")] * 3

    def faulty() -> Pulse:
        if faults:
            raise faults.pop()
        return WELL

    beating = heart(faulty, [], receiver.url())
    beating.start()
    wait_until(lambda: len(receiver.got) > 0)
    beating.stop()
    assert not faults


def test_an_outage_is_said_once_and_no_old_beats_follow_it(caplog: pytest.LogCaptureFixture) -> None:
    receiver = Receiver(free_port())
    beating = heart(lambda: WELL, [], receiver.url("/url-secret"), secret=SECRET)
    with caplog.at_level(logging.DEBUG):
        beating.start()
        wait_until(lambda: bool(beating.progress.failing))
        time.sleep(0.5)
        assert beating.progress.failing_since_ms is not None
        began_s = int(time.time())
        receiver.start()
        wait_until(lambda: beating.progress.sent >= 2)
        beating.stop()
    receiver.stop()
    assert min(int(got.headers["webhook-timestamp"]) for got in receiver.got) >= began_s
    assert len([r for r in caplog.records if "is not taken" in r.message]) == 1
    assert "url-secret" not in caplog.text
    assert SECRET not in caplog.text


def test_a_receiver_that_refuses_is_told_of_and_tried_again(receiver: Receiver) -> None:
    receiver.answers["/hook"] = [(404, {}), (410, {})]
    beating = heart(lambda: WELL, [], receiver.url())
    assert not beating._beat()
    assert beating.progress.failing == "the receiver answers 404"
    assert not beating._beat()
    assert beating._beat()
    assert beating.progress.failing == ""


def test_a_private_address_is_refused_unless_allowed(receiver: Receiver) -> None:
    beating = heart(lambda: WELL, [], f"https://127.0.0.1:{receiver.port}/", allow_private=False)
    assert not beating._beat()
    assert "loopback" in beating.progress.failing
    assert receiver.got == []


def test_a_receiver_that_hangs_does_not_hold_up_the_end(receiver: Receiver) -> None:
    receiver.hang.set()
    beating = heart(lambda: WELL, [], receiver.url(), timeout_s=60)
    beating.start()
    wait_until(lambda: len(receiver.got) == 1)
    began = time.monotonic()
    beating.stop()
    assert time.monotonic() - began < 2.0
    assert not beating._thread.is_alive()


def test_without_mqtt_nothing_is_retained_and_without_an_address_nothing_is_posted() -> None:
    retained: list[bytes] = []
    assert heart(lambda: WELL, retained, mqtt=False)._beat()
    assert retained == []
    assert heart(lambda: WELL, retained)._beat()
    assert json.loads(retained[0])["yard"] == "quay"


def test_the_settings_hide_the_address_and_a_secret_needs_one() -> None:
    made = HeartbeatConfig.model_validate({"url": "https://hooks.example/url-secret"})
    assert "url-secret" not in repr(made)
    assert made.every_s == 300
    with pytest.raises(ValidationError, match="there is no url to post to"):
        HeartbeatConfig.model_validate({"secret": SECRET})


def test_the_outside_party_is_told_what_to_do() -> None:
    assert "three times ``every_s``" in str(heartbeat.__doc__)
