"""A watch's state comes back from its snapshot whole; a rule of another version is folded again from the lay-up on."""

import json
from pathlib import Path

import pytest
from boats import HOUR, LAID_UP_MS, boat
from pytest_mock import MockerFixture
from test_fleet import feed, week

from monitor.fleet import Fleet, Save
from monitor.model.alert import AlertChange
from monitor.model.inputs import Clock, RecordVersion, TakeOut
from monitor.model.reading import Reading
from monitor.rules.book import RULES
from monitor.rules.frost import Frost
from monitor.snapshot import SnapshotError, read_snapshot, write_snapshot
from monitor.store.journal import Journal
from monitor.watch import Watch
from monitor.watch_state import Stumble


def filled(path: Path, until: int) -> tuple[Fleet, Journal]:
    journal = Journal(path)
    fleet = Fleet(journal)
    fleet.command(RecordVersion(boat(), LAID_UP_MS, "test"))
    for item in week(3)[:until]:
        feed(fleet, item)
    journal.append(fleet.hand_over(Save.EVERYTHING))
    return fleet, journal


def test_a_state_comes_back_equal(tmp_path: Path) -> None:
    fleet, _ = filled(tmp_path / "journal.sqlite", 200)
    watch = fleet.watches["tern"]
    again = Watch(boat(), LAID_UP_MS)
    assert read_snapshot(again, write_snapshot(watch)) == ()
    assert again.state == watch.state
    assert write_snapshot(again) == write_snapshot(watch)


@pytest.mark.parametrize("text", ["", "{}", '{"form": 99}', '{"form": 1, "quality": 1, "rules": {}, "state": {}}'])
def test_a_snapshot_that_cannot_be_used_says_so(text: str) -> None:
    with pytest.raises(SnapshotError):
        read_snapshot(Watch(boat(), LAID_UP_MS), text)


def test_a_rule_of_another_version_is_named(tmp_path: Path, mocker: MockerFixture) -> None:
    fleet, _ = filled(tmp_path / "journal.sqlite", 200)
    text = write_snapshot(fleet.watches["tern"])
    mocker.patch.object(Frost, "version", 99)
    again = Watch(boat(), LAID_UP_MS)
    assert read_snapshot(again, text) == (Frost,)
    assert again.state.rules["frost"] == Frost.state_type()


def test_a_rule_of_another_version_is_folded_again_and_its_open_alert_stays(
    tmp_path: Path, mocker: MockerFixture
) -> None:
    # 150 items: the frost of hours 60 to 80 has opened its alert.
    fleet, journal = filled(tmp_path / "journal.sqlite", 150)
    (before,) = [a for a in fleet.watches["tern"].open_alerts() if a.rule == "frost"]
    mocker.patch.object(Frost, "version", 99)
    again = Fleet(journal)
    again.restore(journal)
    assert again.folded_again == ["tern: rules of another version, or that had failed: frost"]
    assert again.watches["tern"].state.rules["frost"] == fleet.watches["tern"].state.rules["frost"]
    for item in week(3)[150:]:
        feed(again, item)
    changes = [e for _, _, e in again.hand_over().events if e.alert == before.id]
    assert changes  # the same alert goes on to its end, and no second one was opened beside it
    frosts = [a for a in again.watches["tern"].open_alerts() if a.rule == "frost"]
    assert [a.id for a in frosts] in ([before.id], [])


def test_a_spoilt_snapshot_is_folded_again_from_the_lay_up_on(tmp_path: Path) -> None:
    fleet, journal = filled(tmp_path / "journal.sqlite", 200)
    journal._db.execute("UPDATE snapshot SET body = ?", (json.dumps({"form": 0, "quality": 0}),))
    again = Fleet(journal)
    again.restore(journal)
    assert len(again.folded_again) == 1
    assert again.watches["tern"].state.rules == fleet.watches["tern"].state.rules
    # Whatever folding again would have called them: the alerts are those that people were told of.
    told = sorted(again.watches["tern"].open_alerts(), key=lambda alert: alert.id)
    assert told == sorted(journal.open_alerts("tern"), key=lambda alert: alert.id)


def test_an_alert_of_a_rule_that_the_program_no_longer_has_is_ended(tmp_path: Path, mocker: MockerFixture) -> None:
    fleet, journal = filled(tmp_path / "journal.sqlite", 150)
    assert "frost" in {a.rule for a in fleet.watches["tern"].open_alerts()}
    rest = tuple(rule for rule in RULES if rule is not Frost)
    mocker.patch.object(Watch.__init__, "__defaults__", (rest,))
    again = Fleet(journal)
    again.restore(journal)
    again.clock((again.clock_ms or 0) + HOUR)
    changes = [e.change for _, _, e in again.hand_over().events if e.alert]
    assert changes == [AlertChange.LATCHED]  # it had frozen: somebody has still to go aboard


def test_a_rule_that_had_failed_is_folded_again_at_a_start(tmp_path: Path) -> None:
    fleet, journal = filled(tmp_path / "journal.sqlite", 100)
    fleet.watches["tern"].state.stumbles["frost"] = Stumble(fleet.clock_ms or 0, "ValueError: invented")
    fleet.deaf(0, 1)
    journal.append(fleet.hand_over(Save.EVERYTHING))
    again = Fleet(journal)
    again.restore(journal)
    assert again.watches["tern"].state.stumbles == {}
    assert len(again.folded_again) == 1


def _float_up(at_ms: int) -> Reading:
    return Reading("tern", "bilge-float", at_ms, at_ms, at_ms, 1.0)


@pytest.mark.parametrize("lacks", [True, False])
def test_known_water_that_an_older_program_put_aside_does_not_ring_after_the_upgrade(lacks: bool) -> None:
    watch = Watch(boat(), LAID_UP_MS)
    watch.fold(_float_up(LAID_UP_MS + HOUR))
    (alert,) = [a for a in watch.open_alerts() if a.rule == "bilge"]
    watch.fold(TakeOut("tern", alert.id, LAID_UP_MS + HOUR, "R. Invented", "float sticks"))
    document = json.loads(write_snapshot(watch))
    if lacks:
        del document["state"]["tracks"]["bilge"]["bilge"]["known_water"]
    again = Watch(boat(), LAID_UP_MS)
    assert read_snapshot(again, json.dumps(document)) == ()
    assert again.state == watch.state
    events = again.fold(_float_up(LAID_UP_MS + 2 * HOUR)).events
    assert events == again.fold(Clock(LAID_UP_MS + 3 * HOUR)).events == []
