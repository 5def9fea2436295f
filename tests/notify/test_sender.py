"""Notices from the journal to a real mail server: through outages, refusals, slow disks and restarts."""

import logging
import time
from collections.abc import Iterator
from email.message import EmailMessage
from itertools import pairwise
from typing import Any

import pytest
from fixtures_broker import free_port
from notices import ANNA, NEW, OVER, PER, QUICK, TAKEN, WORSE, Box, wait_until, write_plain
from servers import MailServer, SilentServer

from monitor.model.outbox import Waiting
from monitor.model.people import ChannelKind
from monitor.notify.backoff import Backoff
from monitor.notify.connection import UnreachableError
from monitor.notify.sender import Sender
from monitor.notify.smtp import Security, SmtpConfig, SmtpConnection

ADDRESSES = (PER, ANNA)


def recipients(server: MailServer) -> list[str]:
    return [to for to, _ in server.box.taken]


@pytest.fixture
def post() -> Iterator[Box]:
    made = Box("email", ADDRESSES)
    yield made
    made.close()


def sender_of(post: Box, config: SmtpConfig, **options: Any) -> Sender[EmailMessage]:
    made = {"write": write_plain, "connect": lambda: SmtpConnection(config)} | options
    backoff = {"server_backoff": QUICK, "notice_backoff": QUICK} | {k: made.pop(k) for k in options if "backoff" in k}
    return Sender(ChannelKind.EMAIL, post, made["write"], made["connect"], post.report, **backoff)


def config(port: int, timeout_s: float = 5.0) -> SmtpConfig:
    return SmtpConfig(
        host="127.0.0.1", port=port, security=Security.NONE, sender="watch@yard.example", timeout_s=timeout_s
    )


@pytest.fixture
def sender(post: Box, mail_server: MailServer) -> Iterator[Sender[EmailMessage]]:
    made = sender_of(post, config(mail_server.port))
    made.start()
    yield made
    made.stop()


def test_duty_and_owner_get_a_message_each_and_nothing_waits_afterwards(
    post: Box, mail_server: MailServer, sender: Sender[EmailMessage]
) -> None:
    notices = post.happen("a1", NEW)
    sender.wake()
    wait_until(lambda: not post.left())
    assert [to for to, _ in mail_server.box.taken] == ["duty@yard.example", "anna@example.org"]
    assert mail_server.box.ids() == [f"<{n.id}@yard.example>" for n in notices]
    assert sender.progress.sent == 2


def test_messages_of_one_call_come_to_one_address_in_the_order_they_happened(
    post: Box, mail_server: MailServer, sender: Sender[EmailMessage]
) -> None:
    post.happen("a1", NEW, WORSE, TAKEN, OVER)
    sender.wake()
    wait_until(lambda: not post.left())
    notices = [n.id for n in post.happen("a2", NEW)]
    sender.wake()
    wait_until(lambda: not post.left())
    assert len(mail_server.box.taken) == 10
    for address in ("duty@yard.example", "anna@example.org"):
        subjects = [str(m["Message-ID"]) for to, m in mail_server.box.taken if to == address]
        assert len(subjects) == 5
        assert subjects[-1].strip("<").partition("@")[0] in notices


def test_nothing_is_lost_and_order_is_kept_while_the_server_is_down(
    post: Box, caplog: pytest.LogCaptureFixture
) -> None:
    server = MailServer(free_port())
    sender = sender_of(post, config(server.port))
    with caplog.at_level(logging.WARNING):
        sender.start()
        notices = post.happen("a1", NEW, WORSE, OVER)
        others = post.happen("a2", NEW)
        sender.wake()
        wait_until(lambda: len(post.deliveries) >= 3)
        assert sender.progress.failing
        assert len(post.left()) == 8
        server.start()
        wait_until(lambda: not post.left())
        sender.stop()
        server.stop()
    assert sorted(server.box.ids()) == sorted(f"<{n.id}@yard.example>" for n in notices + others)
    for address in ADDRESSES:
        in_order = [f"<{n.id}@yard.example>" for n in notices if n.address == address]
        assert [key for key in server.box.ids() if key in in_order] == in_order
    assert sender.progress.failing == ""
    assert len([r for r in caplog.records if "cannot be used" in r.message]) == 1


def test_a_message_that_is_not_taken_now_is_sent_later_under_the_same_id(
    post: Box, mail_server: MailServer, sender: Sender[EmailMessage]
) -> None:
    mail_server.box.to_message["anna@example.org"] = ["451 local error", "451 local error"]
    notices = post.happen("a1", NEW, OVER)
    sender.wake()
    wait_until(lambda: not post.left())
    ids = [message["Message-ID"] for to, message in mail_server.box.taken if to == "anna@example.org"]
    assert ids == [f"<{n.id}@yard.example>" for n in notices if n.address == ANNA]
    assert [d.sent for d in post.deliveries if d.notice == notices[1].id] == [False, False, True]


def test_one_address_that_has_to_wait_holds_nobody_else_up(
    post: Box, mail_server: MailServer, sender: Sender[EmailMessage]
) -> None:
    mail_server.box.to_recipient["duty@yard.example"] = "450 come again"
    post.happen("a1", NEW, OVER)
    sender.wake()
    wait_until(lambda: len(mail_server.box.taken) == 2)
    assert set(recipients(mail_server)) == {"anna@example.org"}
    wait_until(lambda: [(n.kind, n.address) for n in post.left()] == [(NEW, PER), (OVER, PER)])


def test_a_permanent_refusal_is_given_up_and_said_and_the_next_message_still_goes(
    post: Box, mail_server: MailServer, sender: Sender[EmailMessage], caplog: pytest.LogCaptureFixture
) -> None:
    mail_server.box.to_recipient["anna@example.org"] = ["550 5.1.1 no such mailbox"]
    notices = post.happen("a1", NEW, OVER)
    sender.wake()
    wait_until(lambda: not post.left())
    assert next(d for d in post.deliveries if d.notice == notices[1].id).error == "550 5.1.1 no such mailbox"
    assert recipients(mail_server).count("anna@example.org") == 1
    assert sender.progress.refused == 1
    assert "given up" in caplog.text


def test_a_message_that_can_never_be_written_is_given_up_and_holds_nobody_up(
    post: Box, mail_server: MailServer
) -> None:
    def fussy(waiting: Waiting, at_ms: int) -> EmailMessage:
        if waiting.notice.address == PER:
            raise ValueError("'a,b@example.org' is no address")
        return write_plain(waiting, at_ms)

    sender = sender_of(post, config(mail_server.port), write=fussy)
    post.happen("a1", NEW)
    sender.start()
    wait_until(lambda: not post.left())
    sender.stop()
    assert recipients(mail_server) == [ANNA]
    assert sender.progress.refused == 1


def test_a_message_that_cannot_be_written_for_a_fault_of_ours_waits_and_holds_nobody_up(
    post: Box, mail_server: MailServer
) -> None:
    faults = ["once"]

    def faulty(waiting: Waiting, at_ms: int) -> EmailMessage:
        if waiting.notice.address == PER and faults:
            faults.pop()
            raise KeyError("a template asks for what is not there")
        return write_plain(waiting, at_ms)

    sender = sender_of(post, config(mail_server.port), write=faulty)
    sender.start()
    post.happen("a1", NEW)
    sender.wake()
    wait_until(lambda: not post.left())
    sender.stop()
    assert recipients(mail_server) == ["anna@example.org", "duty@yard.example"]


def test_a_message_is_not_sent_twice_while_its_report_waits_for_a_slow_disk(
    post: Box, mail_server: MailServer, sender: Sender[EmailMessage]
) -> None:
    post.happen("a1", NEW)
    post.holding.set()
    sender.wake()
    wait_until(lambda: len(mail_server.box.taken) == 2)
    for _ in range(20):
        sender.wake()
        time.sleep(0.01)
    post.holding.clear()
    wait_until(lambda: not post.left())
    assert len(mail_server.box.taken) == 2


def test_a_report_that_could_not_be_committed_is_reported_again_and_the_message_is_not(
    post: Box, mail_server: MailServer, sender: Sender[EmailMessage]
) -> None:
    post.happen("a1", NEW)
    post.failing.set()
    sender.wake()
    wait_until(lambda: len(post.deliveries) > 4)
    post.failing.clear()
    wait_until(lambda: not post.left())
    assert len(mail_server.box.taken) == 2


def test_what_waited_when_the_agent_stopped_is_sent_after_its_next_start(post: Box, mail_server: MailServer) -> None:
    post.happen("a1", NEW)
    nowhere = sender_of(post, config(free_port()))
    nowhere.start()
    wait_until(lambda: len(post.deliveries) > 0)
    nowhere.stop()
    again = sender_of(post, config(mail_server.port))
    again.start()
    wait_until(lambda: not post.left())
    again.stop()
    assert len(mail_server.box.taken) == 2


def test_a_server_that_says_nothing_does_not_hold_up_the_end(post: Box) -> None:
    silent = SilentServer()
    sender = sender_of(post, config(silent.port, timeout_s=60.0))
    post.happen("a1", NEW)
    sender.start()
    time.sleep(0.2)
    began = time.monotonic()
    sender.stop()
    assert time.monotonic() - began < 3.0
    assert len(post.left()) == 2
    silent.close()


def test_hours_of_outage_in_quick_time_try_less_and_less_often(post: Box) -> None:
    now_ms = [1_700_000_000_000]
    tried: list[int] = []

    def away() -> None:
        tried.append(now_ms[0])
        raise UnreachableError("no route to host")

    sender = sender_of(
        post, config(1), connect=away, server_backoff=Backoff(2.0, 300.0), notice_backoff=Backoff(30.0, 3600.0)
    )
    sender._now_ms = lambda: now_ms[0]
    post.happen("a1", NEW, OVER)
    ends = now_ms[0] + 6 * 3_600_000
    while now_ms[0] < ends:
        sender._turn()
        now_ms[0] += 1_000
    gaps = [(b - a) / 1000 for a, b in pairwise(tried)]
    assert 72 <= len(tried) <= 160  # six hours of at most 300 s and at least 150 s, and the quick ones before
    assert max(gaps) <= 302
    assert gaps[0] <= 3
    assert len(post.left()) == 4


def test_a_sender_that_is_stopped_before_anything_happened_stops_at_once(post: Box) -> None:
    sender = sender_of(post, config(free_port()))
    sender.start()
    began = time.monotonic()
    sender.stop()
    assert time.monotonic() - began < 1.0


def test_a_sender_killed_between_acceptance_and_record_sends_again_under_the_same_id(
    post: Box, mail_server: MailServer
) -> None:
    notices = post.happen("a1", NEW)
    post.lost.set()
    killed = sender_of(post, config(mail_server.port))
    killed.start()
    wait_until(lambda: len(mail_server.box.taken) == 2)
    killed.stop()
    post.lost.clear()
    again = sender_of(post, config(mail_server.port))
    again.start()
    wait_until(lambda: not post.left())
    again.stop()
    assert mail_server.box.ids() == [f"<{n.id}@yard.example>" for n in notices] * 2
