"""One yard's intake under fire: the real reader, fleet, writer and journal, and what must hold of every message."""

import resource
import time
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from math import isfinite
from pathlib import Path
from typing import cast

from boats import HOUR, LAID_UP_MS, boat

from monitor.fleet import Fleet
from monitor.intake.channel import LARGEST as LARGEST_VALUE
from monitor.intake.reader import Reader
from monitor.intake.sources import Source
from monitor.intake.times import ABSOLUTE_FROM_S, END_MS
from monitor.model.batch import Batch
from monitor.model.inputs import RecordVersion
from monitor.model.parcel import Parcel
from monitor.store.journal import Journal
from monitor.wall import WallClock
from monitor.writer import Errand, Writer

SOURCES = (
    Source(topic="cellar/+/climate", vessel="{2}", sensor="engine-space", pointer="/t", scale=0.1, offset=-4),
    Source(topic="cellar/+/climate", vessel="{2}", sensor="bilge-level", pointer="/mm/0/level", unit="mm"),
    Source(topic="cellar/+/climate", vessel="tern", sensor="bilge-float", pointer="/float", time_pointer="/at"),
    Source(
        topic="cellar/+/climate", vessel="tern", sensor="outside", pointer="/t", time_pointer="/at", time_unit="iso8601"
    ),
    Source(topic="cellar/+/float", vessel="{2}", sensor="bilge-float"),
    Source(
        topic="layup/quay/+/keel",
        vessel="{3}",
        sensor="house-volts",
        pointer="/a~1b/~0",
        time_pointer="/t",
        time_unit="ms",
    ),
)
STEP_MS = 100
BATCH = 500
LONGEST_S = 1.0  # of one message, read and folded; the machine is shared
SWITCHES = {"bilge-float"}


class Clock:
    """Stands where the wall clock stands."""

    doubted = False

    def __init__(self) -> None:
        self.at_ms = LAID_UP_MS + HOUR

    def now_ms(self) -> int:
        return self.at_ms

    def hint(self, stated_ms: int) -> None:
        del stated_ms


class Ear:
    """Stands where the session stands: counts what was acknowledged."""

    nonce = "ours"
    caught_up = True

    def __init__(self) -> None:
        self.acked = 0

    def ack(self, parcels: Sequence[Parcel]) -> None:
        self.acked += len(parcels)

    def drop(self, reason: str) -> None:
        raise AssertionError(f"the session was dropped: {reason}")


@dataclass
class Tally:
    """What became of the messages."""

    messages: int = 0
    readings: int = 0
    reasons: Counter[str] = field(default_factory=Counter)
    slowest_s: float = 0.0
    slowest: bytes = b""
    grown_mib: float = 0.0
    elapsed_s: float = 0.0

    def add(self, other: "Tally") -> None:
        """Add what became of others."""
        self.messages += other.messages
        self.readings += other.readings
        self.reasons.update(other.reasons)
        if other.slowest_s > self.slowest_s:
            self.slowest_s, self.slowest = other.slowest_s, other.slowest
        self.grown_mib += other.grown_mib
        self.elapsed_s += other.elapsed_s


class Tried:
    """A yard of one boat that is sent whatever comes."""

    def __init__(self, folder: Path) -> None:
        self.journal = Journal(folder / "journal.sqlite")
        self.journal._db.execute("PRAGMA synchronous=OFF")  # power cuts are tried elsewhere
        self.fleet = Fleet(self.journal)
        self.reader = Reader("quay", self.fleet, SOURCES)
        self.clock, self.ear, self.tally = Clock(), Ear(), Tally()
        self.batches: list[Batch] = []
        self.writer = Writer(
            self.fleet, self.journal, cast("WallClock", self.clock), 600.0, lambda _: None, self._check
        )
        self.writer.hear(self.ear)
        self.writer.turn([Errand(RecordVersion(boat(), LAID_UP_MS, "test"))])
        self._waiting: list[Parcel | Errand] = []
        self._began, self._rss = time.monotonic(), _rss_mib()
        self.writer.turn(
            [self.reader.read("layup/quay/agent/marker", b"ours", mid=0, qos=1, session=1, retained=False)]
        )
        assert self.writer.caught_up, "from here on, what states no time is news"

    def send(self, topic: str, payload: bytes, *, retained: bool = False) -> Parcel:
        """Send one message, and hold what is read of it against what must hold of any."""
        began = time.perf_counter()
        parcel = self.reader.read(topic, payload, mid=self.tally.messages, qos=1, session=1, retained=retained)
        took_s = time.perf_counter() - began
        check(parcel)
        self.tally.messages += 1
        self.tally.reasons.update(reject.reason.value for reject in parcel.rejects)
        self.clock.at_ms += STEP_MS
        self._waiting.append(parcel)
        if len(parcel.readings) > BATCH:  # alone, so that what it costs is seen
            self.settle()
            took_s = time.perf_counter() - began
        if took_s > self.tally.slowest_s:
            self.tally.slowest_s, self.tally.slowest = took_s, payload[:60]
        assert took_s < LONGEST_S, f"{took_s:.1f} s for {len(payload)} bytes: {payload[:80]!r}"
        if len(self._waiting) >= BATCH:
            self.settle()
        return parcel

    def settle(self) -> None:
        """Have what waits folded and committed."""
        self.writer.turn(self._waiting)
        self._waiting = []

    def finish(self) -> Tally:
        """Commit the rest, and give what became of it all: every message acknowledged, every reject counted."""
        self.settle()
        assert self.ear.acked == self.tally.messages + 1  # the marker
        assert self.writer.failing is None
        (counted,) = self.journal._db.execute("SELECT coalesce(sum(count), 0) FROM reject").fetchone()
        assert counted >= sum(self.tally.reasons.values())
        (self.tally.readings,) = self.journal._db.execute("SELECT count(*) FROM reading").fetchone()
        (bad,) = self.journal._db.execute(
            "SELECT count(*) FROM reading WHERE abs(value) > 1e9 OR value IS NULL"
        ).fetchone()
        assert bad == 0
        self.tally.grown_mib, self.tally.elapsed_s = _rss_mib() - self._rss, time.monotonic() - self._began
        return self.tally

    def close(self) -> None:
        self.journal.close()

    @staticmethod
    def _check(batch: Batch) -> None:
        for _, reading in batch.readings:
            assert isfinite(reading.value)
            assert abs(reading.value) <= LARGEST_VALUE
            assert LAID_UP_MS <= reading.event_ms < END_MS
            assert reading.sensor not in SWITCHES or reading.value in {0.0, 1.0}


def check(parcel: Parcel) -> None:
    """Hold a parcel against what must hold of any: taken in range, or refused with a reason that is safe to show."""
    for raw in parcel.readings:
        assert isfinite(raw.value)
        assert abs(raw.value) <= LARGEST_VALUE
        assert raw.stated_ms is None or 0 <= raw.stated_ms < END_MS
        assert abs(raw.offset_ms) <= ABSOLUTE_FROM_S * 1000
        assert raw.vessel == "tern"
    for reject in parcel.rejects:
        assert reject.reason
        assert reject.detail
        assert reject.detail.isprintable()
        assert reject.topic.isprintable()
        assert len(reject.detail) <= 200
        assert len(reject.topic) <= 200
    became = (parcel.readings, parcel.rejects, parcel.clock, parcel.marker, parcel.forecast)
    assert any(became) or parcel.topic == "layup/quay/agent", "neither taken nor refused"


def _rss_mib() -> float:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
