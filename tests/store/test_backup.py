"""A backup is whole and of one moment though the agent goes on writing; a restore keeps what was there."""

import stat
import threading
import time
from pathlib import Path

import pytest
from boats import DAY, HOUR, LAID_UP_MS
from kept_journal import Yard, count, filled, rows, settings_for, spoil
from pytest_mock import MockerFixture

from monitor.cli import main
from monitor.model.batch import Batch
from monitor.model.reading import Reading
from monitor.model.scale import Flag
from monitor.store.backup import BackupError, back_up
from monitor.store.journal import Journal
from monitor.store.sound import opened_to_read


@pytest.fixture
def settings(tmp_path: Path) -> Path:
    return settings_for(tmp_path)


def test_a_backup_says_what_it_holds_and_restores_to_the_same_rows(
    tmp_path: Path, settings: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    journal = filled(tmp_path)
    before = rows(journal)
    copy = tmp_path / "copy.backup"
    assert main(["backup", str(copy), "--settings", str(settings)]) == 0
    said = capsys.readouterr().out
    assert f"1 vessels, {len(before)} readings, last seq {len(before) + 1 + 48}" in said.replace(
        "1 vessel,", "1 vessels,"
    )
    assert stat.S_IMODE(copy.stat().st_mode) == 0o600
    assert sorted(p.name for p in tmp_path.glob("copy*")) == ["copy.backup"]

    yard = Yard(journal)
    yard.hear(LAID_UP_MS + 2 * DAY, LAID_UP_MS + 3 * DAY)
    yard.close()
    after = rows(journal)
    assert len(after) > len(before)
    assert main(["restore", str(copy), "--settings", str(settings)]) == 0
    assert rows(journal) == before
    (kept,) = tmp_path.glob("journal.sqlite.before-restore-*Z")
    assert rows(kept) == after
    assert str(kept) in capsys.readouterr().out
    again = Yard(journal)
    again.hear(LAID_UP_MS + 2 * DAY, LAID_UP_MS + 2 * DAY + HOUR)  # it goes on from where the backup ends
    again.close()
    assert main(["check", "--settings", str(settings), "--all"]) == 0


def test_a_backup_is_of_one_moment_while_the_writer_goes_on_at_full_rate(tmp_path: Path) -> None:
    path = filled(tmp_path, days=20)
    journal = Journal(path)
    first, _ = journal.ends_at()
    stop = threading.Event()
    slowest_s = 0.0
    written = first

    def write() -> None:
        nonlocal slowest_s, written
        at_ms = LAID_UP_MS + 30 * DAY
        while not stop.is_set():
            readings = []
            for _ in range(200):
                written += 1
                readings.append((written, Reading("tern", "outside", at_ms, at_ms, at_ms, 1.0, flag=Flag.PASS)))
                at_ms += 1000
            began = time.perf_counter()
            journal.append(Batch(readings=readings, last_seq=written))
            slowest_s = max(slowest_s, time.perf_counter() - began)

    writer = threading.Thread(target=write)
    writer.start()
    steps: list[int] = []
    copies = []
    try:
        for number in range(5):
            copy = tmp_path / f"copy-{number}"
            made = back_up(path, copy, overwrite=False, progress=lambda done, _: steps.append(done))
            copies.append((copy, made.contents))
    finally:
        stop.set()
        writer.join()
    journal.close()
    whole = rows(path)
    for copy, contents in copies:
        held = rows(copy)
        assert held == whole[: len(held)]  # nothing missing in the middle, nothing of half a batch
        assert contents.readings == len(held)
        assert (contents.last_seq - first) % 200 == 0
    assert len(steps) > 5  # page steps
    assert copies[-1][1].readings > copies[0][1].readings  # it did go on meanwhile
    print(f"5 backups while {written - first} readings were written; the slowest commit took {slowest_s * 1000:.0f} ms")


def test_what_grew_beside_the_journal_during_a_backup_is_given_back(tmp_path: Path, mocker: MockerFixture) -> None:
    mocker.patch("monitor.store.journal.WAL_STAYS_BYTES", 100_000)
    journal, wal = Journal(tmp_path / "journal.sqlite"), tmp_path / "journal.sqlite-wal"
    journal.append(Batch(snapshots={"tern": ""}, last_seq=0))
    with opened_to_read(journal.path):
        for seq in range(1, 80):
            journal.append(Batch(snapshots={"tern": str(seq % 10) * 100_000}, last_seq=seq))
        assert wal.stat().st_size > 5_000_000
    journal.append(Batch(snapshots={"tern": "y"}, last_seq=80))  # takes it into the file
    journal.append(Batch(snapshots={"tern": "z"}, last_seq=81))  # begins it anew
    assert wal.stat().st_size <= 100_000
    journal.close()


def test_a_file_that_is_there_is_only_replaced_when_told_so(
    tmp_path: Path, settings: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    filled(tmp_path)
    copy = tmp_path / "copy"
    copy.write_text("something else")
    assert main(["backup", str(copy), "--settings", str(settings)]) == 2
    assert f"{copy}: is there already: name another file, or give --overwrite" in capsys.readouterr().err
    assert copy.read_text() == "something else"
    assert main(["backup", str(copy), "--overwrite", "--settings", str(settings)]) == 0
    assert count(copy) == 2 * 144 * 4


@pytest.mark.parametrize(
    ("into", "words"),
    [("journal.sqlite", "is the journal itself"), ("none/copy", "no such folder"), ("", "is a folder")],
)
def test_a_backup_that_cannot_be_says_why(tmp_path: Path, into: str, words: str) -> None:
    journal = filled(tmp_path)
    with pytest.raises(BackupError, match=words):
        back_up(journal, tmp_path / into, overwrite=True)
    assert count(journal) == 2 * 144 * 4


def test_no_backup_is_made_of_a_journal_with_a_broken_page(tmp_path: Path) -> None:
    journal = filled(tmp_path)
    spoil(journal)
    with pytest.raises(BackupError, match=r"copy: the backup was not made: .*copy\.part: is broken"):
        back_up(journal, tmp_path / "copy", overwrite=False)
    assert not list(tmp_path.glob("copy*"))
