"""Telling that fails neither stops the watch nor leaves anybody untold."""

from collections.abc import Callable

import pytest
from pytest_mock import MockerFixture
from telling.yard_told import T0, Told

from monitor.model.alert import Alert, AlertChange
from monitor.model.batch import Batch
from monitor.model.notice import NoticeKind
from monitor.model.scale import Priority
from monitor.settings import Settings
from monitor.teller import Teller
from monitor.telling import Telling, owners
from monitor.telling.scene import Scene
from monitor.telling.state import OpenCall

OPENED = AlertChange.OPENED
PEOPLE = [
    {"id": "anna", "name": "Anna", "email": "anna@yard.example"},
    {"id": "ben", "name": "Ben", "email": "ben@yard.example"},
]
SETTINGS = Settings.model_validate(
    {
        "yard": {"id": "quay", "name": "Quay"},
        "people": PEOPLE,
        "mail": {"host": "127.0.0.1", "security": "none", "sender": "watch@yard.example"},
        "rota": {"usual": {"first": ["anna"], "second": ["ben"]}},
    }
)


def teller(kept: str | None = None, open_alerts: Callable[[], list[Alert]] = list) -> Teller:
    return Teller(SETTINGS, kept, open_alerts)


def batch_of(told: Told, at_min: float, change: AlertChange, priority: Priority) -> Batch:
    told.seq += 1
    return told.batch_of(at_min, change, "bilge/bilge", priority, "boat-1", None, "watch", water=True, state=None)


def test_an_error_in_telling_tells_duty_plainly_and_is_said(mocker: MockerFixture) -> None:
    told, made = Told(), teller()
    mocker.patch.object(Telling, "take", side_effect=KeyError("invented"))
    batch = batch_of(told, 0, OPENED, Priority.ALARM)
    made.take(batch, told.record)
    (notice,) = batch.notices
    assert (notice.person, notice.kind, notice.at_ms) == ("Anna", NoticeKind.NEW, T0)
    assert notice.alerts == (told.alerts["boat-1/bilge/bilge"].id,)
    assert "an error of ours" in notice.reason
    assert (batch.calls, batch.telling) == ({}, None)
    assert made.failing == "KeyError('invented')"


@pytest.mark.parametrize(
    ("change", "priority"),
    [(OPENED, Priority.CAUTION), (AlertChange.ACKNOWLEDGED, Priority.ALARM), (AlertChange.RETURNED, Priority.ALARM)],
)
def test_what_wants_nobody_is_told_to_nobody(change: AlertChange, priority: Priority, mocker: MockerFixture) -> None:
    told, made = Told(), teller()
    mocker.patch.object(Telling, "take", side_effect=KeyError("invented"))
    batch = batch_of(told, 0, change, priority)
    made.take(batch, told.record)
    assert batch.notices == []


def test_it_goes_on_from_where_it_last_stood(mocker: MockerFixture) -> None:
    told, made = Told(), teller()
    first = batch_of(told, 0, OPENED, Priority.ALARM)
    made.take(first, told.record)
    patched = mocker.patch.object(Telling, "take", side_effect=KeyError("invented"))
    made.take(Batch(), told.record)
    mocker.stop(patched)
    later = Batch()
    told.clock(16)
    later.inputs = told.fed[-1].inputs
    made.take(later, told.record)
    assert [(n.person, n.kind) for n in later.notices if not n.owner] == [("Ben", NoticeKind.ESCALATED)]


def test_what_was_kept_and_cannot_be_read_is_begun_anew_from_what_is_open() -> None:
    told = Told()
    told.event(0, OPENED, "bilge/bilge", Priority.ALARM, water=True)
    alert = told.alerts["boat-1/bilge/bilge"]
    made = teller('{"alerts": 7}', lambda: [alert])
    assert made.failing is not None
    batch = Batch()
    told.clock(30)
    batch.inputs = told.fed[-1].inputs
    made.take(batch, told.record)
    assert [(n.person, n.kind, n.at_ms) for n in batch.notices] == [("Anna", NoticeKind.NEW, T0 + 30 * 60_000)]


def test_an_alarm_of_a_batch_that_failed_climbs_all_the_same_and_one_that_ended_in_it_does_not(
    mocker: MockerFixture,
) -> None:
    told, made = Told(), teller()
    made.take(batch_of(told, 0, OPENED, Priority.ALARM), told.record)
    patched = mocker.patch.object(Telling, "take", side_effect=KeyError("invented"))
    ended = batch_of(told, 5, AlertChange.ENDED, Priority.ALARM)
    next(iter(ended.alerts.values())).ended_ms = T0 + 5 * 60_000
    made.take(ended, told.record)
    made.take(batch_of(told, 6, OPENED, Priority.ALARM), told.record)
    mocker.stop(patched)
    later = Batch(wall_ms=T0 + 30 * 60_000)
    made.take(Batch(wall_ms=T0 + 7 * 60_000), told.record)
    made.take(later, told.record)
    assert [(n.person, n.kind) for n in later.notices if not n.owner] == [("Ben", NoticeKind.ESCALATED)]


def test_an_error_while_resuming_stops_nothing(mocker: MockerFixture) -> None:
    told, made = Told(), teller()

    def broken() -> list[Alert]:
        raise OSError("invented")

    made._open_alerts = broken
    mocker.patch.object(Telling, "take", side_effect=KeyError("invented"))
    batch = batch_of(told, 0, OPENED, Priority.ALARM)
    made.take(batch, told.record)
    assert [n.person for n in batch.notices] == ["Anna"]


def test_one_call_that_fails_keeps_no_other_from_its_ladder(mocker: MockerFixture) -> None:
    told, made = Told(boats=2), teller()
    for boat in ("boat-1", "boat-2"):
        told.seq += 1
        batch = told.batch_of(0, OPENED, "battery/house", Priority.ALARM, boat, None, "watch", water=False, state=None)
        made.take(batch, told.record)
    owner_of = owners.due

    def fails(scene: Scene, call: OpenCall, now_ms: int) -> None:
        if call.about == "boat-2":
            raise KeyError("invented")
        owner_of(scene, call, now_ms)

    mocker.patch.object(owners, "due", fails)
    later = Batch(wall_ms=T0 + 40 * 60_000)
    made.take(later, told.record)
    assert {(n.person, n.vessel) for n in later.notices if n.kind is NoticeKind.ESCALATED} >= {("Ben", "boat-1")}
    assert ("Owner 1", "boat-1") in {(n.person, n.vessel) for n in later.notices}
    assert made.failing is not None
    assert "boat-2" in made.failing
