"""Whoever has never looked is shown a day, and what is older is not gone through for it."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from watched import WatchedYard
from yards import HOUR_MS, record

from monitor.model.happened import Happened
from monitor.web.clock import YardClock
from monitor.web.deps import Deps
from monitor.web.sight import Viewer
from monitor.web.since_box import since_box

DAY_MS = 24 * HOUR_MS


@pytest.fixture
def yard(tmp_path: Path) -> Iterator[WatchedYard]:
    made = WatchedYard(tmp_path / "journal.db")
    made.watch(record("amber-lark", "Amber Lark", "B1"))
    made.passes(40.0)
    made.watch(record("barley-moon", "Barley Moon", "B2"))
    made.passes(2.0)
    yield made
    made.close()


def test_a_first_look_reads_from_the_last_clock_of_the_day_before(
    yard: WatchedYard, cache_dir: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[int] = []
    happened = yard.view.happened

    def noted(after_seq: int, vessels: frozenset[str] | None, limit: int) -> Happened:
        asked.append(after_seq)
        return happened(after_seq, vessels, limit)

    monkeypatch.setattr(yard.view, "happened", noted)
    deps: Deps = yard.deps(cache_dir, happened=yard.view)
    clock = YardClock(deps.zone, deps.now_ms())
    request = type("Request", (), {"cookies": {}})()
    since = since_box(request, deps, Viewer(), clock)
    first, second = (seq for seq, _, _ in yard.journal.record_seqs())
    assert [first < seq < second for seq in asked] == [True]
    assert "Barley Moon" in {item.about for item in since.items}
    assert "Amber Lark" not in {item.about for item in since.items}


def test_before_the_first_clock_all_is_read(yard: WatchedYard) -> None:
    assert yard.view.seq_before(0) == 0
