"""Readers know the forecast that came last, however many clocks stand between."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from monitor.model.batch import Batch
from monitor.model.inputs import Clock, ForecastVersion
from monitor.model.surroundings import Forecast
from monitor.store.journal import Journal
from monitor.store.view import JournalView


class Kept:
    """A journal that inputs are put into, and its view."""

    def __init__(self, path: Path) -> None:
        self.journal, self.view, self.seq = Journal(path), JournalView(path), 0

    def put(self, item: Clock | ForecastVersion) -> None:
        self.seq += 1
        self.journal.append(Batch(inputs=[(self.seq, item)], last_seq=self.seq))


@pytest.fixture
def kept(tmp_path: Path) -> Iterator[Kept]:
    made = Kept(tmp_path / "journal.db")
    yield made
    made.view.close()
    made.journal.close()


def foretold(came_ms: int) -> ForecastVersion:
    return ForecastVersion(Forecast.of(came_ms, [(came_ms, -1.0), (came_ms + 3_600_000, -2.0)]), came_ms)


def test_without_one_there_is_none(kept: Kept) -> None:
    assert kept.view.forecast() is None
    kept.put(Clock(1_000))
    assert kept.view.forecast() is None


def test_the_last_one_stands_until_the_next(kept: Kept) -> None:
    kept.put(foretold(1_000))
    kept.put(foretold(2_000))
    kept.put(Clock(3_000))
    assert kept.view.forecast() == foretold(2_000).forecast
    kept.put(Clock(4_000))
    assert kept.view.forecast() == foretold(2_000).forecast
    kept.put(foretold(5_000))
    assert kept.view.forecast() == foretold(5_000).forecast
