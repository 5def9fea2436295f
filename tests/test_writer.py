"""The loop: nothing is acknowledged that is not committed, and what cannot be committed is kept."""

import sqlite3
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

import pytest
from boats import HOUR, LAID_UP_MS, MINUTE, boat
from pytest_mock import MockerFixture

import monitor.writer
from monitor.fleet import Fleet
from monitor.model.batch import Batch
from monitor.model.inputs import Acknowledge, Deaf, RecordVersion
from monitor.model.parcel import ClockMessage, Marker, Parcel, RawReading
from monitor.store.journal import Journal
from monitor.wall import WallClock
from monitor.writer import Writer


class Ear:
    """Stands where the MQTT session stands: keeps what was acknowledged and why it was dropped."""

    nonce = "ours"

    def __init__(self) -> None:
        self.caught_up = True
        self.acked: list[int] = []
        self.dropped: list[str] = []

    def ack(self, parcels: Sequence[Parcel]) -> None:
        self.acked += [parcel.mid for parcel in parcels]

    def drop(self, reason: str) -> None:
        self.dropped.append(reason)


class Bench:
    """A writer over a real journal, running in its own thread."""

    def __init__(self, path: Path, wall: WallClock | None) -> None:
        self.path = path
        self.journal = Journal(path)
        self.fleet = Fleet(self.journal)
        self.fleet.restore(self.journal)
        self.batches: list[Batch] = []
        self.writer = Writer(self.fleet, self.journal, wall, 60.0, lambda _batch: [], self.batches.append)
        self.ear = Ear()
        self.writer.hear(self.ear)
        self.thread = threading.Thread(target=self.writer.run)
        self.thread.start()

    def stop(self) -> None:
        self.writer.stop()
        self.thread.join(10)
        assert not self.thread.is_alive()
        self.journal.close()

    def until(self, reached: Callable[[], bool], within_s: float = 10.0) -> None:
        until = time.monotonic() + within_s
        while not reached():
            assert time.monotonic() < until, "it did not come about in time"
            time.sleep(0.01)


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    made = Bench(tmp_path / "journal.sqlite", None)
    assert made.writer.submit(RecordVersion(boat(), LAID_UP_MS, "test")).result(5) is None
    yield made
    made.stop()


def reading(mid: int, hours: float, value: float = 4.0, sensor: str = "engine-space") -> Parcel:
    at = LAID_UP_MS + round(hours * HOUR)
    topic = "layup/quay/tern/readings"
    return Parcel(mid, 1, 1, retained=False, topic=topic, readings=[RawReading("tern", sensor, value, at)])


def clock(mid: int, hours: float) -> Parcel:
    at = LAID_UP_MS + round(hours * HOUR)
    return Parcel(mid, 1, 1, retained=False, topic="layup/quay/agent/clock", clock=ClockMessage(at))


def stored(path: Path) -> int:
    with sqlite3.connect(path) as db:
        return int(db.execute("SELECT count(*) FROM reading").fetchone()[0])


def test_a_parcel_is_acknowledged_once_it_is_in_the_file(bench: Bench) -> None:
    bench.writer.inbox.put(clock(1, 1))
    bench.writer.inbox.put(reading(2, 1))
    bench.until(lambda: bench.ear.acked == [1, 2])
    assert stored(bench.path) == 1


def test_what_cannot_be_committed_is_kept_unacknowledged_and_the_broker_is_dropped(
    bench: Bench, mocker: MockerFixture
) -> None:
    mocker.patch.object(monitor.writer, "DROP_AFTER_S", 0.2)
    bench.journal._db.execute("PRAGMA busy_timeout=10")
    other = sqlite3.connect(bench.path, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")  # somebody else holds the file
    bench.writer.inbox.put(clock(1, 1))
    bench.writer.inbox.put(reading(2, 1))
    bench.until(lambda: bool(bench.ear.dropped))
    assert bench.ear.acked == []
    assert bench.writer.failing is not None
    other.execute("ROLLBACK")
    other.close()
    bench.until(lambda: bench.ear.acked == [1, 2])
    assert (stored(bench.path), bench.writer.failing) == (1, None)
    assert len(bench.ear.dropped) == 1


def test_commands_that_wait_are_committed_together_and_each_has_its_answer(bench: Bench) -> None:
    other = sqlite3.connect(bench.path, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")  # until released, everything waits behind the first
    bench.writer.inbox.put(clock(1, 1))
    bench.until(bench.writer.inbox.empty)
    before = len(bench.batches)
    answers = []
    for number in range(100):
        answers.append(bench.writer.submit(RecordVersion(boat(id=f"boat-{number}"), LAID_UP_MS, "test")))
        bench.writer.inbox.put(reading(2 + number, 1 + number / 100))
    refused = bench.writer.submit(Acknowledge("tern", "no such alert", LAID_UP_MS, "test"))
    other.execute("ROLLBACK")
    other.close()
    assert {answer.result(10) for answer in answers} == {None}
    assert "no such alert" in str(refused.result(10))
    bench.until(lambda: bench.ear.acked == list(range(1, 102)))
    assert len(bench.batches) - before == 2  # what the file was held from, and the rest
    seqs = [seq for batch in bench.batches for seq, _ in batch.inputs] + [
        seq for batch in bench.batches for seq, _ in batch.readings
    ]
    assert sorted(seqs) == list(range(1, len(seqs) + 1))
    inputs = [item for batch in bench.batches[before:] for _, item in batch.inputs]
    assert [i.vessel.id for i in inputs if isinstance(i, RecordVersion)] == [f"boat-{n}" for n in range(100)]


def test_a_stop_while_the_journal_cannot_be_written_loses_nothing_that_was_acknowledged(tmp_path: Path) -> None:
    bench = Bench(tmp_path / "journal.sqlite", None)
    bench.writer.submit(RecordVersion(boat(), LAID_UP_MS, "test")).result(5)
    bench.journal._db.execute("PRAGMA busy_timeout=10")
    other = sqlite3.connect(bench.path, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    bench.writer.inbox.put(reading(1, 1))
    bench.until(lambda: bench.writer.failing is not None)
    bench.stop()
    other.close()
    assert bench.ear.acked == []
    assert stored(bench.path) == 0


def test_a_command_is_answered_after_its_commit(bench: Bench) -> None:
    refusal = bench.writer.submit(Acknowledge("tern", "none", LAID_UP_MS, "R. Invented")).result(5)
    assert refusal is not None
    assert "no open alert" in refusal


def test_a_stop_saves_every_watch_and_a_start_goes_on_from_it(tmp_path: Path) -> None:
    first = Bench(tmp_path / "journal.sqlite", None)
    first.writer.submit(RecordVersion(boat(), LAID_UP_MS, "test")).result(5)
    for hour in range(1, 30):
        first.writer.inbox.put(clock(2 * hour, hour))
        first.writer.inbox.put(reading(2 * hour + 1, hour, value=-25.0))
    first.until(lambda: 59 in first.ear.acked)
    first.stop()
    second = Bench(tmp_path / "journal.sqlite", None)
    try:
        ours = [(a.id, a.priority) for a in second.fleet.watches["tern"].open_alerts()]
        assert ours == [(a.id, a.priority) for a in first.fleet.watches["tern"].open_alerts()]
        assert ours
        assert second.fleet.watches["tern"].state == first.fleet.watches["tern"].state
    finally:
        second.stop()


def test_clock_messages_are_not_heeded_by_the_wall(tmp_path: Path) -> None:
    bench = Bench(tmp_path / "journal.sqlite", WallClock(None))
    try:
        bench.writer.inbox.put(clock(1, 1))
        bench.until(lambda: bench.ear.acked == [1])
        assert [reject.detail for batch in bench.batches for _, reject in batch.rejects] == [
            "clock messages are only heeded with journal.clock = 'stream'"
        ]
    finally:
        bench.stop()


def test_the_wall_ticks_only_once_our_own_marker_has_come_back(tmp_path: Path) -> None:
    bench = Bench(tmp_path / "journal.sqlite", WallClock(None))
    try:
        time.sleep(0.6)
        assert bench.fleet.clock_ms is None
        bench.writer.inbox.put(
            Parcel(1, 1, 1, retained=False, topic="layup/quay/agent/marker", marker=Marker("another's"))
        )
        bench.until(lambda: bench.ear.acked == [1])
        assert bench.fleet.clock_ms is None
        bench.writer.inbox.put(Parcel(2, 1, 1, retained=False, topic="layup/quay/agent/marker", marker=Marker("ours")))
        bench.until(lambda: bench.fleet.clock_ms is not None)
        assert bench.fleet.clock_ms is not None
        assert bench.fleet.clock_ms % MINUTE == 0
    finally:
        bench.stop()


class Hands:
    """A wall that a test sets, and a clock that goes with it."""

    def __init__(self, at_ms: int) -> None:
        self.at_ms = at_ms

    def clock(self) -> WallClock:
        return WallClock(None, lambda: self.at_ms, lambda: self.at_ms)


def marker(mid: int, session: int = 1) -> Parcel:
    return Parcel(mid, 1, session, retained=False, topic="layup/quay/agent/marker", marker=Marker("ours"))


def deafnesses(bench: Bench) -> list[tuple[float, float]]:
    found = [i for batch in bench.batches for _, i in batch.inputs if isinstance(i, Deaf)]
    return [((d.from_ms - LAID_UP_MS) / HOUR, (d.to_ms - LAID_UP_MS) / HOUR) for d in found]


def test_our_own_deafness_is_recorded_when_we_hear_again(tmp_path: Path) -> None:
    hands = Hands(LAID_UP_MS + 10 * HOUR)
    path = tmp_path / "journal.sqlite"
    first = Bench(path, hands.clock())
    first.writer.submit(RecordVersion(boat(), LAID_UP_MS, "test")).result(5)
    first.writer.inbox.put(marker(1))
    first.until(lambda: first.fleet.clock_ms is not None)
    first.stop()
    hands.at_ms = LAID_UP_MS + 15 * HOUR
    second = Bench(path, hands.clock())
    try:
        second.writer.inbox.put(reading(2, 12))
        second.until(lambda: second.ear.acked == [2])
        assert deafnesses(second) == [(10, 15)]
    finally:
        second.stop()


def test_a_broker_that_is_away_is_no_sensors_silence(tmp_path: Path) -> None:
    hands = Hands(LAID_UP_MS + 10 * HOUR)
    bench = Bench(tmp_path / "journal.sqlite", hands.clock())
    try:
        afloat = boat(mode="afloat laid up", plot=None, berth="N1")
        bench.writer.submit(RecordVersion(afloat, hands.at_ms, "test")).result(5)
        bench.writer.inbox.put(marker(1))
        bench.writer.inbox.put(reading(2, 10))
        bench.until(lambda: bench.fleet.clock_ms is not None)
        bench.ear.caught_up = False  # the broker has gone
        time.sleep(0.6)
        hands.at_ms += 20 * HOUR
        time.sleep(0.6)
        assert bench.fleet.clock_ms == LAID_UP_MS + 10 * HOUR
        bench.ear.caught_up = True
        bench.writer.inbox.put(marker(3, session=2))
        bench.until(lambda: bench.fleet.clock_ms == LAID_UP_MS + 30 * HOUR)
        bench.until(lambda: bool(deafnesses(bench)))  # the clock is known before its batch is committed
        assert deafnesses(bench)[-1] == (10, 30)
        silent = {a.subject for a in bench.fleet.watches["tern"].open_alerts() if a.rule == "silence"}
        assert silent & {"gateway", "engine-space"} == set()
    finally:
        bench.stop()


def test_a_machine_that_slept_asks_for_what_came_meanwhile(tmp_path: Path) -> None:
    hands = Hands(LAID_UP_MS + 10 * HOUR)
    bench = Bench(tmp_path / "journal.sqlite", hands.clock())
    try:
        bench.writer.inbox.put(marker(1))
        bench.until(lambda: bench.fleet.clock_ms is not None)
        hands.at_ms += 4 * HOUR
        bench.until(lambda: bool(bench.ear.dropped))
        assert bench.ear.dropped == ["nothing was heard for 14400 s"]
        bench.until(lambda: deafnesses(bench) == [(10, 14)])
    finally:
        bench.stop()


def test_whoever_stopped_waiting_for_an_answer_stops_nothing_else(bench: Bench) -> None:
    bench.journal._db.execute("PRAGMA busy_timeout=10")
    other = sqlite3.connect(bench.path, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    held = bench.writer.submit(RecordVersion(boat(name="Tern II"), LAID_UP_MS, "test"))
    waiting = bench.writer.submit(RecordVersion(boat(name="Tern III"), LAID_UP_MS, "test"))
    assert waiting.cancel()
    other.execute("ROLLBACK")
    other.close()
    assert held.result(10) is None
    assert bench.writer.submit(RecordVersion(boat(name="Tern IV"), LAID_UP_MS, "test")).result(10) is None
    stored = [bench.journal.record_at(seq).name for seq, *_ in bench.journal.record_seqs()]
    assert stored == [
        "Tern",
        "Tern II",
        "Tern IV",
    ]


def test_a_stop_in_the_middle_of_an_outage_saves_no_watch_that_knows_more_than_the_journal(tmp_path: Path) -> None:
    bench = Bench(tmp_path / "journal.sqlite", None)
    bench.writer.submit(RecordVersion(boat(), LAID_UP_MS, "test")).result(5)
    bench.journal._db.execute("PRAGMA busy_timeout=10")
    other = sqlite3.connect(bench.path, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    bench.writer.inbox.put(reading(1, 1, value=1.0, sensor="bilge-float"))
    bench.until(lambda: bench.writer.failing is not None)
    bench.writer.stop()
    other.execute("ROLLBACK")  # in the very moment of the stop the journal can be written again
    bench.thread.join(10)
    again = Fleet(bench.journal)
    again.restore(bench.journal)
    assert len(again.watches["tern"].open_alerts()) == len(bench.journal.open_alerts("tern"))
    other.close()
    bench.journal.close()
