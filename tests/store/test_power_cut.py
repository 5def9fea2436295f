"""A power cut at any moment: what is on the disk opens, is whole, and is the beginning of what was committed.

The files of a journal are copied while another process writes it at full rate, stopped dead between two of its writes:
once as they stand, and in other tests less what the disk had not been told to keep. ``COLDBERTH_TEST_IMAGES`` sets how
often.
"""

import os
import random
import shutil
import signal
import sqlite3
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from boats import LAID_UP_MS

from monitor.model.batch import Batch
from monitor.model.inputs import Clock
from monitor.model.reading import Reading
from monitor.store.journal import Journal
from monitor.store.sound import look_through

IMAGES = int(os.environ.get("COLDBERTH_TEST_IMAGES", "40"))
ROWS = 50


def batch(last_seq: int) -> Batch:
    """Give the batch that ends with a seq: readings, a clock, and a snapshot that says which batch it is of."""
    seqs = range(last_seq - ROWS + 1, last_seq)
    readings = [(seq, reading(seq)) for seq in seqs]
    clock = (last_seq, Clock(LAID_UP_MS + last_seq * 1000))
    return Batch(readings=readings, inputs=[clock], snapshots={"tern": "x" * 2000 + str(last_seq)}, last_seq=last_seq)


def reading(seq: int) -> Reading:
    at_ms = LAID_UP_MS + seq * 1000
    return Reading("tern", f"sensor-{seq % 5}", at_ms, at_ms, at_ms, float(seq))


def write(path: Path) -> None:
    """Write batches without a pause, and say the last seq of each after its commit: run in a process of its own."""
    journal, last_seq = Journal(path), 0
    journal._db.execute("PRAGMA wal_autocheckpoint=50")  # pages: so that the file is written all the time too
    print("ready", flush=True)
    while True:
        last_seq += ROWS
        journal.append(batch(last_seq))
        print(last_seq, flush=True)


class Writing:
    """The writer, and how far it has said it is."""

    def __init__(self, journal: Path) -> None:
        program = "import sys, test_power_cut; from pathlib import Path; test_power_cut.write(Path(sys.argv[1]))"
        folders = [
            str(folder) for folder in (Path(__file__).parent, Path(__file__).parents[1], Path(__file__).parents[2])
        ]
        self._process = subprocess.Popen(
            [sys.executable, "-c", program, str(journal)],
            stdout=subprocess.PIPE,
            text=True,
            env=os.environ | {"PYTHONPATH": os.pathsep.join(folders)},
        )
        assert self._said() == "ready"
        self.committed = 0

    def go_on(self, batches: int) -> None:
        for _ in range(batches):
            self.committed = int(self._said())

    @contextmanager
    def stopped_dead(self) -> Iterator[None]:
        self._process.send_signal(signal.SIGSTOP)
        os.waitid(os.P_PID, self._process.pid, os.WSTOPPED | os.WNOWAIT)
        yield
        self._process.send_signal(signal.SIGCONT)

    def stop(self) -> None:
        self._process.kill()
        self._process.communicate(timeout=10)

    def _said(self) -> str:
        assert self._process.stdout is not None
        line = self._process.stdout.readline().strip()
        assert line, "the writer has died"
        return line


@pytest.mark.slow
def test_every_image_of_a_journal_opens_whole_and_holds_all_that_was_committed_before_it(tmp_path: Path) -> None:
    journal = tmp_path / "journal.sqlite"
    writing = Writing(journal)
    lost = torn = mid_batch = 0
    sizes, source = [], random.Random(5)
    try:
        for number in range(IMAGES):
            writing.go_on(1 + number % 7)
            before = writing.committed
            image = tmp_path / f"image-{number}.sqlite"
            time.sleep(source.uniform(0, 0.02))
            with writing.stopped_dead():
                shutil.copyfile(journal, image)
                shutil.copyfile(f"{journal}-wal", f"{image}-wal")
            seqs, last_seq = opened(image)
            lost += last_seq < before
            torn += seqs != list(range(1, last_seq + 1))
            mid_batch += last_seq % ROWS != 0
            sizes.append(len(seqs))
    finally:
        writing.stop()
    print(f"{IMAGES} images of up to {max(sizes)} inputs: lost {lost}, torn {torn}, half a batch {mid_batch}")
    assert (lost, torn, mid_batch) == (0, 0, 0)


@pytest.fixture
def disk(tmp_path: Path) -> Iterator[tuple[bytes, bytes, bytes]]:
    """Give a journal's file before some batches, their ``-wal``, and the file after they were taken into it."""
    journal = Journal(tmp_path / "written.sqlite")
    for last_seq in range(ROWS, 5 * ROWS, ROWS):
        journal.append(batch(last_seq))
    journal._db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    before = journal.path.read_bytes()
    journal._db.execute("PRAGMA wal_autocheckpoint=0")
    for last_seq in range(5 * ROWS, 11 * ROWS, ROWS):
        journal.append(batch(last_seq))
    wal = Path(f"{journal.path}-wal").read_bytes()
    journal._db.execute("PRAGMA wal_checkpoint(PASSIVE)")
    yield before, wal, journal.path.read_bytes()
    journal.close()


def test_a_wal_of_which_the_end_is_lost_gives_whole_batches(disk: tuple[bytes, bytes, bytes], tmp_path: Path) -> None:
    before, wal, _ = disk
    ends = set()
    for number in range(60):
        seqs, last_seq = opened(image_of(tmp_path, before, wal[: len(wal) * number // 59]))
        assert seqs == list(range(1, last_seq + 1))
        assert last_seq % ROWS == 0
        ends.add(last_seq)
    print(f"a -wal of {len(wal)} bytes cut at 60 places ends after {sorted(ends)}")
    assert ends == set(range(4 * ROWS, 11 * ROWS, ROWS))


def test_a_file_of_which_only_some_pages_were_taken_in_is_mended_from_its_wal(
    disk: tuple[bytes, bytes, bytes], tmp_path: Path
) -> None:
    before, wal, after = disk
    source, page = random.Random(7), 4096
    for _ in range(20):
        mixed = bytearray(before.ljust(len(after), b"\0"))
        for at in range(0, len(after), page):
            if source.random() < 0.5:
                mixed[at : at + page] = after[at : at + page]
        seqs, last_seq = opened(image_of(tmp_path, bytes(mixed), wal))
        assert last_seq == 10 * ROWS
        assert seqs == list(range(1, last_seq + 1))


def image_of(folder: Path, file: bytes, wal: bytes) -> Path:
    for old in folder.glob("image.sqlite*"):
        old.unlink()
    image = folder / "image.sqlite"
    image.write_bytes(file)
    Path(f"{image}-wal").write_bytes(wal)
    return image


def opened(image: Path) -> tuple[list[int], int]:
    """Open an image as a start does, and look it through; give every seq that is in it, and the last."""
    journal = Journal(image)
    last_seq, _ = journal.ends_at()
    journal.close()
    look_through(image)
    db = sqlite3.connect(image)
    seqs = [seq for (seq,) in db.execute("SELECT seq FROM reading UNION ALL SELECT seq FROM input ORDER BY 1")]
    body = db.execute("SELECT body FROM snapshot").fetchone()
    hours = db.execute("SELECT coalesce(sum(count), 0) FROM hour").fetchone()
    readings = db.execute("SELECT count(*) FROM reading").fetchone()
    db.close()
    assert body is None or body[0].endswith(str(last_seq))  # of the same batch as the last input
    assert hours == readings
    return seqs, last_seq
