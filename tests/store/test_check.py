"""What a look through a journal says: nothing wrong of one that is whole, and each fault by its name."""

import json
import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from boats import DAY, HOUR, LAID_UP_MS, MINUTE, boat
from kept_journal import Yard, settings_for

from monitor.cli import main
from monitor.fleet import Fleet
from monitor.model.inputs import RecordVersion
from monitor.store.journal import Journal
from monitor.store.lock import WriterLock
from monitor.store.sound import look_through

Checked = Callable[..., tuple[int, dict[str, Any]]]


@pytest.fixture
def journal(tmp_path: Path) -> Path:
    yard = Yard(tmp_path / "journal.sqlite")
    yard.hear(LAID_UP_MS, LAID_UP_MS + 2 * DAY)
    yard.close()
    return yard.path


@pytest.fixture
def checked(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Checked:
    settings = settings_for(tmp_path)

    def run(*options: str) -> tuple[int, dict[str, Any]]:
        status = main(["check", "--json", "--settings", str(settings), *options])
        said = json.loads(capsys.readouterr().out)
        assert said["ok"] is (status == 0)
        return status, {matter["about"]: matter for matter in said["matters"]}

    return run


def change(path: Path, *statements: str) -> None:
    db = sqlite3.connect(path, isolation_level=None)
    for statement in statements:
        db.execute(statement)
    db.close()


@pytest.mark.parametrize("options", [(), ("--all",)])
def test_nothing_is_wrong_with_a_journal_that_an_agent_left(
    journal: Path, checked: Checked, options: tuple[str, ...]
) -> None:
    assert journal.exists()
    status, said = checked(*options)
    assert status == 0
    assert said["inputs"]["readings"] == 2 * 144 * 4
    assert said["inputs"]["missing"] == 0
    assert said["hours"]["looked_at"] == said["hours"]["hours"] == 2 * 24 * 4
    assert said["snapshots"]["read"] == 1
    assert (said["holes"]["sensors"], said["holes"]["sensors_with_holes"]) == (4, 0)


def test_it_looks_on_while_the_agent_holds_the_journal(journal: Path, checked: Checked) -> None:
    lock = WriterLock(journal)
    yard = Yard(journal)
    yard.say("outside", LAID_UP_MS + 2 * DAY, 4.0, LAID_UP_MS + 2 * DAY)
    yard.commit()
    status, said = checked()
    assert status == 0
    assert said["inputs"]["readings"] == 2 * 144 * 4 + 1
    lock.release()
    yard.close()


@pytest.mark.parametrize(
    ("statement", "about", "words"),
    [
        ("DELETE FROM reading WHERE seq = 700", "inputs", "1 of 1201 inputs are not there"),
        ("DELETE FROM input WHERE seq IN (26, 51)", "inputs", "2 of 1201 inputs are not there"),
        ("UPDATE hour SET high = high + 1 WHERE series = 2", "hours", "48 of 192 hours do not agree"),
        ("UPDATE hour SET count = count - 1 WHERE hour_ms % 7200000 = 0", "hours", "hours do not agree"),
        ("DELETE FROM hour WHERE series = 3", "hours", "tern house-volts, the hour of 01 Nov 2013 09:00"),
        ("UPDATE snapshot SET body = substr(body, 1, 500)", "snapshots", "1 watches cannot be started"),
        ("UPDATE reading SET series = 99 WHERE seq = 700", "links", "names something that is not there"),
    ],
)
def test_what_was_spoilt_is_named(journal: Path, checked: Checked, statement: str, about: str, words: str) -> None:
    change(journal, statement)
    status, said = checked("--all")
    assert status == 1
    assert not said[about]["ok"]
    assert words in " ".join([said[about]["words"], *said[about]["more"]]).replace("rows name", "names")


def test_snapshots_of_another_version_are_said_and_no_fault(journal: Path, checked: Checked) -> None:
    change(journal, """UPDATE snapshot SET body = replace(body, '{"form": ', '{"form": 9')""")
    status, said = checked()
    assert status == 0
    assert (said["snapshots"]["read"], said["snapshots"]["other_form"]) == (0, 1)
    assert "1 are of another version of the program" in said["snapshots"]["words"]


def test_a_broken_page_is_all_that_is_said(journal: Path, checked: Checked) -> None:
    db = sqlite3.connect(journal)
    (root,) = db.execute("SELECT rootpage FROM sqlite_schema WHERE name = 'reading'").fetchone()
    db.close()
    with journal.open("r+b") as file:
        file.seek((root - 1) * 4096)
        file.write(b"\xa5" * 4096)
    status, said = checked()
    assert status == 1
    assert not said["integrity"]["ok"]
    assert "restore the last backup" in said["integrity"]["words"].lower()


def test_a_file_that_is_no_journal_is_wrong_and_one_that_is_not_there_is_trouble(
    tmp_path: Path, checked: Checked, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "journal.sqlite").write_bytes(b"no journal " * 400)
    status, said = checked()
    assert status == 1
    assert "cannot be read" in said["integrity"]["words"]
    (tmp_path / "journal.sqlite").unlink()
    assert main(["check", "--settings", str(tmp_path / "settings.toml")]) == 2
    assert "there is no journal yet" in capsys.readouterr().err


def test_holes_are_counted_in_event_time_and_are_no_fault(tmp_path: Path, checked: Checked) -> None:
    yard = Yard(tmp_path / "journal.sqlite")
    yard.hear(LAID_UP_MS, LAID_UP_MS + DAY)
    yard.hear(LAID_UP_MS + DAY, LAID_UP_MS + DAY + 5 * HOUR, ("outside",))
    yard.hear(LAID_UP_MS + DAY + 5 * HOUR, LAID_UP_MS + 2 * DAY)
    yard.say("outside", LAID_UP_MS + 2 * DAY + 4 * HOUR, 4.0, LAID_UP_MS + 2 * DAY + 4 * HOUR)
    yard.commit()
    yard.close()
    status, said = checked()
    assert status == 0
    # The record says that each sensor speaks hourly: more than three hours are a hole.
    assert (said["holes"]["sensors_with_holes"], said["holes"]["holes"]) == (4, 4)
    assert said["holes"]["longest_s"] == (5 * HOUR + 10 * MINUTE) // 1000
    assert any(line.startswith("tern outside: 1, the longest 4 h from 03 Nov") for line in said["holes"]["more"])


def test_a_sensor_that_says_nothing_any_more_has_a_hole_up_to_now(tmp_path: Path, checked: Checked) -> None:
    yard = Yard(tmp_path / "journal.sqlite")
    yard.hear(LAID_UP_MS, LAID_UP_MS + DAY)
    yard.hear(LAID_UP_MS + DAY, LAID_UP_MS + 2 * DAY, ("outside", "bilge-float", "house-volts"))
    yard.close()
    _, said = checked()
    assert (said["holes"]["sensors_with_holes"], said["holes"]["longest_s"]) == (1, (DAY + 10 * MINUTE) // 1000)
    assert said["holes"]["more"][0].startswith("tern engine-space: 1, the longest 24 h from 02 Nov 2013 08:50")


@pytest.mark.parametrize(("age_ms", "status"), [(20 * MINUTE, 0), (3 * HOUR, 1)])
def test_a_message_that_has_waited_for_hours_is_wrong(
    journal: Path, checked: Checked, age_ms: int, status: int
) -> None:
    at_ms = LAID_UP_MS + 2 * DAY - age_ms
    statement = (
        "INSERT INTO notice (id, channel, address, person, call, kind, alerts, at_ms, reason, seq, tries, error)"
        " VALUES ('n', 'email', 'd@quay.example', 'Duty', 'c', 'new', '[]', at, 'because', 1, 3, 'no such host')"
    )
    change(journal, statement.replace("at,", f"{at_ms},"))
    found, said = checked()
    assert found == status
    assert (said["outbox"]["waiting"], said["outbox"]["oldest_email_s"]) == (1, age_ms // 1000)
    assert "no such host" in said["outbox"]["more"][0]


def test_a_journal_that_could_not_shrink_is_written_anew_once_and_can(
    tmp_path: Path, journal: Path, checked: Checked, capsys: pytest.CaptureFixture[str]
) -> None:
    change(journal, "PRAGMA auto_vacuum=NONE", "VACUUM")
    before = look_through(journal)
    _, said = checked()
    assert "run check --compact" in said["room"]["words"]
    lock = WriterLock(journal)
    assert main(["check", "--compact", "--settings", str(tmp_path / "settings.toml")]) == 1
    assert "was not written anew" in capsys.readouterr().err
    lock.release()
    _, said = checked("--compact")
    assert "--compact" not in said["room"]["words"]
    assert look_through(journal) == before


FIRST_EVENT = "(seq, place) = (SELECT seq, place FROM alert_event ORDER BY seq, place LIMIT 1)"
LAST_EVENT = "(seq, place) = (SELECT seq, place FROM alert_event ORDER BY seq DESC, place DESC LIMIT 1)"


@pytest.mark.parametrize(
    "edit",
    [
        f"UPDATE alert_event SET actor = 'nobody' WHERE {LAST_EVENT}",  # noqa: S608 - the conditions above
        f"UPDATE alert_event SET at_ms = at_ms + 60000 WHERE {FIRST_EVENT}",  # noqa: S608 - the conditions above
        f"UPDATE alert_event SET change = 'no word of ours' WHERE {FIRST_EVENT}",  # noqa: S608 - the conditions above
        f"DELETE FROM alert_event WHERE {FIRST_EVENT}",  # noqa: S608 - the conditions above
        "UPDATE alert_event SET hash = upper(hash) WHERE seq = (SELECT min(seq) FROM alert_event)",
    ],
)
def test_a_later_edit_of_what_happened_shows(tmp_path: Path, checked: Checked, edit: str) -> None:
    path = tmp_path / "journal.sqlite"
    with closing(Journal(path)) as journal:
        fleet = Fleet(journal)
        fleet.command(RecordVersion(boat(), LAID_UP_MS, "R. Invented"))
        fleet.clock(LAID_UP_MS + 30 * DAY)  # nothing was ever heard of her
        batch = fleet.hand_over()
        assert len(batch.events) >= 2
        journal.append(batch)
    status, said = checked()
    assert said["events"]["ok"], said["events"]
    last = said["events"]["last_hash"]
    assert len(last) == 64
    change(path, edit)
    status, said = checked()
    assert status == 1
    assert not said["events"]["ok"]
    assert "changed afterwards" in said["events"]["words"]
