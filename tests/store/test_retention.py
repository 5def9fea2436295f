"""Raw readings go after so many days, in small steps; nothing else goes, and nothing that went comes back."""

import sqlite3
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from boats import DAY, HOUR, LAID_UP_MS, MINUTE
from kept_journal import EVERY_MS, SENSORS, Yard, settings_for

from monitor.agent import Agent
from monitor.cli import main
from monitor.fleet import Save
from monitor.model.views import Bucket
from monitor.settings import read_settings
from monitor.store.retention import AT_MOST_READINGS, Retention
from monitor.store.view import JournalView

DAYS, KEPT = 40, 30
END = LAID_UP_MS + DAYS * DAY
# It goes by the time of what was heard last, twenty readings of three sensors, and by whole hours.
HELD_FROM = LAID_UP_MS + (DAYS - KEPT) * DAY - 2 * HOUR


@pytest.fixture(scope="module")
def wintered(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    yard = Yard(tmp_path_factory.mktemp("whole") / "journal.sqlite")
    yard.hear(LAID_UP_MS, LAID_UP_MS + DAY, ("house-volts",))  # and then that one is silent
    yard.hear(LAID_UP_MS + DAY, END, tuple(s for s in SENSORS if s != "house-volts"))
    yard.close()
    return yard.path.read_bytes()


@pytest.fixture
def yard(tmp_path: Path, wintered: bytes) -> Iterator[Yard]:
    path = tmp_path / "journal.sqlite"
    path.write_bytes(wintered)
    opened = Yard(path)
    yield opened
    opened.close()


def drop(yard: Yard, now_ms: int = END, followers: tuple[str, ...] = ()) -> int:
    """Take steps until no more is to be done; give how many it took."""
    retention, steps = Retention(yard.journal, KEPT, followers), 1
    while retention.step(now_ms):
        steps += 1
        assert steps < 1000
    return steps


def asked(path: Path, query: str, *arguments: object) -> list[tuple[object, ...]]:
    db = sqlite3.connect(path)
    found = db.execute(query, arguments).fetchall()
    db.close()
    return found


def test_old_raw_readings_go_in_small_steps_and_all_else_stays(yard: Yard, tmp_path: Path) -> None:
    kept = ("hour", "input", "alert", "alert_event", "notice", "record", "snapshot", "not_known")
    before = [asked(yard.path, f"SELECT * FROM {table}") for table in kept]  # noqa: S608 - the names above
    (whole,) = asked(yard.path, "SELECT count(*) FROM reading")[0]
    steps = drop(yard)
    (left,) = asked(yard.path, "SELECT count(*) FROM reading WHERE event_ms >= ?", HELD_FROM)[0]
    old = asked(yard.path, "SELECT sensor FROM reading JOIN series ON id = series WHERE event_ms < ?", HELD_FROM)
    print(f"{whole} readings, {left} left, in {steps} steps")
    assert left == (KEPT * 144 + 12) * 3
    assert old == [("house-volts",)]  # the last that a sensor said stays, however old
    assert steps >= (int(str(whole)) - int(str(left))) // AT_MOST_READINGS
    assert [asked(yard.path, f"SELECT * FROM {table}") for table in kept] == before  # noqa: S608 - as above
    assert main(["check", "--all", "--settings", str(settings_for(tmp_path))]) == 0
    assert yard.journal.dropped.readings == int(str(whole)) - int(str(left)) - 1


def test_nothing_goes_that_a_start_or_a_follower_still_needs(yard: Yard) -> None:
    drop(yard, followers=("history",))  # it has sent nothing yet
    assert yard.journal.dropped.readings == 0
    yard.journal.move_cursor("history", 2_000)
    drop(yard, followers=("history",))
    assert yard.journal.dropped.seq == 2_000
    db = sqlite3.connect(yard.path)
    db.execute("UPDATE snapshot SET seq = 2500")
    db.commit()
    db.close()
    drop(yard)
    assert yard.journal.dropped.seq == 2_500


def test_a_clock_that_leaps_a_year_ahead_drops_nothing_while_sensors_state_another_time(yard: Yard) -> None:
    drop(yard)
    before = yard.journal.dropped
    yard.say("outside", END + HOUR, 4.0, END + 365 * DAY)
    yard.commit(Save.EVERYTHING)
    drop(yard, END + 365 * DAY)
    assert yard.journal.dropped.to_ms <= before.to_ms + 2 * HOUR


def test_without_the_setting_nothing_goes(yard: Yard) -> None:
    assert not Retention(yard.journal, None).step(END)
    assert yard.journal.dropped.readings == 0


def test_pages_and_figures_go_on_by_the_hours(yard: Yard) -> None:
    view = JournalView(yard.path)
    span = (LAID_UP_MS + 2 * DAY, LAID_UP_MS + 3 * DAY)
    newest, stored = view.newest("tern"), view.stored()
    fine = view.buckets("tern", "outside", *span, 800)
    drop(yard)
    for after in (view, JournalView(yard.path)):  # one that has followed, and one that begins now
        assert after.newest("tern") == newest
        assert after.stored() == stored
        rough = after.buckets("tern", "outside", *span, 800)
        assert (fine.step_ms, rough.step_ms) == (2 * MINUTE, HOUR)
        assert len(rough.buckets) == 24
        assert sum(b.count for b in rough.buckets) == sum(b.count for b in fine.buckets)
        assert extremes(rough.buckets) == extremes(fine.buckets)
        recent = after.buckets("tern", "outside", END - DAY, END, 800)
        assert recent.step_ms == 2 * MINUTE
        after.close()


def extremes(buckets: list[Bucket]) -> tuple[float, float]:
    return min(b.low for b in buckets if b.low is not None), max(b.high for b in buckets if b.high is not None)


def test_what_was_dropped_does_not_come_back_when_it_is_sent_again(yard: Yard) -> None:
    drop(yard)
    hours = asked(yard.path, "SELECT * FROM hour")
    readings = asked(yard.path, "SELECT * FROM reading")
    first, last = LAID_UP_MS + DAY, HELD_FROM - HOUR
    for at_ms in range(first, last, EVERY_MS):
        yard.say("outside", at_ms, 9.0, END)
        yard.say("bilge-float", at_ms, 1.0, END)  # water, which else is believed twice
    yard.commit()
    assert asked(yard.path, "SELECT * FROM hour") == hours
    assert asked(yard.path, "SELECT * FROM reading") == readings
    view = JournalView(yard.path)
    assert view.tally()["sent again after its time"] == 2 * ((last - first) // EVERY_MS)
    view.close()


def test_a_backlog_from_before_the_kept_days_is_taken_where_nothing_was_heard(yard: Yard) -> None:
    drop(yard)
    first = LAID_UP_MS + DAY
    for at_ms in range(first, first + DAY, EVERY_MS):  # of the sensor that had fallen silent, in order and
        yard.say("house-volts", at_ms, 12.5, END)
        yard.commit()  # committed one by one, so that each finds its own hour begun
    yard.say("house-volts", first + EVERY_MS // 2, 12.0, END)  # one between them, late
    yard.commit()
    query = (
        "SELECT sum(count), min(low) FROM hour JOIN series ON id = series WHERE sensor = 'house-volts' AND hour_ms > ?"
    )
    assert asked(yard.path, query, first - HOUR) == [(145, 12.0)]


def test_freed_room_goes_back_to_the_disk_a_little_at_a_time(yard: Yard) -> None:
    before = yard.path.stat().st_size
    yard.hear(END, END + 25 * DAY, ("outside",))
    steps = drop(yard, END + 25 * DAY)
    db = sqlite3.connect(yard.path)
    (free,), (pages,) = (db.execute(f"PRAGMA {name}").fetchone() for name in ("freelist_count", "page_count"))
    db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    db.close()
    print(f"{before} bytes before, {yard.path.stat().st_size} after {steps} steps, {free} of {pages} pages free")
    assert yard.path.stat().st_size < before
    assert free * 4 <= pages
    assert steps < 45  # 500 readings, or 200 pages, a step


def test_a_disk_that_fails_is_told_and_tried_again_later(yard: Yard, caplog: pytest.LogCaptureFixture) -> None:
    other = sqlite3.connect(yard.path, isolation_level=None)
    yard.journal._db.execute("PRAGMA busy_timeout=10")
    retention = Retention(yard.journal, KEPT)
    other.execute("BEGIN IMMEDIATE")
    assert not retention.step(END)
    assert retention.failing == "database is locked"
    assert caplog.messages == ["old readings cannot be dropped now (database is locked); it is tried again"]
    other.execute("COMMIT")
    other.close()
    assert not retention.step(END + MINUTE)  # not at once
    assert retention.step(END + 11 * MINUTE)
    assert retention.failing is None
    assert yard.journal.dropped.readings > 0


def test_the_agent_drops_them_while_it_runs(yard: Yard, tmp_path: Path) -> None:
    yard.close()
    held = asked(yard.path, "SELECT count(*) FROM reading WHERE arrived_ms >= ?", HELD_FROM)[0][0]
    settings = settings_for(tmp_path)
    text = settings.read_text()
    settings.write_text(text.replace("[journal]\n", f"[journal]\nkeep_raw_days = {KEPT}\n"))
    assert settings.read_text() != text
    agent = Agent(read_settings(settings))
    agent.start()
    until = time.monotonic() + 30
    left = None
    while time.monotonic() < until and (left is None or left > held + len(SENSORS)):
        time.sleep(0.1)
        ((left,),) = asked(yard.path, "SELECT count(*) FROM reading")
    agent.stop()
    assert held <= left <= held + len(SENSORS)  # each sensor's last word stays
