"""One yard measured at its own pace, in a process of its own.

``python -m tests.benchmarks.fleet_measured VESSELS MINUTES DAYS`` prints what `FleetCost` holds as JSON.
"""

import gc
import json
import os
import sys
import tempfile
import time
from dataclasses import asdict, dataclass, field
from itertools import islice
from pathlib import Path

from monitor.fleet import Fleet, Save
from monitor.model.inputs import RecordVersion
from monitor.store.journal import Journal
from monitor.writer import LONGEST_WAIT_S, MOST_IN_A_BATCH, YOUNG_OBJECTS
from tests.benchmarks.yard import BEGINS_MS, SENSORS, packs, records

MINUTE_MS, EVERY_MINUTES, READINGS = 60_000, 5, len(SENSORS)
COMMITS, DAYS_TOLD = 300, (1, 7, 14, 21)


@dataclass(slots=True)
class FleetCost:
    """What a yard of so many boats costs.

    Attributes:
        vessels: how many boats.
        fold_cpu: part of one core for taking in, judging and ticking.
        commit_cpu: part of one core for commits at a live pace.
        save_cpu: part of one core for saving what changed each minute, and every watch's state once an hour.
        kb: memory a boat once her record is known, kB.
        kb_by_day: memory a boat after so many days, kB.
    """

    vessels: int
    fold_cpu: float = 0.0
    commit_cpu: float = 0.0
    save_cpu: float = 0.0
    kb: float = 0.0
    kb_by_day: dict[float, float] = field(default_factory=dict)

    @property
    def cpu(self) -> float:
        """All of it, part of one core."""
        return self.fold_cpu + self.commit_cpu + self.save_cpu


class Measured:
    """A yard over a journal, moved on by hand."""

    def __init__(self, vessels: int, journal: Journal) -> None:
        gc.collect()
        self._before_b = _resident_b()
        self.cost = FleetCost(vessels)
        self._journal = journal
        self._fleet = Fleet(journal)
        self._at_ms = BEGINS_MS
        for record in records(vessels):
            self._fleet.command(RecordVersion(record, BEGINS_MS, "bench"))
        journal.append(self._fleet.hand_over())
        gc.collect()
        gc.freeze()  # as the writer does
        gc.set_threshold(YOUNG_OBJECTS, *gc.get_threshold()[1:])
        self.cost.kb = self._kb()

    def fold(self, minutes: int) -> None:
        """Measure so many minutes of event time, and the memory after them."""
        folded_s = sum(self._fold_round() for _ in range(minutes // EVERY_MINUTES))
        self.cost.fold_cpu = folded_s / (minutes * 60)
        self.cost.kb_by_day[minutes / 1440] = self._kb()

    def commit(self) -> None:
        """Measure commits of what comes within the longest wait, at the pace at which the yard speaks."""
        vessels = self.cost.vessels
        per_s = vessels / (EVERY_MINUTES * 60)
        size = max(round(per_s * LONGEST_WAIT_S), 1)
        coming = packs(vessels, self._at_ms + MINUTE_MS)
        took_s, commits = 0.0, min(COMMITS, vessels // size)
        for _ in range(commits):
            for parcel in islice(coming, size):
                self._fleet.take(parcel, self._at_ms + MINUTE_MS, caught_up=True)
            took_s += self._timed_append(Save.NOTHING)
        self.cost.commit_cpu = took_s / commits * min(per_s / size, 1 / LONGEST_WAIT_S)

    def save(self) -> None:
        """Measure saving. Every watch is saved once an hour; each minute what spoke in it, a fifth of the yard."""
        self.cost.save_cpu = self._timed_append(Save.EVERYTHING) * (1 + 60 / EVERY_MINUTES) / 3600

    def live_on(self, days: int) -> None:
        """Fold so many days and note the memory now and then; the journal is left out, for its time."""
        for day in range(1, days + 1):
            for _ in range(1440 // EVERY_MINUTES):
                self._fold_round(keeps=False)
            if day in DAYS_TOLD or day == days:
                gc.collect()
                self.cost.kb_by_day[day] = self._kb()

    def _fold_round(self, *, keeps: bool = True) -> float:
        """Let the yard's time go on until each boat has spoken once; give the time of the processor without commits."""
        took_s, began_s = 0.0, time.process_time()
        coming = packs(self.cost.vessels, self._at_ms + EVERY_MINUTES * MINUTE_MS)
        for _ in range(EVERY_MINUTES):
            self._at_ms += MINUTE_MS
            self._fleet.clock(self._at_ms)
            for count, parcel in enumerate(islice(coming, -(-self.cost.vessels // EVERY_MINUTES)), 1):
                for raw in parcel.readings:
                    raw.stated_ms = self._at_ms
                self._fleet.take(parcel, self._at_ms, caught_up=True)
                if not count % (MOST_IN_A_BATCH // READINGS):
                    took_s += time.process_time() - began_s
                    self._hand_over(keeps=keeps)
                    began_s = time.process_time()
        took_s += time.process_time() - began_s
        self._hand_over(keeps=keeps)
        return took_s

    def _hand_over(self, *, keeps: bool) -> None:
        batch = self._fleet.hand_over()
        if keeps:
            self._journal.append(batch)

    def _timed_append(self, save: Save) -> float:
        began_s = time.process_time()
        self._journal.append(self._fleet.hand_over(save))
        return time.process_time() - began_s

    def _kb(self) -> float:
        return (_resident_b() - self._before_b) / self.cost.vessels / 1000


def _resident_b() -> int:
    pages = int(Path("/proc/self/statm").read_text().split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE")


def main() -> None:
    """Measure, and print what was found."""
    vessels, minutes, days = (int(argument) for argument in sys.argv[1:])
    with tempfile.TemporaryDirectory(prefix="coldberth-bench-") as folder:
        journal = Journal(Path(folder) / "journal.sqlite")
        measured = Measured(vessels, journal)
        measured.fold(minutes)
        measured.commit()
        measured.save()
        measured.live_on(days)
        journal.close()
    print(json.dumps(asdict(measured.cost)))


if __name__ == "__main__":
    main()
