"""Messages that fail by an error of ours: they go out in plain words, or are given up, and hold up none of the rest."""

import json
import logging
import time
from collections.abc import Iterator
from datetime import UTC, datetime
from email.message import EmailMessage
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from fixtures_broker import free_port
from jinja2 import Template, UndefinedError
from notices import ANNA, PER, QUICK, wait_until, write_plain
from post import TERN, Post
from receivers import Receiver
from servers import MailServer

from monitor.messages.letterhead import Letterhead
from monitor.messages.mail import write_mail
from monitor.model.notice import NoticeKind
from monitor.model.outbox import Waiting
from monitor.model.people import ChannelKind
from monitor.notify.plain_words import WHY, plain_words
from monitor.notify.sender import Sender
from monitor.notify.smtp import Security, SmtpConfig, SmtpConnection
from monitor.notify.webhook import WebhookConfig, WebhookConnection, WebhookMessage
from monitor.notify.writing import MOST_FAULTS

NEW, WORSE, ESCALATED, OVER = NoticeKind.NEW, NoticeKind.WORSE, NoticeKind.ESCALATED, NoticeKind.OVER


@pytest.fixture
def post(tmp_path: Path) -> Iterator[Post]:
    made = Post(tmp_path / "journal.sqlite")
    yield made
    made.close()


def mail_sender(post: Post, server: MailServer, write: object = write_plain, connect: object = None) -> Sender:  # type: ignore[type-arg]
    config = SmtpConfig(host="127.0.0.1", port=server.port, security=Security.NONE, sender="watch@yard.example")
    return Sender(
        ChannelKind.EMAIL,
        post.outbox,
        write,  # type: ignore[arg-type]
        connect or (lambda: SmtpConnection(config)),  # type: ignore[arg-type]
        post.report,
        server_backoff=QUICK,
        notice_backoff=QUICK,
    )


def broken_for_per(waiting: Waiting, at_ms: int) -> EmailMessage:
    if waiting.notice.kind is NEW and waiting.notice.address == PER:
        raise KeyError("a template asks for what is not there")
    return write_plain(waiting, at_ms)


def to(server: MailServer, address: str) -> list[EmailMessage]:
    return [message for who, message in server.box.taken if who == address]


def test_a_letter_whose_template_fails_goes_out_in_plain_words_and_the_later_ones_after_it(
    post: Post, mail_server: MailServer
) -> None:
    notices = post.happen("c1", NEW, WORSE, ESCALATED, OVER)
    sender = mail_sender(post, mail_server, broken_for_per)
    sender.start()
    wait_until(lambda: post.outbox.next_due_ms("email") is None)
    sender.stop()
    plain, *later = to(mail_server, PER)
    per = [n for n in notices if n.address == PER]
    assert str(plain["Message-ID"]) == f"<{per[0].id}@yard.example>"
    assert [str(m["Message-ID"]) for m in later] == [f"<{n.id}@yard.example>" for n in per[1:]]
    assert plain["Subject"] == f"Act now: Tern, {TERN.place}: Frost (s: not known)"
    assert plain["Importance"] == "high"
    text = plain.get_content()
    assert WHY in text.replace("\n", " ")
    assert "since 2" in text
    assert len(to(mail_server, ANNA)) == 4
    assert sender.progress.refused == 0


@pytest.mark.parametrize("fault", [UndefinedError("'berth' is undefined"), ValueError("year 60001 is out of range")])
def test_the_real_letter_without_its_template_is_a_plain_one(
    post: Post, mail_server: MailServer, monkeypatch: pytest.MonkeyPatch, fault: Exception
) -> None:
    def broken(_name: str) -> Template:
        raise fault

    monkeypatch.setattr("monitor.messages.letter._template", broken)
    head = Letterhead("watch@yard.example", "Eiderhythe", lambda _: None, ZoneInfo("Europe/Berlin"))
    post.happen("c1", NEW)
    sender = mail_sender(
        post, mail_server, lambda w, at_ms: write_mail(w, head, datetime.fromtimestamp(at_ms / 1e3, UTC))
    )
    sender.start()
    wait_until(lambda: post.outbox.next_due_ms("email") is None)
    sender.stop()
    assert [str(message["Subject"])[:13] for _, message in mail_server.box.taken] == ["Act now: Tern"] * 2


def test_an_owner_is_not_asked_aboard_in_plain_words_either(post: Post) -> None:
    post.happen("c1", NEW)
    said = {w.notice.address: plain_words(w).ask for w in post.outbox.waiting("email", 10, 10)}
    assert said == {PER: "Look at the pages for what to do first.", ANNA: "Please do not board. Ask the yard."}


class PlainFails(SmtpConnection):
    """Has no words at all for one kind."""

    def plain(self, waiting: Waiting, at_ms: int) -> EmailMessage:
        raise KeyError(f"plain words of {waiting.notice.kind} fail at {at_ms} too")


def test_what_cannot_be_written_even_in_plain_words_is_given_up_after_some_tries_and_the_later_ones_go(
    post: Post, mail_server: MailServer, caplog: pytest.LogCaptureFixture
) -> None:
    config = SmtpConfig(host="127.0.0.1", port=mail_server.port, security=Security.NONE, sender="watch@yard.example")
    post.happen("c1", NEW, WORSE, OVER)
    sender = mail_sender(post, mail_server, broken_for_per, lambda: PlainFails(config))
    with caplog.at_level(logging.ERROR):
        sender.start()
        wait_until(lambda: post.outbox.next_due_ms("email") is None)
        sender.stop()
    assert len(to(mail_server, PER)) == 2
    assert len(to(mail_server, ANNA)) == 3
    assert sender.progress.refused == 1
    assert f"by an error of ours (KeyError), {MOST_FAULTS} times" in caplog.text
    assert "plain words of new fail" in caplog.text  # the traceback


class Breaks(SmtpConnection):
    """Breaks at whatever goes to one address."""

    def send(self, message: EmailMessage) -> None:
        if PER in str(message["To"]):
            raise RuntimeError("no such thing was thought of")
        super().send(message)


def test_an_error_nobody_thought_of_at_sending_keeps_no_other_message(post: Post, mail_server: MailServer) -> None:
    config = SmtpConfig(host="127.0.0.1", port=mail_server.port, security=Security.NONE, sender="watch@yard.example")
    post.happen("c1", NEW)
    post.happen("c2", NEW)
    sender = mail_sender(post, mail_server, connect=lambda: Breaks(config))
    began = time.monotonic()
    sender.start()
    wait_until(lambda: post.outbox.next_due_ms("email") is None)
    sender.stop()
    assert time.monotonic() - began < 8.0  # and no turn ended for half a minute
    assert len(to(mail_server, ANNA)) == 2
    assert sender.progress.refused == 2


def test_a_webhook_in_plain_words_has_the_fields_that_its_receiver_knows(post: Post) -> None:
    receiver = Receiver(free_port()).start()
    config = WebhookConfig(secret="whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw", allow_private=True)  # noqa: S106
    (per, _anna) = post.happen("c1", NEW, channel="webhook")
    (waiting, _) = post.outbox.waiting("webhook", 10, 10)
    connection = WebhookConnection(config)
    message = connection.plain(waiting, 5_000)
    assert isinstance(message, WebhookMessage)
    connection.send(WebhookMessage(message.id, f"http://127.0.0.1:{receiver.port}/", message.at_ms, message.body))
    connection.close()
    receiver.stop()
    body = json.loads(receiver.got[0].body)
    assert (body["type"], message.id) == ("call.new", per.id)
    said = body["data"]
    assert (said["vessel"]["name"], said["priority"], said["more"]) == ("Tern", "alarm", 1)
    assert said["title"].startswith("Act now: Tern")
