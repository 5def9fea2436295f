"""What readers see of a journal: a real SQLite file with its writer still open."""

import sqlite3
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from monitor.model.alert import Alert, AlertChange, AlertEvent, alert_id
from monitor.model.batch import Batch
from monitor.model.document import read_vessel
from monitor.model.finding import Figure, Finding
from monitor.model.inputs import RecordVersion
from monitor.model.parcel import Reject, RejectReason
from monitor.model.reading import Reading
from monitor.model.scale import AlertState, Flag, Priority, Sure
from monitor.store.buckets import STEPS_MS, step_for
from monitor.store.journal import Journal
from monitor.store.view import JournalView

MINUTE_MS, HOUR_MS, DAY_MS = 60_000, 3_600_000, 86_400_000
T0 = 1_386_547_200_000  # 9 December 2013, 00:00 UTC

RECORD = """
id = "tern"
name = "{name}"
yard = "eiderhythe"
mode = "afloat laid up"
berth = "N7"
laid_up = 2013-10-31T16:00:00Z
engineer = "Odile Marrick"
[[sensors]]
id = "cabin"
quantity = "temperature"
place = "saloon"
interval_s = 600
supply = "own cell"
"""
FINDING = Finding(
    "frost", "raw-water", "margin", Priority.WARNING, Figure(-1.0, -4.0, "degC"), None, Sure.LIKELY, (), (), ()
)


class Written:
    """A journal with its readers."""

    def __init__(self, path: Path) -> None:
        self.journal = Journal(path)
        self.view = JournalView(path)
        self.seq = 0

    def write(self, **parts: Any) -> None:
        self.journal.append(Batch(**parts, last_seq=self.seq))

    def next_seq(self) -> int:
        self.seq += 1
        return self.seq

    def hear(self, *readings: Reading) -> None:
        self.write(readings=[(self.next_seq(), r) for r in readings])

    def record(self, name: str = "Tern", at_ms: int = T0) -> None:
        version = RecordVersion(read_vessel(RECORD.format(name=name), "tern"), at_ms, "Odile")
        self.write(inputs=[(self.next_seq(), version)])

    def alert(self, subject: str, opened_ms: int, ended_ms: int | None = None) -> Alert:
        state = AlertState.UNACKNOWLEDGED if ended_ms is None else AlertState.NORMAL
        key = alert_id("tern", "frost", subject, opened_ms)
        made = Alert(key, "tern", "frost", subject, state, Priority.WARNING, Priority.WARNING, opened_ms, FINDING)
        made.ended_ms = ended_ms
        event = AlertEvent(key, "tern", opened_ms, AlertChange.OPENED, state, Priority.WARNING, "watch")
        self.write(events=[(self.next_seq(), 0, event)], alerts={key: made})
        return made


def cabin(at_ms: int, value: float, flag: Flag = Flag.PASS, **changes: Any) -> Reading:
    return Reading(
        "tern",
        "cabin",
        at_ms,
        changes.pop("event_ms", at_ms),
        changes.pop("arrived_ms", at_ms),
        value,
        flag=flag,
        **changes,
    )


@pytest.fixture
def written(tmp_path: Path) -> Iterator[Written]:
    made = Written(tmp_path / "journal.db")
    yield made
    made.view.close()
    made.journal.close()


def test_a_vessel_is_there_once_her_record_is(written: Written) -> None:
    assert written.view.vessels_now() == []
    written.record()
    (now,) = written.view.vessels_now()
    assert (now.stored.vessel.name, now.stored.version, now.stored.actor, now.heard_ms) == ("Tern", 1, "Odile", None)


def test_the_newest_version_of_a_record_holds_and_all_are_kept(written: Written) -> None:
    written.record()
    written.record("Tern II", T0 + DAY_MS)
    found = written.view.record("tern")
    assert found is not None
    assert (found.vessel.name, found.version, found.from_ms) == ("Tern II", 2, T0 + DAY_MS)
    assert [v.vessel.name for v in written.view.versions("tern")] == ["Tern II", "Tern"]
    assert written.view.record("nobody") is None


def test_the_newest_reading_follows_what_is_committed(written: Written) -> None:
    written.record()
    written.hear(cabin(T0, 4.0))
    assert written.view.newest("tern")["cabin"].value == 4.0
    written.hear(cabin(T0 + HOUR_MS, 3.0), cabin(T0 + 2 * HOUR_MS, 2.0))
    assert written.view.newest("tern")["cabin"].value == 2.0
    assert written.view.vessels_now()[0].heard_ms == T0 + 2 * HOUR_MS
    assert written.view.stored() == 3


def test_a_late_reading_is_hearing_from_her_and_replaces_nothing(written: Written) -> None:
    written.record()
    written.hear(cabin(T0 + DAY_MS, 4.0))
    assert written.view.stored() == 1
    written.hear(cabin(T0, -3.0, late=True, arrived_ms=T0 + DAY_MS + HOUR_MS))
    assert written.view.newest("tern")["cabin"].value == 4.0
    assert written.view.vessels_now()[0].heard_ms == T0 + DAY_MS + HOUR_MS


def test_a_retained_message_is_not_hearing_from_her(written: Written) -> None:
    written.record()
    written.hear(cabin(T0, 4.0))
    assert written.view.stored() == 1
    written.hear(cabin(T0 + DAY_MS, 9.0, news=False))
    assert written.view.newest("tern")["cabin"].value == 4.0
    assert written.view.vessels_now()[0].heard_ms == T0


def test_a_reading_from_a_clock_gone_wild_does_not_stay_newest_for_ever(written: Written) -> None:
    written.record()
    written.hear(
        cabin(T0 + 3_650 * DAY_MS, 9.0, clock_fault=True, event_ms=T0, arrived_ms=T0), cabin(T0 + HOUR_MS, 4.0)
    )
    assert written.view.newest("tern")["cabin"].value == 4.0
    fresh = JournalView(written.journal.path)
    assert fresh.newest("tern")["cabin"].value == 4.0
    fresh.close()


def test_a_flag_that_settles_later_is_shown_settled(written: Written) -> None:
    written.record()
    written.hear(cabin(T0, 4.0, Flag.NOT_EVALUATED))
    assert written.view.newest("tern")["cabin"].flag is Flag.NOT_EVALUATED
    written.write(settled=[cabin(T0, 4.0, Flag.SUSPECT)])
    assert written.view.newest("tern")["cabin"].flag is Flag.SUSPECT


def test_alerts_are_open_or_ended_newest_first(written: Written) -> None:
    old = written.alert("raw-water", T0, T0 + HOUR_MS)
    new = written.alert("heads", T0 + DAY_MS)
    view = written.view
    assert [a.id for a in view.alerts(open_only=True)] == [new.id]
    assert [a.id for a in view.alerts(open_only=False, vessel="tern")] == [new.id, old.id]
    assert [a.id for a in view.alerts(open_only=False, limit=1)] == [new.id]
    assert view.alerts(open_only=False, vessel="nobody") == []
    assert view.alert(old.id) == old
    assert view.alert("none") is None
    assert [e.change for e in view.events(old.id)] == [AlertChange.OPENED]


@pytest.mark.parametrize(
    ("from_h", "to_h", "found"),
    [(-5, 0, 0), (-5, 1, 1), (1, 2, 1), (2, 3, 1), (3, 9, 0)],
)
def test_alerts_of_a_span_are_those_open_at_any_time_of_it(
    written: Written, from_h: int, to_h: int, found: int
) -> None:
    written.alert("raw-water", T0, T0 + 2 * HOUR_MS)
    assert len(written.view.alerts_between("tern", T0 + from_h * HOUR_MS, T0 + to_h * HOUR_MS)) == found


def test_what_rules_cannot_say_is_read_as_it_was_committed(written: Written) -> None:
    written.record()
    written.next_seq()
    written.write(not_known={"tern": [FINDING]})
    assert written.view.vessels_now()[0].not_known == [FINDING]
    written.next_seq()
    written.write(not_known={"tern": []})
    assert written.view.vessels_now()[0].not_known == []


def test_only_the_vessels_asked_for_are_given(written: Written) -> None:
    written.record()
    assert [v.stored.vessel.id for v in written.view.vessels_now({"tern", "nobody"})] == ["tern"]
    assert written.view.vessels_now(set()) == []


def test_rejects_and_counts(written: Written) -> None:
    reject = Reject(RejectReason.MALFORMED, "layup/x", "not JSON")
    written.write(rejects=[(T0, reject), (T0 + 1, reject)], counts={"late": 2})
    (line,) = written.view.rejects()
    assert (line.reason, line.topic, line.detail, line.first_ms, line.last_ms, line.count) == (
        "malformed",
        "layup/x",
        "not JSON",
        T0,
        T0 + 1,
        2,
    )
    assert written.view.tally() == {"late": 2}


def test_short_spans_are_summed_up_from_raw(written: Written) -> None:
    written.hear(*(cabin(T0 + n * 10 * MINUTE_MS, float(n)) for n in range(12)))
    found = written.view.buckets("tern", "cabin", T0, T0 + 2 * HOUR_MS, 4)
    assert found.step_ms == 30 * MINUTE_MS
    assert [(b.start_ms - T0, b.low, b.high, b.mean, b.count) for b in found.buckets] == [
        (0, 0.0, 2.0, 1.0, 3),
        (30 * MINUTE_MS, 3.0, 5.0, 4.0, 3),
        (60 * MINUTE_MS, 6.0, 8.0, 7.0, 3),
        (90 * MINUTE_MS, 9.0, 11.0, 10.0, 3),
    ]


def test_long_spans_are_summed_up_from_hours_and_agree_with_raw(written: Written) -> None:
    readings = [
        cabin(T0 + n * 10 * MINUTE_MS, float((n * 7) % 31), Flag.SUSPECT if n == 40 else Flag.PASS)
        for n in range(6 * 24 * 6)
    ]
    written.hear(*readings)
    found = written.view.buckets("tern", "cabin", T0, T0 + 6 * DAY_MS, 40)
    assert found.step_ms == 4 * HOUR_MS
    assert len(found.buckets) == 36
    for bucket in found.buckets:
        own = [r for r in readings if bucket.start_ms <= r.stated_ms < bucket.start_ms + found.step_ms]
        values = [r.value for r in own]
        assert (bucket.low, bucket.high, bucket.count) == (min(values), max(values), len(values))
        assert bucket.mean == pytest.approx(sum(values) / len(values))
        assert bucket.worst == max(r.flag for r in own)


@pytest.mark.parametrize("to_ms", [T0 + DAY_MS, T0 + 10 * DAY_MS])
def test_a_bucket_of_failed_readings_has_a_flag_and_no_value(written: Written, to_ms: int) -> None:
    written.hear(cabin(T0 + HOUR_MS, 999.0, Flag.FAIL))
    (bucket,) = written.view.buckets("tern", "cabin", T0, to_ms, 500).buckets
    assert (bucket.low, bucket.high, bucket.mean, bucket.count, bucket.worst) == (None, None, None, 0, Flag.FAIL)


def test_readings_of_a_faulty_clock_and_retained_ones_are_in_no_chart(written: Written) -> None:
    written.hear(cabin(T0 + HOUR_MS, 1.0, clock_fault=True), cabin(T0 + 2 * HOUR_MS, 2.0, news=False))
    assert written.view.buckets("tern", "cabin", T0, T0 + DAY_MS, 500).buckets == []
    assert written.view.buckets("tern", "nose", T0, T0 + DAY_MS, 500).buckets == []


@pytest.mark.parametrize("span_d", [0.1, 1, 2, 4, 4.1, 14, 60, 180, 365])
@pytest.mark.parametrize("at_most", [100, 720, 2_000])
def test_a_step_divides_a_day_and_never_gives_more_buckets_than_pixels(span_d: float, at_most: int) -> None:
    step = step_for(round(span_d * DAY_MS), at_most)
    assert DAY_MS % step == 0
    assert step in STEPS_MS
    assert span_d * DAY_MS / step <= at_most or step == DAY_MS


def test_every_thread_reads_for_itself_while_the_writer_writes(written: Written) -> None:
    written.record()
    failures: list[BaseException] = []

    def read() -> None:
        try:
            for _ in range(50):
                (now,) = written.view.vessels_now()
                stored = written.view.stored()
                assert now.heard_ms is None or now.heard_ms >= T0
                assert stored <= 300
        except BaseException as failure:  # noqa: BLE001 - told to the test's own thread
            failures.append(failure)

    threads = [threading.Thread(target=read) for _ in range(4)]
    for thread in threads:
        thread.start()
    for n in range(300):
        written.hear(cabin(T0 + n * MINUTE_MS, float(n)))
    for thread in threads:
        thread.join()
    assert failures == []
    assert written.view.stored() == 300
    assert written.view.newest("tern")["cabin"].value == 299.0


def test_a_reader_cannot_write_and_tells_when_it_is_closed(written: Written) -> None:
    with pytest.raises(sqlite3.OperationalError, match="readonly"):
        written.view._reader.rows("DELETE FROM reading")
    written.view.close()
    with pytest.raises(sqlite3.ProgrammingError):
        written.view.last_seq()


def test_the_last_seq_is_the_last_input_of_any_kind(written: Written) -> None:
    assert written.view.last_seq() == 0
    written.hear(cabin(T0, 1.0))
    written.record()
    assert written.view.last_seq() == 2
