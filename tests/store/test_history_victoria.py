"""History in a real VictoriaMetrics: what was stored is read back, point by point, whoever is killed meanwhile."""

import itertools
import sqlite3
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from boats import DAY
from history_kept import Kept, until
from pytest_mock import MockerFixture
from victoria import Victoria

import monitor.store.history
from monitor.cli.heard import take
from monitor.fleet import Fleet
from monitor.model.inputs import RecordVersion
from monitor.model.parcel import ClockMessage
from monitor.model.scale import Flag
from monitor.store.history import CURSOR, History
from monitor.store.history_config import HistoryConfig
from monitor.store.history_view import history_view
from monitor.store.journal import Journal
from monitor.store.transaction import transaction
from monitor.store.view import JournalView
from simulator.winter import yard_winter

Stored = dict[tuple[str, str, str], list[tuple[int, float]]]
DAYS, CADENCE_S = 7, 600


@pytest.fixture(scope="module")
def week(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give the journal of the demo's first week, as the agent commits it."""
    path = tmp_path_factory.mktemp("week") / "journal.sqlite"
    journal = Journal(path)
    fleet = Fleet(journal)
    winter = yard_winter(CADENCE_S)
    for vessel in winter.vessels:
        fleet.command(RecordVersion(vessel, winter.plan.begins_ms, vessel.engineer))
    for count, message in enumerate(winter.stream()):
        if isinstance(message, ClockMessage) and message.at_ms > winter.plan.begins_ms + DAYS * DAY:
            break
        take(fleet, message)
        if count % 100 == 0:
            journal.append(fleet.hand_over())
    journal.append(fleet.hand_over())
    journal.close()
    return path


@pytest.fixture
def victoria(tmp_path: Path, require_program: Callable[[str], str]) -> Iterator[Victoria]:
    running = Victoria(require_program("victoria-metrics"), tmp_path / "victoria")
    running.start()
    yield running
    running.stop()


@pytest.fixture
def kept(week: Path, tmp_path: Path) -> Iterator[Kept]:
    """Give the week's journal, copied, with nothing of it sent."""
    source, path = sqlite3.connect(week), tmp_path / "journal.sqlite"
    copy = sqlite3.connect(path)
    source.backup(copy)
    source.close()
    copy.close()
    made = Kept(path)
    yield made
    made.close()


def stored(kept: Kept, condition: str, column: str = "value") -> Stored:
    """Give what the journal holds and history is to hold, by (yard, vessel, sensor)."""
    db = sqlite3.connect(f"file:{kept.path}?mode=ro", uri=True)
    rows = db.execute(
        f"SELECT vessel, sensor, stated_ms, {column} FROM reading JOIN series ON id = series"  # noqa: S608 - ours
        f" WHERE mark & 6 = 0 AND {condition} ORDER BY vessel, sensor, stated_ms"
    ).fetchall()
    db.close()
    return {
        ("quay", *key): [(at_ms, value) for _, _, at_ms, value in group]
        for key, group in itertools.groupby(rows, key=lambda row: (row[0], row[1]))
    }


def count(points: Stored) -> int:
    return sum(len(each) for each in points.values())


def send_all(kept: Kept, victoria: Victoria, run: Callable[[History], None] = lambda _: None) -> None:
    last = kept.journal.ends_at()[0]
    history = kept.history(HistoryConfig(url=victoria.url))
    history.start()
    run(history)
    until(lambda: history.taken_to >= last and history.complete, 100)
    history.stop()
    victoria.show()


def hold_equal(kept: Kept, victoria: Victoria, what: str) -> None:
    """Hold that every point that is stored has its value and its final flag there, once, and nothing else is."""
    wanted = {
        "value": stored(kept, f"flag < {int(Flag.FAIL)}"),
        "failed": stored(kept, f"flag = {int(Flag.FAIL)}"),
        "flag": stored(kept, f"flag <> {int(Flag.NOT_EVALUATED)}", "flag"),
    }
    found = {field: victoria.points(field) for field in wanted}
    missing = {field: count(wanted[field]) - count(found[field]) for field in wanted}
    print(
        f"{what}: stored {count(wanted['value']) + count(wanted['failed'])}, read back"
        f" {count(found['value']) + count(found['failed'])}, flags {count(found['flag'])}, missing {missing}"
    )
    assert found == wanted


@pytest.mark.slow
class TestHistoryInVictoria:
    def test_every_point_of_a_demo_week_is_read_back_as_it_is_stored(self, kept: Kept, victoria: Victoria) -> None:
        begun = time.monotonic()
        send_all(kept, victoria)
        print(f"sent in {time.monotonic() - begun:.1f} s")
        hold_equal(kept, victoria, "undisturbed")
        assert count(victoria.points("value")) > 50_000

    def test_nothing_is_lost_where_the_server_is_killed_and_started_again_midway(
        self, kept: Kept, victoria: Victoria
    ) -> None:
        def kill_twice(history: History) -> None:
            for part in (20_000, 45_000):
                until(lambda part=part: history.taken_to >= part, 60)  # type: ignore[misc] # mypy and a default
                victoria.kill()
                until(lambda: history.failing is not None)
                victoria.start()

        send_all(kept, victoria, kill_twice)
        hold_equal(kept, victoria, "server killed twice")

    def test_nothing_is_lost_where_the_server_is_killed_just_after_all_was_sent(
        self, kept: Kept, victoria: Victoria, mocker: MockerFixture
    ) -> None:
        # It has on disk what is five seconds old; the product waits longer.
        mocker.patch.object(monitor.store.history, "OVERLAP_S", 8.0)
        last = kept.journal.ends_at()[0]
        history = kept.history(HistoryConfig(url=victoria.url))
        history.start()
        until(lambda: history.taken_to >= last, 100)
        victoria.kill()
        victoria.start()
        victoria.show()
        left = count(victoria.points("flag"))
        print(f"killed as all was taken: of {count(stored(kept, 'flag <> 2'))} flags it had kept {left}")
        until(lambda: cursor(kept) == last, 100)
        history.stop()
        victoria.show()
        hold_equal(kept, victoria, "server killed at the end")

    def test_nothing_is_lost_where_the_sender_stops_and_starts_midway(self, kept: Kept, victoria: Victoria) -> None:
        config, last, starts = HistoryConfig(url=victoria.url), kept.journal.ends_at()[0], 0
        reached = 0
        while reached < last:
            starts += 1
            history = kept.history(config)
            history.start()
            until(lambda h=history, r=reached: h.taken_to > min(r + 15_000, last - 1), 60)  # type: ignore[misc]
            reached = history.taken_to
            history.stop()
            kept.journal.move_cursor(CURSOR, max(reached - 2_000, cursor(kept)))
        victoria.show()
        assert starts > 3
        hold_equal(kept, victoria, f"sender started {starts} times")

    def test_readings_that_come_while_it_is_sent_arrive_with_the_flag_that_settles(
        self, week: Path, kept: Kept, victoria: Victoria
    ) -> None:
        """The journal grows as the agent's does, and history follows it reading by reading."""
        kept.journal._db.execute("DELETE FROM reading")
        source = sqlite3.connect(f"file:{week}?mode=ro", uri=True)
        columns = "series, stated_ms, seq, event_ms, arrived_ms, value, flag, mark"
        rows = source.execute(f"SELECT {columns} FROM reading WHERE seq <= 3000 ORDER BY seq").fetchall()  # noqa: S608 - ours
        source.close()
        history = kept.history(HistoryConfig(url=victoria.url))
        history.start()
        waiting: dict[int, tuple[int, int]] = {}
        for row in rows:
            series, stated_ms, flag, mark = row[0], row[1], row[6], row[7]
            with transaction(kept.journal._db):
                if series in waiting and flag < Flag.FAIL and mark == 0:
                    settled_ms, settled = waiting.pop(series)
                    kept.journal._db.execute(
                        "UPDATE reading SET flag = ? WHERE series = ? AND stated_ms = ?", (settled, series, settled_ms)
                    )
                if stated_ms // 1000 % 7 == 0 and flag < Flag.FAIL and mark == 0:
                    waiting[series] = (stated_ms, flag)
                    flag = Flag.NOT_EVALUATED
                stored_row = (*row[:6], int(flag), mark)
                kept.journal._db.execute(f"INSERT INTO reading ({columns}) VALUES ({'?, ' * 7}?)", stored_row)  # noqa: S608
            history.wake()
        until(lambda: history.taken_to >= rows[-1][2], 60)
        history.stop()
        victoria.show()
        hold_equal(kept, victoria, "sent as it came")

    def test_charts_of_the_week_are_the_journals_own(self, kept: Kept, victoria: Victoria) -> None:
        send_all(kept, victoria)
        journal = JournalView(kept.path)
        config = HistoryConfig(url=victoria.url, read="prometheus")
        view = history_view(config, "quay", journal, kept.path, lambda: True)
        assert view is not None
        compared = 0
        for _, vessel, sensor in stored(kept, "true"):
            span = (yard_winter(CADENCE_S).plan.begins_ms, yard_winter(CADENCE_S).plan.begins_ms + DAYS * DAY, 800)
            mine, theirs = journal.buckets(vessel, sensor, *span), view.buckets(vessel, sensor, *span)
            assert mine.step_ms == theirs.step_ms
            for one, other in zip(mine.buckets, theirs.buckets, strict=True):
                assert (one.start_ms, one.low, one.high, one.count, one.worst) == (
                    other.start_ms,
                    other.low,
                    other.high,
                    other.count,
                    other.worst,
                )
                assert other.mean == (None if one.mean is None else pytest.approx(one.mean, rel=1e-9, abs=1e-9))
                compared += 1
        print(f"{compared} hours compared")
        assert compared > 5_000
        assert view.failing is None
        # Away: the journal answers, and says so; and nobody waits for it twice.
        victoria.kill()
        assert view.buckets(vessel, sensor, *span) == mine
        begun = time.monotonic()
        assert view.buckets(vessel, sensor, *span) == mine
        assert time.monotonic() - begun < 1
        assert "come from the journal" in next(view.delays())
        view.close()
        journal.close()


def cursor(kept: Kept) -> int:
    row = kept.journal._db.execute("SELECT seq FROM cursor WHERE name = ?", (CURSOR,)).fetchone()
    return 0 if row is None else int(row[0])
