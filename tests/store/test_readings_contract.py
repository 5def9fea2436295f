"""What charts read is the same wherever it comes from: the journal, VictoriaMetrics, or an InfluxDB 2.

``COLDBERTH_TEST_INFLUX_URL``, ``_TOKEN``, ``_ORG`` and ``_BUCKET`` name the last, whose bucket
must keep what is old; without them it is left out.
"""

import os
import uuid
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Protocol

import pytest
from boats import DAY, HOUR, LAID_UP_MS, MINUTE
from history_kept import Kept, reading, until
from victoria import Victoria

from monitor.model.reading import Reading
from monitor.model.scale import Flag
from monitor.model.views import Bucket, Buckets, Newest, ReadingView
from monitor.store.history_config import HistoryConfig
from monitor.store.history_view import history_view
from monitor.store.view import JournalView

START = LAID_UP_MS // DAY * DAY


class Store(Protocol):
    def put(self, readings: list[Reading], settled: list[Reading] | None = None) -> ReadingView:
        """Store readings and give what reads them."""
        ...

    def close(self) -> None: ...


class JournalStore:
    def __init__(self, folder: Path) -> None:
        self.kept = Kept(folder / "journal.sqlite")
        self.view = JournalView(self.kept.path)

    def put(self, readings: list[Reading], settled: list[Reading] | None = None) -> ReadingView:
        self.kept.append(readings, settled)
        return self.view

    def close(self) -> None:
        self.view.close()
        self.kept.close()


class NoJournal:
    """Stands where the journal would be asked, so that nothing is read there unseen."""

    def newest(self, vessel: str) -> dict[str, Newest]:
        raise AssertionError(f"the journal was asked of {vessel}")

    def buckets(self, vessel: str, sensor: str, from_ms: int, to_ms: int, at_most: int) -> Buckets:
        raise AssertionError(f"the journal was asked of {vessel} {sensor} from {from_ms} to {to_ms}, {at_most}")


class HistoryStore:
    def __init__(self, folder: Path, config: HistoryConfig, show: Callable[[], None]) -> None:
        self.kept = Kept(folder / "journal.sqlite")
        self.config, self.show = config, show
        self.yard = f"quay-{uuid.uuid4().hex[:8]}"
        self.history = self.kept.history(config, self.yard)
        self.history.start()
        view = history_view(config, self.yard, NoJournal(), self.kept.path, lambda: self.history.complete)
        assert view is not None
        self.view = view

    def put(self, readings: list[Reading], settled: list[Reading] | None = None) -> ReadingView:
        self.kept.append(readings, settled)
        last = self.kept.journal.ends_at()[0]
        self.history.wake()
        until(lambda: self.history.taken_to >= last)
        assert self.history.failing is None
        self.show()
        # As if the journal had nothing raw left, so that short spans are asked here as well.
        self.kept.journal._db.execute("UPDATE dropped SET to_ms = ?", (START + 1_000 * DAY,))
        return self.view

    def close(self) -> None:
        self.history.stop()
        self.view.close()
        self.kept.close()


@pytest.fixture(scope="module")
def victoria(tmp_path_factory: pytest.TempPathFactory, require_program: Callable[[str], str]) -> Iterator[Victoria]:
    running = Victoria(require_program("victoria-metrics"), tmp_path_factory.mktemp("victoria"))
    running.start()
    yield running
    running.stop()


@pytest.fixture(params=["journal", "victoria", "influx"])
def store(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Store]:
    made: Store
    if request.param == "journal":
        made = JournalStore(tmp_path)
    elif request.param == "victoria":
        server: Victoria = request.getfixturevalue("victoria")
        made = HistoryStore(tmp_path, HistoryConfig(url=server.url, read="prometheus"), server.show)
    else:
        made = HistoryStore(tmp_path, influx(), lambda: None)
    yield made
    made.close()


def influx() -> HistoryConfig:
    told = {key: os.environ.get(f"COLDBERTH_TEST_INFLUX_{key.upper()}") for key in ("url", "token", "org", "bucket")}
    if told["url"] is None:
        pytest.skip("COLDBERTH_TEST_INFLUX_URL is not set: no InfluxDB 2 to read from")
    return HistoryConfig.model_validate({"read": "flux", **{key: v for key, v in told.items() if v is not None}})


def same(found: Bucket, wanted: Bucket) -> None:
    assert (found.start_ms, found.low, found.high, found.count, found.worst) == (
        wanted.start_ms,
        wanted.low,
        wanted.high,
        wanted.count,
        wanted.worst,
    )
    assert found.mean == (None if wanted.mean is None else pytest.approx(wanted.mean, abs=1e-9))


def test_a_long_span_is_summed_up_in_steps_that_begin_with_the_day(store: Store) -> None:
    readings = [reading(START + n * 10 * MINUTE, (n % 17) / 10) for n in range(20 * 144)]
    view = store.put(readings)
    found = view.buckets("tern", "cabin", START, START + 20 * DAY, 800)
    assert found.step_ms == HOUR
    assert [b.start_ms for b in found.buckets] == [START + hour * HOUR for hour in range(480)]
    for n, bucket in enumerate(found.buckets):
        values = [r.value for r in readings[6 * n : 6 * n + 6]]
        same(bucket, Bucket(START + n * HOUR, min(values), max(values), sum(values) / 6, 6, Flag.PASS))
    assert view.buckets("tern", "cabin", START, START + 20 * DAY, 80).step_ms == 6 * HOUR
    assert sum(b.count for b in view.buckets("tern", "cabin", START, START + 20 * DAY, 80).buckets) == len(readings)


def test_a_short_span_is_summed_up_in_minutes_and_holds_both_its_ends(store: Store) -> None:
    view = store.put([reading(START + n * MINUTE, float(n)) for n in range(-5, 65)])
    found = view.buckets("tern", "cabin", START, START + HOUR, 30)
    assert found.step_ms == 2 * MINUTE
    assert len(found.buckets) == 30
    same(found.buckets[0], Bucket(START, 0.0, 1.0, 0.5, 2, Flag.PASS))
    same(found.buckets[-1], Bucket(START + 58 * MINUTE, 58.0, 59.0, 58.5, 2, Flag.PASS))


def test_a_reading_at_the_first_and_last_millisecond_of_a_step_is_of_that_step(store: Store) -> None:
    view = store.put([reading(START + at, value) for at, value in ((0, 1.0), (HOUR - 1, 2.0), (HOUR, 3.0))])
    found = view.buckets("tern", "cabin", START, START + 10 * DAY, 800)
    assert [(b.start_ms, b.low, b.high) for b in found.buckets] == [(START, 1.0, 2.0), (START + HOUR, 3.0, 3.0)]


def test_what_failed_counts_in_nothing_and_shows_as_the_worst(store: Store) -> None:
    flagged = [(0, 5.0, Flag.PASS), (1, 99.0, Flag.FAIL), (2, 7.0, Flag.SUSPECT), (60, -80.0, Flag.FAIL)]
    view = store.put([reading(START + minute * MINUTE, value, flag) for minute, value, flag in flagged])
    found = view.buckets("tern", "cabin", START, START + 10 * DAY, 800).buckets
    assert len(found) == 2
    same(found[0], Bucket(START, 5.0, 7.0, 6.0, 2, Flag.FAIL))
    same(found[1], Bucket(START + HOUR, None, None, None, 0, Flag.FAIL))


def test_a_reading_that_waits_for_its_flag_counts_and_its_flag_shows_once_it_has_settled(store: Store) -> None:
    waits = reading(START, 5.0, Flag.NOT_EVALUATED)
    found = store.put([waits]).buckets("tern", "cabin", START, START + 10 * DAY, 800).buckets
    same(found[0], Bucket(START, 5.0, 5.0, 5.0, 1, Flag.PASS))
    waits.flag = Flag.SUSPECT
    view = store.put([reading(START + 2 * HOUR, 1.0)], settled=[waits])
    found = view.buckets("tern", "cabin", START, START + 10 * DAY, 800).buckets
    same(found[0], Bucket(START, 5.0, 5.0, 5.0, 1, Flag.SUSPECT))
    same(found[1], Bucket(START + 2 * HOUR, 1.0, 1.0, 1.0, 1, Flag.PASS))


def test_what_may_be_old_and_what_a_wrong_clock_stated_is_in_no_bucket(store: Store) -> None:
    old, wrong = reading(START + HOUR, 50.0), reading(START + 2 * HOUR, 60.0)
    old.news, wrong.clock_fault = False, True
    late = reading(START + 3 * HOUR, 3.0, Flag.NOT_EVALUATED)
    late.late = True
    view = store.put([reading(START, 1.0), old, wrong, late])
    found = view.buckets("tern", "cabin", START, START + 10 * DAY, 800).buckets
    assert [(b.start_ms, b.mean) for b in found] == [(START, 1.0), (START + 3 * HOUR, 3.0)]


def test_no_other_sensor_and_no_other_vessel_is_in_it(store: Store) -> None:
    view = store.put([reading(START, 1.0), reading(START, 2.0, sensor="forepeak"), reading(START, 3.0, vessel="ruff")])
    means = [
        [b.mean for b in view.buckets(vessel, sensor, START, START + 10 * DAY, 800).buckets]
        for vessel, sensor in (("tern", "cabin"), ("tern", "forepeak"), ("ruff", "cabin"), ("ruff", "forepeak"))
    ]
    assert means == [[1.0], [2.0], [3.0], []]


def test_extreme_and_tiny_values_come_back_to_fifteen_digits(store: Store) -> None:
    values = [0.1 + 0.2, -273.15, 1e-9, 123456.789, 0.0]
    view = store.put([reading(START + n * HOUR, value) for n, value in enumerate(values)])
    found = view.buckets("tern", "cabin", START, START + 10 * DAY, 800).buckets
    assert [b.low for b in found] == pytest.approx(values, rel=1e-14, abs=0)  # VictoriaMetrics keeps no more
