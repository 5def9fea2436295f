"""A start after a winter of forms: each job and each proof has made a version of a record, and there are thousands."""

import gc
from collections.abc import Iterator
from pathlib import Path

import pytest
from boats import LAID_UP_MS, MINUTE, boat

from monitor.fleet import Fleet, Save
from monitor.judging import Judging
from monitor.model.inputs import Input, RecordVersion
from monitor.store.journal import Journal

VERSIONS = 700


@pytest.fixture
def journal(tmp_path: Path) -> Iterator[Journal]:
    """A journal in which one boat's record has many versions, with her watch saved before the last of them."""
    made = Journal(tmp_path / "journal.db")
    fleet = Fleet(made)
    for number in range(VERSIONS):
        version = boat().model_copy(update={"engineer": f"Engineer {number}"})
        fleet.command(RecordVersion(version, LAID_UP_MS + number * MINUTE, "test"))
        if number == VERSIONS - 3:
            made.append(fleet.hand_over(Save.EVERYTHING))
    made.append(fleet.hand_over())
    yield made
    made.close()


def test_only_the_version_that_a_watch_was_saved_under_is_read_beside_those_after_it(
    journal: Journal, monkeypatch: pytest.MonkeyPatch
) -> None:
    read: list[int] = []
    record_at = journal.record_at
    monkeypatch.setattr(journal, "record_at", lambda seq: (read.append(seq), record_at(seq))[1])
    fleet = Fleet(journal)
    fleet.restore(journal)
    assert len(read) == 1
    assert fleet.watches["tern"].record.engineer == f"Engineer {VERSIONS - 1}"
    assert fleet.watches["tern"].state.now_ms == LAID_UP_MS


def test_what_versions_leave_behind_is_cleared_away_while_they_are_folded_again(
    journal: Journal, monkeypatch: pytest.MonkeyPatch
) -> None:
    most, inputs_since = 0, journal.inputs_since

    def counted(seq: int) -> Iterator[tuple[int, Input]]:
        nonlocal most
        for place, item in enumerate(inputs_since(seq)):
            if place % 50 == 0:
                most = max(most, sum(isinstance(thing, Judging) for thing in gc.get_objects()))
            yield item

    monkeypatch.setattr(journal, "inputs_since", counted)
    monkeypatch.setattr(journal, "snapshots", dict)  # as where none can be read any more
    gc.collect()
    fleet = Fleet(journal)
    fleet.restore(journal)
    assert fleet.watches["tern"].record.engineer == f"Engineer {VERSIONS - 1}"
    assert 0 < most < VERSIONS / 2
