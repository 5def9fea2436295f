"""Photos in the journal: kept through the one writer, carried by backups, and held against their ids by check."""

import hashlib
import json
import sqlite3
from contextlib import closing
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from boats import LAID_UP_MS, boat
from kept_journal import settings_for

from monitor.cli import main
from monitor.model.batch import Batch
from monitor.model.inputs import RecordVersion
from monitor.model.photo import Photo
from monitor.model.work import Job, JobEnd
from monitor.store.backup import back_up
from monitor.store.journal import Journal
from monitor.store.view import JournalView

JPEG = b"\xff\xd8 a picture of the impeller"
ID = hashlib.sha256(JPEG).hexdigest()
PHOTO = Photo(ID, "tern", LAID_UP_MS, "Enid Invented", JPEG)
JOB = Job(
    id="raw-impeller", system="Raw water", what="Impeller out", end=JobEnd.DONE, by="Enid", on=date(2026, 11, 3),
    photos=(ID,),
)  # fmt: skip


@pytest.fixture
def path(tmp_path: Path) -> Path:
    path = tmp_path / "journal.sqlite"
    with closing(Journal(path)) as journal:
        journal.append(Batch(inputs=[(1, RecordVersion(boat(jobs=(JOB,)), LAID_UP_MS, "Enid"))], last_seq=1))
        journal.keep_photos([PHOTO])
    return path


def photos(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> tuple[int, dict[str, Any]]:
    status = main(["check", "--json", "--settings", str(settings_for(tmp_path))])
    said = json.loads(capsys.readouterr().out)
    return status, next(matter for matter in said["matters"] if matter["about"] == "photos")


def test_a_photo_is_read_by_its_vessel_and_its_id(path: Path) -> None:
    with closing(JournalView(path)) as view:
        assert view.photo("tern", ID) == PHOTO
        assert view.photo("heron", ID) is None
        assert view.photo("tern", "0" * 64) is None


def test_one_that_is_kept_twice_stays_as_it_was_first(path: Path) -> None:
    with closing(Journal(path)) as journal, closing(JournalView(path)) as view:
        journal.keep_photos([Photo(ID, "tern", LAID_UP_MS + 1, "Yan", JPEG), Photo(ID, "heron", 7, "Yan", JPEG)])
        assert view.photo("tern", ID) == PHOTO
        kept = view.photo("heron", ID)
        assert kept is not None
        assert kept.by == "Yan"


def test_a_backup_carries_photos(path: Path, tmp_path: Path) -> None:
    back_up(path, tmp_path / "backup.sqlite", overwrite=False)
    with closing(JournalView(tmp_path / "backup.sqlite")) as view:
        assert view.photo("tern", ID) == PHOTO


def test_check_counts_photos(path: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert path.exists()
    status, said = photos(tmp_path, capsys)
    assert status == 0
    assert (said["ok"], said["photos"], said["bytes"], said["wrong"]) == (True, 1, len(JPEG), 0)


@pytest.mark.parametrize(
    ("statement", "says"),
    [
        ("UPDATE photo SET jpeg = x'ff'", "was changed afterwards"),
        ("DELETE FROM photo", "job raw-impeller names photo"),
    ],
)
def test_check_tells_of_a_photo_that_was_changed_or_is_gone(
    path: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], statement: str, says: str
) -> None:
    with closing(sqlite3.connect(path, isolation_level=None)) as db:
        db.execute(statement)
    status, said = photos(tmp_path, capsys)
    assert status != 0
    assert said["wrong"] == 1
    assert says in said["more"][0]


def test_a_journal_from_before_photos_gets_their_table(path: Path) -> None:
    with closing(sqlite3.connect(path, isolation_level=None)) as db:
        db.execute("DROP TABLE photo")
        db.execute("PRAGMA user_version = 4")
    with closing(Journal(path)) as journal, closing(JournalView(path)) as view:
        journal.keep_photos([PHOTO])
        assert view.photo("tern", ID) == PHOTO
