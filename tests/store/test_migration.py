"""A journal of the first form is brought to the present one, and nothing in it is lost."""

import sqlite3
from importlib import resources
from pathlib import Path

from boats import DAY, LAID_UP_MS, boat

from monitor.model.alert import Alert, AlertChange, AlertEvent
from monitor.model.finding import Figure, Finding
from monitor.model.notice import NoticeKind
from monitor.model.scale import AlertState, Priority, Sure
from monitor.store.journal import Journal
from monitor.store.outbox import JournalOutbox
from monitor.store.rows import chained, event_row, finding_json
from monitor.store.view import JournalView

AT = LAID_UP_MS + DAY
FOUND = Finding("bilge", "bilge", "high", Priority.ALARM, Figure(120, 100, "mm"), None, Sure.LIKELY, (), (), ())
ALERT = Alert("a1", "tern", "bilge", "bilge", AlertState.UNACKNOWLEDGED, Priority.ALARM, Priority.ALARM, AT, FOUND)
OPENED = AlertEvent("a1", "tern", AT, AlertChange.OPENED, ALERT.state, ALERT.priority, "watch")
HASH = chained("", 2, 0, OPENED)


def write_first_form(path: Path) -> None:
    """Write a journal as the first program did: an open alert; one notice sent, one that waits, one given up."""
    db = sqlite3.connect(path)
    db.executescript((resources.files("monitor.store") / "migrations" / "0001_journal.sql").read_text("utf-8"))
    db.execute("PRAGMA user_version = 1")
    row = (LAID_UP_MS, boat().model_dump_json())
    db.execute("INSERT INTO record VALUES ('tern', 1, ?, 1, 'R. Invented', ?)", row)
    db.execute("INSERT INTO input VALUES (1, 'record', 'tern', ?, '')", (LAID_UP_MS,))
    words = (ALERT.state.value, ALERT.priority.word, ALERT.highest.word)
    finding = finding_json.dump_json(FOUND).decode()
    db.execute(
        "INSERT INTO alert VALUES ('a1', 'tern', 'bilge', 'bilge', ?, ?, ?, ?, NULL, NULL, NULL, NULL, ?, 2)",
        (*words, AT, finding),
    )
    db.execute("INSERT INTO alert_event VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)", (*event_row(2, 0, OPENED), HASH))
    for key, change, sent, given_up in (("n1", "opened", 5, None), ("n2", "ended", None, None), ("n3", "x", None, 7)):
        db.execute(
            "INSERT INTO notice VALUES (?, 'email', 'duty@yard.example', 'Per', 'a1', 'tern', ?, ?, 'because', 2,"
            " ?, ?, 1, 0, '')",
            (key, change, AT, sent, given_up),
        )
    db.commit()
    db.close()


def test_a_journal_of_the_first_form_keeps_all_it_had(tmp_path: Path) -> None:
    path = tmp_path / "journal.sqlite"
    write_first_form(path)
    journal, view, outbox = Journal(path), JournalView(path), JournalOutbox(path)
    assert view.alert("a1") == ALERT
    assert view.events("a1") == [OPENED]
    assert [line.notice.kind for line in view.notices("a1")] == [NoticeKind.NEW, NoticeKind.OVER, NoticeKind.WORSE]
    assert [(line.sent_ms, line.given_up_ms) for line in view.notices("a1")] == [(5, None), (None, None), (None, 7)]
    (waits,) = outbox.waiting("email", 1, 10)
    assert (waits.notice.id, waits.opening, waits.call) == ("n2", "n1", None)
    assert [alert for alert, _ in waits.alerts] == [ALERT]
    assert journal.telling() is None
    for part in (outbox, view, journal):
        part.close()
    again = sqlite3.connect(path)
    assert again.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    assert again.execute("PRAGMA foreign_key_check").fetchall() == []
    again.close()
