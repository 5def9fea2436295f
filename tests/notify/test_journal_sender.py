"""Notices in a real journal's file, sent by a real sender to a real receiver."""

import base64
from collections.abc import Iterator
from pathlib import Path

import pytest
from fixtures_broker import free_port
from notices import ANNA, NEW, OVER, PER, QUICK, WORSE, wait_until, write_plain
from post import Post
from receivers import Receiver
from servers import MailServer

from monitor.model.people import ChannelKind
from monitor.notify.sender import Sender
from monitor.notify.smtp import Security, SmtpConfig, SmtpConnection
from monitor.notify.webhook import WebhookConfig, WebhookConnection, WebhookMessage

SECRET = "whsec_" + base64.b64encode(bytes(range(32))).decode()


@pytest.fixture
def post(tmp_path: Path) -> Iterator[Post]:
    made = Post(tmp_path / "journal.sqlite")
    yield made
    made.close()


def test_an_outage_of_the_mail_server_loses_nothing_of_the_journal_and_keeps_the_order(post: Post) -> None:
    server = MailServer(free_port())
    config = SmtpConfig(host="127.0.0.1", port=server.port, security=Security.NONE, sender="watch@yard.example")
    sender = Sender(
        ChannelKind.EMAIL, post.outbox, write_plain, lambda: SmtpConnection(config), post.report, server_backoff=QUICK
    )
    notices = post.happen("c1", NEW, WORSE, OVER)
    sender.start()
    wait_until(lambda: bool(sender.progress.failing))
    server.start()
    wait_until(lambda: post.outbox.next_due_ms("email") is None)
    sender.stop()
    server.stop()
    for address in (PER, ANNA):
        ids = [str(message["Message-ID"]) for to, message in server.box.taken if to == address]
        assert ids == [f"<{n.id}@yard.example>" for n in notices if n.address == address]


def test_an_address_that_is_gone_stays_so_in_the_journal(post: Post) -> None:
    config = WebhookConfig(secret=SECRET, allow_private=True)
    receiver = Receiver(free_port()).start()
    receiver.answers["/hook"] = [(410, {})] * 2
    notices = post.happen("c1", NEW, channel="webhook")
    sender = Sender(
        ChannelKind.WEBHOOK,
        post.outbox,
        lambda waiting, at_ms: WebhookMessage(waiting.notice.id, receiver.url(), at_ms, b"{}"),
        lambda: WebhookConnection(config),
        post.report,
    )
    sender.start()
    wait_until(lambda: post.outbox.next_due_ms("webhook") is None)
    sender.stop()
    receiver.stop()
    assert set(post.outbox.disabled()) == {("webhook", n.address) for n in notices}
