"""Lines and charts that are kept say the same as fresh ones, whatever changes."""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from proved import unproved
from yards import HOUR_MS, NOW_MS, ZONE, Yard, frost, reading, record, small_yard

from monitor.messages.words import put_into_words, title_of
from monitor.model.scale import Priority
from monitor.model.vessel import Mode
from monitor.web.clock import YardClock
from monitor.web.lines import line_for
from monitor.web.lines_kept import KeptLines
from monitor.web.panels_kept import KEPT_MS, KeptPanels

CLOCK = YardClock(ZONE, NOW_MS)


@pytest.fixture
def boats(tmp_path: Path) -> Iterator[Yard]:
    made = small_yard(tmp_path / "journal.db")
    yield made
    made.close()


def held(kept: KeptLines, yard: Yard, clock: YardClock, *, deaf: bool = False) -> None:
    """Hold every kept line against one that is made afresh."""
    for now in yard.view.vessels_now():
        assert kept.line_for(now, clock, deaf=deaf) == line_for(now, clock, deaf=deaf)


def test_a_line_is_kept_while_nothing_of_hers_has_changed(boats: Yard) -> None:
    kept = KeptLines()
    first = [kept.line_for(now, CLOCK, deaf=False) for now in boats.view.vessels_now()]
    boats.hear([reading("fern-island", "cabin", NOW_MS, 4.0)])
    again = [kept.line_for(now, CLOCK, deaf=False) for now in boats.view.vessels_now()]
    assert [one.vessel.id for one, two in zip(first, again, strict=True) if one is not two] == ["fern-island"]


def test_a_kept_line_says_what_a_fresh_one_would_whatever_changes(boats: Yard) -> None:
    kept = KeptLines()
    held(kept, boats, CLOCK)
    held(kept, boats, CLOCK, deaf=True)
    alert = boats.open_alert("fern-island", frost(Priority.ALARM))
    held(kept, boats, CLOCK)
    boats.clear(alert)
    held(kept, boats, CLOCK)
    for hours in (1, 2, 5, 6, 13, 14, 30, 24 * 8):
        held(kept, boats, YardClock(ZONE, NOW_MS + hours * HOUR_MS))
    held(kept, boats, CLOCK)
    held(kept, boats, YardClock(ZoneInfo("Asia/Kathmandu"), NOW_MS))


def test_a_kept_line_says_at_once_that_her_sensors_are_proved_or_no_more(boats: Yard) -> None:
    kept = KeptLines()
    whole = record("fern-island", "Fern Island", "B5")
    for made, says in (
        (unproved(whole), "Not watched yet: nobody has proved her sensors"),
        (whole, "Nothing needs doing"),
    ):
        boats.lay_up(made, at_ms=NOW_MS)
        (now,) = boats.view.vessels_now({"fern-island"})
        assert kept.line_for(now, CLOCK, deaf=False).sentence.startswith(says)
        held(kept, boats, CLOCK)


def test_a_boat_left_on_the_move_is_not_called_quiet_without_saying_so(boats: Yard) -> None:
    whole = record("fern-island", "Fern Island", "B5")
    boats.lay_up(whole.model_copy(update={"mode": Mode.MOVING}), at_ms=NOW_MS)
    (now,) = boats.view.vessels_now({"fern-island"})
    said = KeptLines().line_for(now, CLOCK, deaf=False).sentence
    assert said.endswith("; by her record moving, so not all is watched")


def test_a_title_alone_is_that_of_all_the_words(boats: Yard) -> None:
    for now in boats.view.vessels_now():
        about = now.stored.vessel, ZONE, NOW_MS
        for finding in [*now.not_known, *(alert.finding for alert in now.alerts)]:
            assert title_of(finding, *about) == put_into_words(finding, *about).title


def test_time_alone_makes_a_quiet_boat_one_that_is_not_heard(boats: Yard) -> None:
    kept = KeptLines()
    (now,) = boats.view.vessels_now({"fern-island"})
    assert now.heard_ms is not None
    last = YardClock(ZONE, now.heard_ms + 13 * HOUR_MS)
    assert "Nothing needs doing" in kept.line_for(now, last, deaf=False).sentence
    after = kept.line_for(now, replace(last, now_ms=last.now_ms + 1), deaf=False)
    assert after.sentence.startswith("Not heard since")


def test_charts_are_reckoned_again_once_she_has_changed_or_seconds_have_gone_by(boats: Yard) -> None:
    kept, made = KeptPanels(), 0

    def panels(clock: YardClock = CLOCK, span: str = "2d") -> int:
        def make() -> list[object]:
            nonlocal made
            made += 1
            return []

        kept.panels("fern-island", span, clock, boats.changes, make)  # type: ignore[arg-type]
        return made

    assert [panels(), panels()] == [1, 1]
    assert panels(span="winter") == 2
    boats.hear([reading("fern-island", "cabin", NOW_MS, 4.0)])
    assert [panels(), panels()] == [3, 3]
    assert panels(YardClock(ZONE, NOW_MS + KEPT_MS)) == 4
    boats.hear([reading("amber-lark", "cabin", NOW_MS, 4.0)])
    assert panels(YardClock(ZONE, NOW_MS + KEPT_MS)) == 4
