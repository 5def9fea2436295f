"""Notices from the journal to a real mail server: through outages, refusals, slow disks and restarts."""

import logging
import time
from collections.abc import Iterator
from email.message import EmailMessage
from itertools import pairwise
from pathlib import Path

import pytest
from fixtures_broker import free_port
from post import Post, wait_until, write
from servers import MailServer, SilentServer

from monitor.model.alert import AlertChange
from monitor.model.outbox import Waiting
from monitor.model.vessel import Person
from monitor.notify.backoff import Backoff
from monitor.notify.sender import Sender
from monitor.notify.smtp import Security, SmtpConfig, UnreachableError

OPENED, PRIORITY, RETURNED, ENDED = AlertChange.OPENED, AlertChange.PRIORITY, AlertChange.RETURNED, AlertChange.ENDED

ADDRESSES = ("duty@yard.example", "anna@example.org")


def recipients(server: MailServer) -> list[str]:
    return [to for to, _ in server.box.taken]


@pytest.fixture
def post(tmp_path: Path) -> Iterator[Post]:
    made = Post(tmp_path / "journal.sqlite")
    yield made
    made.close()


def config(port: int, timeout_s: float = 5.0) -> SmtpConfig:
    return SmtpConfig(
        host="127.0.0.1", port=port, security=Security.NONE, sender="watch@yard.example", timeout_s=timeout_s
    )


@pytest.fixture
def sender(post: Post, mail_server: MailServer) -> Iterator[Sender]:
    made = post.sender(config(mail_server.port))
    made.start()
    yield made
    made.stop()


def test_duty_and_owner_get_a_message_each_and_nothing_waits_afterwards(
    post: Post, mail_server: MailServer, sender: Sender
) -> None:
    notices = post.happen("a1", OPENED)
    sender.wake()
    wait_until(lambda: not post.waiting())
    assert [to for to, _ in mail_server.box.taken] == ["duty@yard.example", "anna@example.org"]
    assert mail_server.box.ids() == [f"<{n.id}@yard.example>" for n in notices]
    assert sender.progress.sent == 2


def test_messages_of_one_alert_come_to_one_address_in_the_order_they_happened(
    post: Post, mail_server: MailServer, sender: Sender
) -> None:
    post.happen("a1", OPENED, PRIORITY, RETURNED, ENDED)
    sender.wake()
    wait_until(lambda: not post.waiting())
    notices = [n.id for n in post.happen("a2", OPENED)]
    sender.wake()
    wait_until(lambda: not post.waiting())
    assert len(mail_server.box.taken) == 10
    for address in ("duty@yard.example", "anna@example.org"):
        subjects = [str(m["Message-ID"]) for to, m in mail_server.box.taken if to == address]
        assert len(subjects) == 5
        assert subjects[-1].strip("<").partition("@")[0] in notices


def test_nothing_is_lost_and_order_is_kept_while_the_server_is_down(
    post: Post, caplog: pytest.LogCaptureFixture
) -> None:
    server = MailServer(free_port())
    sender = post.sender(config(server.port))
    with caplog.at_level(logging.WARNING):
        sender.start()
        notices = post.happen("a1", OPENED, PRIORITY, ENDED)
        others = post.happen("a2", OPENED)
        sender.wake()
        wait_until(lambda: len(post.deliveries) >= 3)
        assert sender.progress.failing
        assert len(post.waiting()) == 4  # the oldest of each alert and address
        server.start()
        wait_until(lambda: not post.waiting())
        sender.stop()
        server.stop()
    assert sorted(server.box.ids()) == sorted(f"<{n.id}@yard.example>" for n in notices + others)
    for address in ADDRESSES:
        in_order = [f"<{n.id}@yard.example>" for n in notices if n.address == address]
        assert [key for key in server.box.ids() if key in in_order] == in_order
    assert sender.progress.failing == ""
    assert len([r for r in caplog.records if "cannot be used" in r.message]) == 1


def test_a_message_that_is_not_taken_now_is_sent_later_under_the_same_id(
    post: Post, mail_server: MailServer, sender: Sender
) -> None:
    mail_server.box.to_message["anna@example.org"] = ["451 local error", "451 local error"]
    notices = post.happen("a1", OPENED, ENDED)
    sender.wake()
    wait_until(lambda: not post.waiting())
    ids = [message["Message-ID"] for to, message in mail_server.box.taken if to == "anna@example.org"]
    assert ids == [f"<{n.id}@yard.example>" for n in notices if n.person == "Anna"]
    assert [d.sent for d in post.deliveries if d.notice == notices[1].id] == [False, False, True]


def test_one_address_that_has_to_wait_holds_nobody_else_up(post: Post, mail_server: MailServer, sender: Sender) -> None:
    mail_server.box.to_recipient["duty@yard.example"] = "450 come again"
    post.happen("a1", OPENED, ENDED)
    sender.wake()
    wait_until(lambda: len(mail_server.box.taken) == 2)
    assert set(recipients(mail_server)) == {"anna@example.org"}
    wait_until(lambda: [(w.notice.change, w.notice.person) for w in post.waiting()] == [("opened", "Per")])


def test_a_permanent_refusal_is_given_up_and_said_and_the_next_message_still_goes(
    post: Post, mail_server: MailServer, sender: Sender, caplog: pytest.LogCaptureFixture
) -> None:
    mail_server.box.to_recipient["anna@example.org"] = ["550 5.1.1 no such mailbox"]
    notices = post.happen("a1", OPENED, ENDED)
    sender.wake()
    wait_until(lambda: not post.waiting())
    assert next(d for d in post.deliveries if d.notice == notices[1].id).error == "550 5.1.1 no such mailbox"
    assert recipients(mail_server).count("anna@example.org") == 1
    assert sender.progress.refused == 1
    assert "given up" in caplog.text


def test_an_address_that_is_none_is_given_up_and_holds_nobody_up(
    post: Post, mail_server: MailServer, sender: Sender
) -> None:
    post.happen("a1", OPENED, people=(Person(name="X", email="a,b@example.org"),))
    sender.wake()
    wait_until(lambda: not post.waiting())
    assert recipients(mail_server) == ["anna@example.org"]
    assert sender.progress.refused == 1


def test_a_message_that_cannot_be_written_for_a_fault_of_ours_waits_and_holds_nobody_up(
    post: Post, mail_server: MailServer
) -> None:
    faults = ["once"]

    def faulty(waiting: Waiting, at_ms: int) -> EmailMessage:
        if waiting.notice.person == "Per" and faults:
            faults.pop()
            raise KeyError("a template asks for what is not there")
        return write(waiting, at_ms)

    sender = post.sender(config(mail_server.port))
    sender._write = faulty
    sender.start()
    post.happen("a1", OPENED)
    sender.wake()
    wait_until(lambda: not post.waiting())
    sender.stop()
    assert recipients(mail_server) == ["anna@example.org", "duty@yard.example"]


def test_a_message_is_not_sent_twice_while_its_report_waits_for_a_slow_disk(
    post: Post, mail_server: MailServer, sender: Sender
) -> None:
    post.happen("a1", OPENED)
    post.holding.set()
    sender.wake()
    wait_until(lambda: len(mail_server.box.taken) == 2)
    for _ in range(20):
        sender.wake()
        time.sleep(0.01)
    post.holding.clear()
    wait_until(lambda: not post.waiting())
    assert len(mail_server.box.taken) == 2


def test_a_report_that_could_not_be_committed_is_reported_again_and_the_message_is_not(
    post: Post, mail_server: MailServer, sender: Sender
) -> None:
    post.happen("a1", OPENED)
    post.failing.set()
    sender.wake()
    wait_until(lambda: len(post.deliveries) > 4)
    post.failing.clear()
    wait_until(lambda: not post.waiting())
    assert len(mail_server.box.taken) == 2


def test_what_waited_when_the_agent_stopped_is_sent_after_its_next_start(post: Post, mail_server: MailServer) -> None:
    post.happen("a1", OPENED)
    nowhere = post.sender(config(free_port()))
    nowhere.start()
    wait_until(lambda: len(post.deliveries) > 0)
    nowhere.stop()
    again = post.sender(config(mail_server.port))
    again.start()
    wait_until(lambda: not post.waiting())
    again.stop()
    assert len(mail_server.box.taken) == 2


def test_a_server_that_says_nothing_does_not_hold_up_the_end(post: Post) -> None:
    silent = SilentServer()
    sender = post.sender(config(silent.port, timeout_s=60.0))
    post.happen("a1", OPENED)
    sender.start()
    time.sleep(0.2)
    began = time.monotonic()
    sender.stop()
    assert time.monotonic() - began < 3.0
    assert len(post.waiting()) == 2
    silent.close()


def test_hours_of_outage_in_quick_time_try_less_and_less_often(post: Post) -> None:
    now_ms = [1_700_000_000_000]
    tried: list[int] = []

    def away() -> None:
        tried.append(now_ms[0])
        raise UnreachableError("no route to host")

    sender = post.sender(
        config(1), connect=away, server_backoff=Backoff(2.0, 300.0), notice_backoff=Backoff(30.0, 3600.0)
    )
    sender._now_ms = lambda: now_ms[0]
    post.happen("a1", OPENED, ENDED)
    ends = now_ms[0] + 6 * 3_600_000
    while now_ms[0] < ends:
        sender._turn()
        now_ms[0] += 1_000
    gaps = [(b - a) / 1000 for a, b in pairwise(tried)]
    assert 72 <= len(tried) <= 160  # six hours of at most 300 s and at least 150 s, and the quick ones before
    assert max(gaps) <= 302
    assert gaps[0] <= 3
    assert len(post.waiting()) == 2


def test_a_sender_that_is_stopped_before_anything_happened_stops_at_once(post: Post) -> None:
    sender = post.sender(config(free_port()))
    sender.start()
    began = time.monotonic()
    sender.stop()
    assert time.monotonic() - began < 1.0
