"""A restore is refused where it may not be, and loses nothing of what was there."""

import os
import shutil
import sqlite3
from pathlib import Path

import pytest
from boats import DAY, LAID_UP_MS
from kept_journal import Yard, count, filled, rows, settings_for, spoil

from monitor.cli import main
from monitor.store.backup import back_up
from monitor.store.lock import WriterLock


@pytest.fixture
def settings(tmp_path: Path) -> Path:
    return settings_for(tmp_path)


def test_nothing_is_restored_while_an_agent_runs(
    tmp_path: Path, settings: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    journal = filled(tmp_path)
    copy = tmp_path / "copy"
    back_up(journal, copy, overwrite=False)
    lock = WriterLock(journal)
    lock.tell("http://127.0.0.1:8080")
    assert main(["restore", str(copy), "--settings", str(settings)]) == 1
    lock.release()
    assert "is written by another process, pages at http://127.0.0.1:8080" in capsys.readouterr().err
    assert not list(tmp_path.glob("*before-restore*"))


@pytest.mark.parametrize("what", ["broken", "not SQLite", "another database", "newer", "another yard", "not there"])
def test_a_backup_that_cannot_be_used_is_refused_and_the_journal_stands(
    tmp_path: Path, settings: Path, what: str, capsys: pytest.CaptureFixture[str]
) -> None:
    journal = filled(tmp_path)
    copy = tmp_path / "copy"
    back_up(journal, copy, overwrite=False)
    words = {
        "broken": "is broken",
        "not SQLite": "cannot be read as a journal",
        "another database": "is a SQLite file, and no journal of this program",
        "newer": "is a journal of form 99",
        "another yard": "is of the yard quay, and these are the settings of elsewhere",
        "not there": "cannot be opened",
    }[what]
    if what == "broken":
        spoil(copy)
    elif what == "not SQLite":
        copy.write_bytes(b"0123456789" * 1000)
    elif what == "another yard":
        settings.write_text(settings.read_text().replace('"quay"', '"elsewhere"'))
    elif what == "not there":
        copy.unlink()
    else:
        if what == "another database":
            copy.unlink()
        db = sqlite3.connect(copy)
        db.execute("CREATE TABLE other (id INTEGER)" if what == "another database" else "PRAGMA user_version = 99")
        db.close()
    before = rows(journal)
    assert main(["restore", str(copy), "--settings", str(settings)]) == 2
    assert words in capsys.readouterr().err
    assert rows(journal) == before
    assert not list(tmp_path.glob("*restor*"))


def test_a_broken_journal_is_kept_with_what_lies_beside_it(tmp_path: Path, settings: Path) -> None:
    journal = filled(tmp_path)
    copy = tmp_path / "copy"
    back_up(journal, copy, overwrite=False)
    journal.write_bytes(b"broken " * 1000)
    wal = tmp_path / "journal.sqlite-wal"
    wal.write_bytes(b"what it had not taken in")
    assert main(["restore", str(copy), "--settings", str(settings)]) == 0
    assert count(journal) == 2 * 144 * 4
    (kept,) = tmp_path.glob("journal.sqlite.before-restore-*Z")
    assert kept.read_bytes().startswith(b"broken broken")
    assert kept.with_name(kept.name + "-wal").read_bytes() == b"what it had not taken in"


def test_a_restore_to_a_new_machine_takes_nothing_a_former_journal_left(tmp_path: Path) -> None:
    old, new = tmp_path / "old", tmp_path / "new"
    old.mkdir()
    new.mkdir()
    journal = filled(old)
    copy = tmp_path / "copy"
    back_up(journal, copy, overwrite=False)
    yard = Yard(journal)  # its -wal is of another journal than the backup
    yard.hear(LAID_UP_MS + 2 * DAY, LAID_UP_MS + 3 * DAY)
    shutil.copy(old / "journal.sqlite-wal", new / "journal.sqlite-wal")
    yard.close()
    assert main(["restore", str(copy), "--settings", str(settings_for(new))]) == 0
    assert rows(new / "journal.sqlite") == rows(copy)


def test_what_root_restores_belongs_to_the_agent(tmp_path: Path) -> None:
    yard = tmp_path / "yard"
    yard.mkdir()
    root = os.geteuid() == 0
    if root:
        os.chown(yard, 12_345, 23_456)
    copy = tmp_path / "copy"
    back_up(filled(tmp_path), copy, overwrite=False)
    assert main(["restore", str(copy), "--settings", str(settings_for(yard))]) == 0
    expected = (12_345, 23_456) if root else (os.getuid(), os.getgid())
    for name in ("journal.sqlite", "journal.sqlite.lock"):
        made = (yard / name).stat()
        assert (made.st_uid, made.st_gid) == expected, name
