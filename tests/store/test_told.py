"""What people were told, what came of it, and what visits found: over a real file with its writer open."""

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from boats import DAY, HOUR, LAID_UP_MS, MINUTE, boat

from monitor.model.alert import Alert, AlertChange, AlertEvent
from monitor.model.batch import Batch
from monitor.model.call import Call, CallKind
from monitor.model.finding import Figure, Finding
from monitor.model.inputs import Aboard, Acknowledge, Confirm, EndSuppression, RecordVersion, Suppress, VisitReport
from monitor.model.notice import Delivery, Notice, NoticeKind
from monitor.model.scale import AlertState, Priority, Sure
from monitor.model.visit import Found, VisitNote
from monitor.store.journal import Journal
from monitor.store.rows import chained
from monitor.store.view import JournalView

T0 = LAID_UP_MS + 30 * DAY
FOUND = Finding("bilge", "bilge", "high", Priority.ALARM, Figure(120, 100, "mm"), None, Sure.LIKELY, (), (), ())
ALERT = Alert("a1", "tern", "bilge", "bilge", AlertState.UNACKNOWLEDGED, Priority.ALARM, Priority.ALARM, T0, FOUND)
CALL = Call("c1", CallKind.FLEET, "water", T0, Priority.ALARM, ("a1", "a2"), ("tern", "heron"), rung=1)


class Kept:
    """A journal that is written and read."""

    def __init__(self, path: Path) -> None:
        self.journal, self.view, self.seq = Journal(path), JournalView(path), 0
        self.write(inputs=[RecordVersion(boat(), LAID_UP_MS, "R. Invented")])

    def write(self, inputs: Any = (), events: Any = (), **parts: Any) -> None:
        numbered = []
        for item in inputs:
            self.seq += 1
            numbered.append((self.seq, item))
        placed = []
        for event in events:
            self.seq += 1
            placed.append((self.seq, 0, event))
        self.journal.append(Batch(inputs=numbered, events=placed, last_seq=self.seq, **parts))


@pytest.fixture
def kept(tmp_path: Path) -> Iterator[Kept]:
    made = Kept(tmp_path / "journal.sqlite")
    yield made
    made.view.close()
    made.journal.close()


def event(at_ms: int, change: AlertChange, alert: str = "a1") -> AlertEvent:
    return AlertEvent(alert, "tern", at_ms, change, AlertState.UNACKNOWLEDGED, Priority.ALARM, "watch")


def notice(key: str, **changes: Any) -> Notice:
    made = Notice(key, "email", "duty@yard.example", "Per", "c1", NoticeKind.NEW, ("a1", "a2"), T0, "you have the duty")
    return replace(made, **changes)


def test_an_alert_comes_back_with_all_that_people_did_with_it(kept: Kept) -> None:
    full = replace(
        ALERT,
        state=AlertState.SHELVED,
        latching=True,
        confirmed_ms=T0 + HOUR,
        confirmed_by="Per",
        has_it="Anna",
        offered_to="Carl",
        aside_by="Per",
        aside_why="its float is fouled",
        aside_until_ms=T0 + DAY,
    )
    kept.write(alerts={"a1": ALERT}, events=[event(T0, AlertChange.OPENED)])
    kept.write(alerts={"a1": full}, events=[event(T0, AlertChange.SHELVED)])
    assert kept.view.alert("a1") == full
    assert kept.journal.open_alerts("tern") == [full]


def test_a_call_comes_back_as_it_is_now(kept: Kept) -> None:
    kept.write(calls={"c1": CALL}, telling="{}")
    later = replace(CALL, priority=None, alerts=(), vessels=(), ended_ms=T0 + DAY, accepted_ms=T0, accepted_by="Per")
    assert kept.view.calls(open_only=True) == [CALL]
    kept.write(calls={"c1": later}, telling='{"n": 2}')
    assert kept.view.call("c1") == later
    assert kept.view.calls(open_only=True) == []
    assert kept.view.calls(open_only=False) == [later]
    assert kept.view.call("none") is None
    assert kept.journal.telling() == '{"n": 2}'


def test_a_notice_is_kept_once_and_says_what_came_of_it(kept: Kept) -> None:
    kept.write(notices=[notice("n1"), notice("n2", owner=True, vessel="tern", language="de")])
    kept.write(notices=[notice("n1", reason="planned again")], telling="{}")
    first, second = kept.view.notices("c1")
    assert first.notice == notice("n1")
    assert second.notice == notice("n2", owner=True, vessel="tern", language="de")
    kept.journal.record_delivery(Delivery("n1", sent=True, at_ms=9, next_ms=None))
    line = kept.view.notice("n1")
    assert line is not None
    assert (line.sent_ms, line.given_up_ms, line.tries) == (9, None, 1)


def test_undelivered_is_what_failed_and_not_what_has_not_been_tried(kept: Kept) -> None:
    kept.write(notices=[notice("waits"), notice("failed"), notice("refused"), notice("sent")])
    kept.journal.record_delivery(Delivery("failed", sent=False, at_ms=9, next_ms=99, error="451 later"))
    kept.journal.record_delivery(Delivery("refused", sent=False, at_ms=9, next_ms=None, error="550 gone"))
    kept.journal.record_delivery(Delivery("sent", sent=True, at_ms=9, next_ms=None))
    lines = kept.view.undelivered(10)
    assert [(line.notice.id, line.error) for line in lines] == [("refused", "550 gone"), ("failed", "451 later")]


def test_what_was_given_up_is_shown_for_a_month_and_what_still_waits_for_as_long_as_it_does(kept: Kept) -> None:
    kept.write(notices=[notice("failed"), notice("refused", address="other@yard.example")])
    kept.journal.record_delivery(Delivery("failed", sent=False, at_ms=T0, next_ms=T0 + 9, error="451 later"))
    kept.journal.record_delivery(Delivery("refused", sent=False, at_ms=T0, next_ms=None, error="550 gone"))
    assert [n.notice.id for n in kept.view.undelivered(T0 + 30 * DAY - 1)] == ["refused", "failed"]
    assert [n.notice.id for n in kept.view.undelivered(T0 + 30 * DAY)] == ["failed"]


def test_a_link_is_used_in_the_transaction_of_what_it_did(kept: Kept) -> None:
    kept.write(notices=[notice("n1"), notice("n2")])
    kept.write(inputs=[Acknowledge("tern", "a1", T0, "Per", "", "n1")])
    assert kept.view.link_used("n1")
    assert not kept.view.link_used("n2")
    assert not kept.view.link_used("none")


def test_what_is_done_aboard_is_known_until_it_is_said_to_be_over(kept: Kept) -> None:
    aboard = Suppress("tern", T0, "Per", Aboard.PEOPLE, T0 + HOUR)
    kept.write(inputs=[aboard])
    assert [now.aboard for now in kept.view.vessels_now()] == [aboard]
    kept.write(inputs=[EndSuppression("tern", T0 + MINUTE, "Per")])
    assert [now.aboard for now in kept.view.vessels_now()] == [None]


def test_visits_come_newest_first_whenever_they_were_written_down(kept: Kept) -> None:
    late, early = (VisitReport("tern", T0 + n * DAY, "Per", VisitNote(Found.WELL)) for n in (2, 1))
    kept.write(inputs=[late, early])
    assert kept.view.visits() == [late, early]
    assert kept.view.visits("tern", limit=1) == [late]
    assert kept.view.visits("heron") == []


def test_whoever_confirms_was_aboard_and_a_visits_own_confirmations_count_once(kept: Kept) -> None:
    visit = VisitReport("tern", T0, "Per", VisitNote(Found.AS_TOLD, confirmed=("a1",)))
    kept.write(inputs=[visit, Confirm("tern", "a1", T0 + 5, "Per", "as it said")])
    assert kept.view.visits() == [visit]
    kept.write(inputs=[Confirm("tern", "a2", T0 + HOUR, "Anna", "dry", nothing_wrong=True)])
    newest, _ = kept.view.visits()
    assert (newest.actor, newest.visit.found, newest.visit.nothing_wrong) == ("Anna", Found.FALSE_CALL, ("a2",))


class TestLoad:
    def test_what_opened_is_counted_by_priority_in_its_span(self, kept: Kept) -> None:
        kept.write(alerts={"a1": ALERT}, events=[event(T0, AlertChange.OPENED), event(T0 + 1, AlertChange.REOPENED)])
        assert kept.view.load(T0, T0 + DAY).opened == {Priority.ALARM: 1}
        assert kept.view.load(T0 + 1, T0 + DAY).opened == {}
        assert kept.view.load(T0, T0 + 2 * DAY).days == 2

    def test_what_stands_for_more_than_a_week_is_standing(self, kept: Kept) -> None:
        kept.write(alerts={"a1": ALERT}, events=[event(T0, AlertChange.OPENED)])
        assert kept.view.load(T0, T0 + 7 * DAY).standing == ()
        assert kept.view.load(T0, T0 + 8 * DAY).standing == (ALERT,)
        kept.write(alerts={"a1": replace(ALERT, ended_ms=T0 + 8 * DAY)}, events=[event(T0, AlertChange.ENDED)])
        assert len(kept.view.load(T0, T0 + 8 * DAY).standing) == 1
        assert kept.view.load(T0, T0 + 9 * DAY).standing == ()

    @pytest.mark.parametrize(("hours", "found"), [((0, 5, 23), 3), ((0, 12, 24), None), ((0, 20, 40, 41, 43), 4)])
    def test_what_comes_three_times_within_a_day_chatters(
        self, kept: Kept, hours: tuple[int, ...], found: int | None
    ) -> None:
        times = [T0 + h * HOUR for h in hours]
        changes = [AlertChange.OPENED, *[AlertChange.REOPENED] * (len(times) - 1)]
        kept.write(alerts={"a1": ALERT}, events=[event(*pair) for pair in zip(times, changes, strict=True)])
        load = kept.view.load(T0, T0 + 3 * DAY)
        assert load.chattering == (() if found is None else ((ALERT, found),))

    def test_what_was_seen_each_time_it_came_chatters_all_the_same(self, kept: Kept) -> None:
        """Each is an alert of its own then: what counts is what it is about."""
        for number in range(3):
            alert = replace(ALERT, id=f"a{number}")
            came = replace(event(T0 + number * HOUR, AlertChange.OPENED), alert=alert.id)
            kept.write(alerts={alert.id: alert}, events=[came])
        assert kept.view.load(T0, T0 + DAY).chattering == ((replace(ALERT, id="a2"), 3),)

    def test_a_span_that_ends_before_it_begins_is_an_error(self, kept: Kept) -> None:
        with pytest.raises(ValueError, match="ends after it begins"):
            kept.view.load(T0, T0)


def test_what_cannot_be_written_whole_leaves_nothing_and_can_be_written_again(kept: Kept) -> None:
    parts: dict[str, Any] = {"alerts": {"a1": ALERT}, "calls": {"c1": CALL}, "notices": [notice("n1")], "telling": "{}"}
    taken = Acknowledge("tern", "a1", T0, "Per", "", "n1")
    with pytest.raises(sqlite3.IntegrityError, match="input"):
        kept.journal.append(Batch(inputs=[(9, taken), (9, taken)], last_seq=9, **parts))
    assert (kept.view.alert("a1"), kept.view.call("c1"), kept.view.notice("n1")) == (None, None, None)
    assert kept.journal.telling() is None
    kept.journal.append(Batch(inputs=[(9, taken)], last_seq=9, **parts))
    assert (kept.view.alert("a1"), kept.view.call("c1"), kept.journal.telling()) == (ALERT, CALL, "{}")
    assert kept.view.link_used("n1")


def test_a_reader_in_the_middle_of_reading_does_not_keep_the_writer_waiting(kept: Kept) -> None:
    kept.write(notices=[notice("n1"), notice("n2")])
    with closing(sqlite3.connect(f"{kept.journal.path.as_uri()}?mode=ro", uri=True)) as reader:
        rows = reader.execute("SELECT id FROM notice ORDER BY id")
        assert next(rows) == ("n1",)
        kept.write(notices=[notice("n3")])
        kept.journal.record_delivery(Delivery("n2", sent=True, at_ms=9, next_ms=None))
        assert list(rows) == [("n2",)]
    assert [line.notice.id for line in kept.view.notices("c1")] == ["n1", "n2", "n3"]


def test_the_hashes_of_events_unchanged() -> None:
    """Taken from the first program: a chain that was begun by it must still be found whole."""
    made = replace(event(7, AlertChange.PRIORITY), note="n", was=Priority.WARNING)
    first = chained("", 2, 0, made)
    assert first == "15aaab4a1b79ba3ee44ecb36003a952e058ca949bd2a7e4648d3df0cfe604011"
    assert chained(first, 3, 1, made) == "5743223fb5bdb1c0a8be976e2e4aff5515b4b2290bb2da6e326bfd894d37e75a"
