"""What waits in the journal's outbox."""

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest
from boats import LAID_UP_MS
from post import Post

from monitor.model.notice import Delivery, NoticeKind
from monitor.store.outbox import _DUE, _NEXT, _OPENING, JournalOutbox

NEW, WORSE, OVER = NoticeKind.NEW, NoticeKind.WORSE, NoticeKind.OVER


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
    return [(w.notice.call, w.notice.kind, w.notice.person) for w in found]


def test_only_the_oldest_of_an_alert_and_address_has_its_turn(post: Post, outbox: JournalOutbox) -> None:
    post.happen("a1", NEW, WORSE, OVER)
    post.happen("a2", NEW)
    assert waiting(outbox) == [
        ("a1", "new", "Per"),
        ("a1", "new", "Anna"),
        ("a2", "new", "Per"),
        ("a2", "new", "Anna"),
    ]
    assert waiting(outbox, limit=1) == [("a1", "new", "Per")]


def test_what_is_sent_or_given_up_makes_way_for_the_next(post: Post, outbox: JournalOutbox) -> None:
    per, anna, *_ = post.happen("a1", NEW, OVER)
    post.report(Delivery(per.id, sent=True, at_ms=5, next_ms=None)).result(5)
    post.report(Delivery(anna.id, sent=False, at_ms=5, next_ms=None, error="550 gone")).result(5)
    assert waiting(outbox) == [("a1", "over", "Per"), ("a1", "over", "Anna")]


def test_what_is_not_due_waits_and_keeps_its_later_ones_waiting(post: Post, outbox: JournalOutbox) -> None:
    per, *_ = post.happen("a1", NEW, OVER)
    assert outbox.next_due_ms("email") == 0
    post.report(Delivery(per.id, sent=False, at_ms=5, next_ms=2_000, error="451 later")).result(5)
    assert waiting(outbox, now_ms=1_999) == [("a1", "new", "Anna")]
    assert waiting(outbox, now_ms=2_000) == [("a1", "new", "Per"), ("a1", "new", "Anna")]
    assert [w.tries for w in outbox.waiting("email", 2_000, 10)] == [1, 0]


def test_what_is_new_gives_what_was_put_off_another_try_at_once(post: Post, outbox: JournalOutbox) -> None:
    """Else a telephone that was out of reach for a minute would hear of what got worse an hour later."""
    per, *_ = post.happen("a1", NEW, WORSE)
    post.report(Delivery(per.id, sent=False, at_ms=5, next_ms=9_000, error="451 later")).result(5)
    assert [who for _, _, who in waiting(outbox, now_ms=100)] == ["Anna"]
    post.happen("a1", OVER)
    assert waiting(outbox, now_ms=100) == [("a1", "new", "Per"), ("a1", "new", "Anna")]
    post.report(Delivery(per.id, sent=False, at_ms=100, next_ms=9_500, error="451 later")).result(5)
    assert [who for _, _, who in waiting(outbox, now_ms=9_499)] == ["Anna"]
    assert [who for _, _, who in waiting(outbox, now_ms=9_500)] == ["Per", "Anna"]


def test_what_was_given_up_is_tried_again_when_asked_and_its_address_used_again(
    post: Post, outbox: JournalOutbox
) -> None:
    per, anna, *_ = post.happen("a1", NEW)
    gone = Delivery(per.id, sent=False, at_ms=5, next_ms=None, error="410 Gone", disabled=True)
    post.report(gone).result(5)
    post.report(Delivery(anna.id, sent=True, at_ms=5, next_ms=None)).result(5)
    assert waiting(outbox) == []
    for notice in (per, anna):  # and what was sent is not sent again
        post.try_again(notice.id).result(5)
    assert waiting(outbox) == [("a1", "new", "Per")]
    assert outbox.disabled() == frozenset()


def test_a_wall_that_is_put_back_makes_no_wait_longer_than_it_was_to_be(post: Post, outbox: JournalOutbox) -> None:
    per, anna, *_ = post.happen("a1", NEW)
    ahead_ms = 400 * 86_400_000
    post.report(Delivery(per.id, sent=False, at_ms=ahead_ms, next_ms=ahead_ms + 60_000, error="451 later")).result(5)
    post.report(Delivery(anna.id, sent=False, at_ms=5, next_ms=60_005, error="451 later")).result(5)
    assert [who for _, _, who in waiting(outbox, now_ms=60_000)] == ["Per"]
    assert [who for _, _, who in waiting(outbox, now_ms=60_005)] == ["Per", "Anna"]


def test_a_notice_comes_with_its_alert_and_the_record_that_is_valid_now(post: Post, outbox: JournalOutbox) -> None:
    post.happen("a1", NEW, OVER)
    first = outbox.waiting("email", 1, 1)[0]
    ((alert, vessel),) = first.alerts
    assert vessel.name == "Tern"
    assert alert.opened_ms == LAID_UP_MS + 2 * 60_000
    assert (alert.id,) == first.notice.alerts
    assert first.call is not None
    assert (first.call.id, first.call.about) == ("a1", "tern")


def test_the_first_message_of_a_call_to_an_address_is_what_the_later_ones_follow(
    post: Post, outbox: JournalOutbox
) -> None:
    per, anna, *_ = post.happen("a1", NEW, OVER)
    assert {w.notice.id: w.opening for w in outbox.waiting("email", 1, 10)} == {per.id: per.id, anna.id: anna.id}
    post.report(Delivery(per.id, sent=True, at_ms=5, next_ms=None)).result(5)
    (later,) = [w for w in outbox.waiting("email", 10, 10) if w.notice.kind is OVER]
    assert (later.notice.person, later.opening) == ("Per", per.id)


def test_an_address_that_is_gone_for_good_is_known_by_its_channel(post: Post, outbox: JournalOutbox) -> None:
    per, *_ = post.happen("a1", NEW)
    assert outbox.disabled() == frozenset()
    gone = Delivery(per.id, sent=False, at_ms=5, next_ms=None, error="410 Gone", disabled=True)
    post.report(gone).result(5)
    assert outbox.disabled() == {("email", per.address)}
    assert [person for _, _, person in waiting(outbox)] == ["Anna"]


@pytest.mark.parametrize(
    ("query", "given", "index"),
    [
        (_DUE, ("email", "[]", 1, 2, 1), "notice_waiting"),
        (_NEXT, ("email", "[]"), "notice_waiting"),
        (_OPENING, ("a1", "email", "duty@yard.example"), "notice_by_call"),
    ],
    ids=["what is due", "when the next is due", "the first message of a call"],
)
def test_what_was_sent_long_ago_costs_nothing(
    post: Post, outbox: JournalOutbox, query: str, given: tuple[object, ...], index: str
) -> None:
    """The plan of each query touches what waits or one call, and not every notice that ever was."""
    with closing(sqlite3.connect(post.path)) as db:
        plan = [row[3] for row in db.execute("EXPLAIN QUERY PLAN " + query, given)]
    assert [step for step in plan if "notice" in step and f"INDEX {index} (" not in step] == []
    assert any(f"INDEX {index} (" in step for step in plan)
    assert outbox.next_due_ms("email") is None


def test_a_notice_about_nothing_is_logged_once_and_waits_in_nobodys_way(
    post: Post, outbox: JournalOutbox, caplog: pytest.LogCaptureFixture
) -> None:
    lost, *_ = post.happen("a1", NEW)
    with closing(sqlite3.connect(post.path)) as db, db:
        db.execute("UPDATE notice SET alerts = '[\"gone\"]' WHERE id = ?", (lost.id,))
    assert waiting(outbox, limit=1) == [("a1", "new", "Anna")]
    assert waiting(outbox, limit=1) == [("a1", "new", "Anna")]
    assert [r.getMessage() for r in caplog.records if f"{lost.id} waits" in r.getMessage()] == [
        f"notice {lost.id} waits: none of its alerts is in the journal, or their vessels' records"
    ]
    (anna,) = outbox.waiting("email", 1, 1)
    post.report(Delivery(anna.notice.id, sent=True, at_ms=5, next_ms=None)).result(5)
    assert outbox.next_due_ms("email") is None


def test_a_notice_about_nothing_holds_up_none_of_the_later_ones_of_its_call(post: Post, outbox: JournalOutbox) -> None:
    lost, *_ = post.happen("a1", NEW, WORSE)
    with closing(sqlite3.connect(post.path)) as db, db:
        db.execute("UPDATE notice SET alerts = '[\"gone\"]' WHERE id = ?", (lost.id,))
    assert waiting(outbox) == [("a1", "new", "Anna"), ("a1", "worse", "Per")]
    (anna, per) = outbox.waiting("email", 1, 10)
    for sent in (anna, per):
        post.report(Delivery(sent.notice.id, sent=True, at_ms=5, next_ms=None)).result(5)
    post.happen("a1", OVER)
    assert outbox.next_due_ms("email") == 0
    assert ("a1", "over", "Per") in waiting(outbox)


def test_an_alert_that_cannot_be_found_is_left_out_of_a_message_and_logged(
    post: Post, outbox: JournalOutbox, caplog: pytest.LogCaptureFixture
) -> None:
    told, *_ = post.happen("a1", NEW)
    with closing(sqlite3.connect(post.path)) as db, db:
        db.execute(
            "UPDATE notice SET alerts = json_insert(alerts, '$[0]', 'gone', '$[#]', 'gone') WHERE id = ?", (told.id,)
        )
    first = outbox.waiting("email", 1, 1)[0]
    assert first.notice.id == told.id
    assert [alert.id for alert, _ in first.alerts] == ["a1-alert"]
    assert "leaves out alert gone" in caplog.text


def test_an_empty_outbox_has_nothing_due_and_another_channel_is_not_mixed_in(post: Post, outbox: JournalOutbox) -> None:
    assert outbox.next_due_ms("email") is None
    post.happen("a1", NEW)
    assert outbox.waiting("webhook", 1, 10) == []
    assert outbox.next_due_ms("webhook") is None


def test_the_open_alerts_come_with_their_vessels(post: Post, outbox: JournalOutbox) -> None:
    post.happen("a1", NEW)
    assert [(alert.id, vessel.id) for alert, vessel in outbox.open_alerts()] == [("a1-alert", "tern")]
