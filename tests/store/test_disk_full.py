"""The disk fills up: the real program says so, goes on by itself once there is room, and loses nothing."""

import os
import subprocess
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from faulted_yard import FaultedYard, Publishing, account, wait_until
from fixtures_broker import Broker

from monitor.store.backup import BackupError, back_up
from monitor.store.journal import Journal

FULL_S = float(os.environ.get("COLDBERTH_TEST_FULL_S", "3"))


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A disk of 4 MB of its own (tmpfs). It takes root to make one."""
    folder = tmp_path / "disk"
    folder.mkdir()
    made = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=4m", "tmpfs", folder], capture_output=True, text=True, check=False
    )
    if made.returncode:
        reason = f"a small disk cannot be mounted here: {made.stderr.strip()}"
        if os.environ.get("CI") == "true":
            pytest.fail(f"{reason}, and CI skips nothing")
        pytest.skip(reason)
    yield folder
    subprocess.run(["umount", "--lazy", folder], check=True)


def fill(disk: Path) -> Path:
    """Leave no byte free."""
    ballast = disk / "ballast"
    with ballast.open("ab", buffering=0) as file:
        for size in (65_536, 4_096, 512, 1):
            try:
                while file.write(b"\0" * size) == size:
                    pass
            except OSError:
                continue
    return ballast


@pytest.mark.broker
@pytest.mark.slow
def test_a_full_disk_is_said_and_outlived_and_nothing_acknowledged_is_lost(
    tmp_path: Path, broker: Broker, small_disk: Path
) -> None:
    yard = FaultedYard(tmp_path, broker, small_disk / "coldberth.sqlite")
    yard.start()
    publishing = Publishing(broker, 0.05)
    try:
        wait_until(lambda: len(yard.stored()) > 10, yard.log)
        ballast = fill(small_disk)
        wait_until(lambda: "database or disk is full" in " ".join(yard.health()[1].get("reasons", ())), yard.log)
        status, said = yard.health()
        before = len(yard.stored())
        time.sleep(FULL_S)  # from 7 on it drops the broker, so that all is sent again, as test_locked does
        assert len(yard.stored()) == before
        ballast.unlink()
        wait_until(lambda: yard.health()[0] == 200, yard.log)
        acknowledged = publishing.stop()
        account(yard, publishing, acknowledged, f"disk full for {FULL_S:.0f} s and longer")
        assert status == 503
        assert "the journal cannot be written: database or disk is full" in said["reasons"]
        log = yard.log()
        assert "the journal cannot be written (database or disk is full); the batch is kept and tried again" in log
        assert "the journal can be written again" in log
        assert yard.stop() == 0
        yard.command("check", "--all")
    finally:
        publishing.stop()
        yard.end()


def test_a_backup_onto_a_full_disk_says_so_and_leaves_nothing(tmp_path: Path, small_disk: Path) -> None:
    journal = tmp_path / "journal.sqlite"
    Journal(journal).close()
    fill(small_disk)
    with pytest.raises(BackupError, match="the backup was not made: database or disk is full"):
        back_up(journal, small_disk / "copy", overwrite=False)
    assert [path.name for path in small_disk.iterdir()] == ["ballast"]


def test_a_start_on_a_full_disk_says_what_is_wrong_and_a_later_one_works(
    tmp_path: Path, broker: Broker, small_disk: Path
) -> None:
    yard = FaultedYard(tmp_path, broker, small_disk / "coldberth.sqlite")
    ballast = fill(small_disk)
    refused = yard.run_once()
    assert refused.returncode == 2
    assert "disk" in refused.stderr or "space" in refused.stderr
    assert "Traceback" not in refused.stderr
    ballast.unlink()
    try:
        yard.start()
        assert yard.stop() == 0
    finally:
        yard.end()
