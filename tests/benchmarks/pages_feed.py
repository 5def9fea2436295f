"""Readings that come in while pages are measured: a process of its own commits them into the yard's journal.

In the program the writer is a thread beside the pages. Here it is a process, so that the time of the processor that is
measured is the pages' alone; the pages are told of every commit, as they are there.
"""

import multiprocessing
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from multiprocessing.connection import Connection
from pathlib import Path

from monitor.model.batch import Batch
from monitor.store.journal import Journal
from tests.benchmarks.pages_yard import MeasuredYard, one_of_each

FULL_RATE = 4_000
"""Readings a second: about what the program judges of messages with one reading each on two cores."""
COMMITS_A_S = 20
STOP_WITHIN_S = 20


@dataclass
class Fed:
    """How many readings have come in so far, and since when (s)."""

    readings: int
    since_s: float

    @property
    def per_s(self) -> float:
        """The rate that was reached."""
        return self.readings / (time.monotonic() - self.since_s)


@contextmanager
def fed(measured: MeasuredYard, per_s: int = FULL_RATE) -> Iterator[Fed]:
    """Commit so many readings a second of the boats that are heard, and tell the pages, until it is left."""
    yard = measured.yard
    ours, theirs = multiprocessing.get_context("spawn").Pipe()
    arguments = (theirs, yard.path, measured.heard, yard.seq, yard.now_ms, per_s)
    process = multiprocessing.get_context("spawn").Process(target=_feed, args=arguments, daemon=True)
    process.start()
    ours.recv()  # it runs
    so_far = Fed(0, time.monotonic())

    def tell() -> None:
        while (told := ours.recv()) is not None:
            yard.seq, yard.now_ms, vessels, count = told
            so_far.readings += count
            yard.changes.publish(yard.seq, vessels)

    teller = threading.Thread(target=tell, daemon=True)
    teller.start()
    try:
        yield so_far
    finally:
        ours.send(None)
        teller.join(STOP_WITHIN_S)
        process.join(STOP_WITHIN_S)


def _feed(pipe: Connection, path: Path, vessels: list[str], seq: int, now_ms: int, per_s: int) -> None:
    """Commit readings, each boat's sensors in turn, at the time that it is; never more than the rate says."""
    journal = Journal(path)
    pipe.send(None)
    began, committed, place = time.monotonic(), 0, 0
    while not pipe.poll():
        time.sleep(1 / COMMITS_A_S)
        passed_s = time.monotonic() - began
        at_ms = now_ms + round(passed_s * 1000)
        batch, told = Batch(), set()
        while committed < passed_s * per_s:
            vessel = vessels[place % len(vessels)]
            if vessel in told:
                break  # a yard that is too small for the rate: nobody says two things at once
            told.add(vessel)
            place += 1
            for one in one_of_each(vessel, at_ms):
                seq += 1
                committed += 1
                batch.readings.append((seq, one))
        if batch.readings:
            batch.last_seq = seq
            journal.append(batch)
            pipe.send((seq, at_ms, sorted(told), len(batch.readings)))
    journal.close()
    pipe.send(None)
