"""What waits in the journal's outbox."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from boats import LAID_UP_MS
from post import Post

from monitor.model.alert import AlertChange
from monitor.model.notice import Delivery
from monitor.store.outbox import JournalOutbox

OPENED, PRIORITY, ENDED = AlertChange.OPENED, AlertChange.PRIORITY, AlertChange.ENDED


@pytest.fixture
def post(tmp_path: Path) -> Iterator[Post]:
    made = Post(tmp_path / "journal.sqlite")
    yield made
    made.close()


@pytest.fixture
def outbox(post: Post) -> JournalOutbox:
    assert post.outbox is not None
    return post.outbox


def waiting(outbox: JournalOutbox, now_ms: int = 1_000_000, limit: int = 100) -> list[tuple[str, str, str]]:
    found = outbox.waiting("email", now_ms, limit)
    return [(w.notice.alert, w.notice.change, w.notice.person) for w in found]


def test_only_the_oldest_of_an_alert_and_address_has_its_turn(post: Post, outbox: JournalOutbox) -> None:
    post.happen("a1", OPENED, PRIORITY, ENDED)
    post.happen("a2", OPENED)
    assert waiting(outbox) == [
        ("a1", "opened", "Per"),
        ("a1", "opened", "Anna"),
        ("a2", "opened", "Per"),
        ("a2", "opened", "Anna"),
    ]
    assert waiting(outbox, limit=1) == [("a1", "opened", "Per")]


def test_what_is_sent_or_given_up_makes_way_for_the_next(post: Post, outbox: JournalOutbox) -> None:
    per, anna, *_ = post.happen("a1", OPENED, ENDED)
    post.report(Delivery(per.id, sent=True, at_ms=5, next_ms=None)).result(5)
    post.report(Delivery(anna.id, sent=False, at_ms=5, next_ms=None, error="550 gone")).result(5)
    assert waiting(outbox) == [("a1", "ended", "Per"), ("a1", "ended", "Anna")]


def test_what_is_not_due_waits_and_keeps_its_later_ones_waiting(post: Post, outbox: JournalOutbox) -> None:
    per, *_ = post.happen("a1", OPENED, ENDED)
    assert outbox.next_due_ms("email") == 0
    post.report(Delivery(per.id, sent=False, at_ms=5, next_ms=2_000, error="451 later")).result(5)
    assert waiting(outbox, now_ms=1_999) == [("a1", "opened", "Anna")]
    assert waiting(outbox, now_ms=2_000) == [("a1", "opened", "Per"), ("a1", "opened", "Anna")]
    assert [w.tries for w in outbox.waiting("email", 2_000, 10)] == [1, 0]


def test_a_notice_comes_with_its_alert_and_the_record_that_is_valid_now(post: Post, outbox: JournalOutbox) -> None:
    post.happen("a1", OPENED, ENDED)
    first = outbox.waiting("email", 1, 1)[0]
    assert first.vessel.name == "Tern"
    assert first.alert.opened_ms == LAID_UP_MS + 2 * 60_000
    assert first.alert.id == first.notice.alert


def test_an_empty_outbox_has_nothing_due_and_another_channel_is_not_mixed_in(post: Post, outbox: JournalOutbox) -> None:
    assert outbox.next_due_ms("email") is None
    post.happen("a1", OPENED)
    assert outbox.waiting("webhook", 1, 10) == []
    assert outbox.next_due_ms("webhook") is None


def test_the_open_alerts_come_with_their_vessels(post: Post, outbox: JournalOutbox) -> None:
    post.happen("a1", OPENED)
    assert [(alert.id, vessel.id) for alert, vessel in outbox.open_alerts()] == [("a1", "tern")]
