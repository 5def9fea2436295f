"""What a look finds of an edited log, of changed words, of a history server that is behind; and what it cannot find."""

import json
from collections.abc import Callable
from contextlib import closing
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from boats import DAY, HOUR, LAID_UP_MS, boat
from kept_journal import Yard, settings_for
from test_check import change

from monitor.cli import main
from monitor.fleet import Fleet
from monitor.model.gate import GateAct, GateWord
from monitor.model.inputs import RecordVersion
from monitor.store.journal import Journal

Checked = Callable[..., tuple[int, dict[str, Any]]]
CUT = "DELETE FROM alert_event WHERE seq > (SELECT min(seq) FROM alert_event)"
WORD = GateWord("tern", LAID_UP_MS + 30 * DAY, "Anna", GateAct.SIGHT, "hull-bung")


@pytest.fixture
def journal(tmp_path: Path) -> Path:
    """A journal with alerts of silence, two versions of a record, and two people's words at the gate."""
    path = tmp_path / "journal.sqlite"
    with closing(Journal(path)) as opened:
        fleet = Fleet(opened)
        fleet.command(RecordVersion(boat(mode="ashore bung out"), LAID_UP_MS, "R. Invented"))
        for day in (1, 30):
            fleet.clock(LAID_UP_MS + day * DAY)  # nothing was ever heard of her
            opened.append(fleet.hand_over())
        fleet.command(RecordVersion(boat(), LAID_UP_MS + 30 * DAY, "R. Invented"))
        for actor in ("Anna", "Ben"):
            fleet.command(replace(WORD, actor=actor))
        opened.append(fleet.hand_over())
    return path


@pytest.fixture
def checked(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Checked:
    settings = settings_for(tmp_path)

    def run(*options: str) -> tuple[int, dict[str, Any]]:
        status = main(["check", "--json", "--settings", str(settings), *options])
        return status, {matter["about"]: matter for matter in json.loads(capsys.readouterr().out)["matters"]}

    return run


def test_what_it_cannot_find_is_said(journal: Path, checked: Checked) -> None:
    assert journal.exists()
    _, said = checked()
    assert said["events"]["ok"], said["events"]
    assert "not that its end was cut off" in said["events"]["more"][0]
    assert said["said"]["ok"]
    assert "in no chain of hashes" in said["said"]["more"][-1]


def test_events_that_changed_places_show(journal: Path, checked: Checked) -> None:
    change(journal, "UPDATE alert_event SET place = 900 - place", "UPDATE alert_event SET place = place - 890")
    status, said = checked()
    assert status == 1
    assert "changed afterwards" in said["events"]["words"]


def test_an_end_that_was_cut_off_shows_by_its_alerts_and_by_a_hash_kept_elsewhere(
    journal: Path, checked: Checked
) -> None:
    _, before = checked()
    kept = before["events"]["last_hash"]
    _, held = checked("--has", kept.upper())
    assert held["events"]["ok"]
    assert f"The hash you kept is that of event {before['events']['events']}." in held["events"]["words"]
    change(journal, CUT)
    status, cut = checked()
    assert status == 1
    assert "do not stand as their last event left them" in cut["events"]["words"]
    # Whoever also takes the alerts out is found by the hash alone.
    change(journal, "DELETE FROM alert WHERE id NOT IN (SELECT alert FROM alert_event)")
    last = "FROM alert_event WHERE alert = id ORDER BY seq DESC LIMIT 1"
    change(journal, f"UPDATE alert SET state = (SELECT state {last}), priority = (SELECT priority {last})")  # noqa: S608 - the words above
    assert checked()[1]["events"]["ok"]
    status, said = checked("--has", kept)
    assert status == 1
    assert "does not hold the hash" in said["events"]["words"]


def test_a_hash_that_is_none_is_refused(journal: Path, tmp_path: Path) -> None:
    assert journal.exists()
    with pytest.raises(SystemExit):
        main(["check", "--settings", str(tmp_path / "settings.toml"), "--has", "abc"])


@pytest.mark.parametrize(
    ("edit", "what"),
    [
        ("UPDATE gate SET body = replace(body, 'Anna', 'Carl')", "word at a gate"),
        ("DELETE FROM gate WHERE seq = (SELECT max(seq) FROM gate)", "word at a gate"),
        ("UPDATE input SET body = replace(body, 'Anna', 'Carl') WHERE kind = 'gate'", "word at a gate"),
        ("DELETE FROM record WHERE version = 1", "version of a record"),
        ("DELETE FROM record WHERE version = 2", "version of a record"),
    ],
)
def test_words_and_versions_that_were_changed_or_taken_out_show(
    journal: Path, checked: Checked, edit: str, what: str
) -> None:
    change(journal, edit)
    status, said = checked()
    assert status == 1
    assert not said["said"]["ok"]
    assert any(line.startswith(what) for line in said["said"]["more"]), said["said"]


def test_how_far_the_history_server_is_behind_is_said(tmp_path: Path, checked: Checked) -> None:
    yard = Yard(tmp_path / "journal.sqlite")
    yard.hear(LAID_UP_MS, LAID_UP_MS + 6 * HOUR)
    yard.journal.move_cursor("history", 100)
    yard.close()
    settings = tmp_path / "settings.toml"
    status, said = checked()
    assert status == 0
    assert "The settings name no server now" in said["history"]["words"]
    server = '\n[history]\nurl = "http://history.example:8086"\ntoken = "t"\norg = "o"\nbucket = "b"\n'
    settings.write_text(settings.read_text() + server)
    status, said = checked()
    assert (status, said["history"]["ok"]) == (1, False)
    assert (
        f"has not confirmed {said['history']['waiting']} readings, the oldest of 01 Nov 2013"
        in said["history"]["words"]
    )
    change(yard.path, "UPDATE cursor SET seq = 1000000")
    assert "has all that is stored" in checked()[1]["history"]["words"]


def test_a_yard_without_a_history_server_has_no_line_of_it(journal: Path, checked: Checked) -> None:
    assert journal.exists()
    assert "history" not in checked()[1]
