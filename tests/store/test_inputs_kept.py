"""Every input of the fold that is no reading comes back from the journal as it was."""

from pathlib import Path

import pytest
from boats import HOUR, LAID_UP_MS, boat

from monitor.model.batch import Batch
from monitor.model.gate import GateAct, GateWord
from monitor.model.inputs import (
    Aboard,
    Accept,
    Acknowledge,
    BringBack,
    CalendarVersion,
    Clock,
    Confirm,
    Deaf,
    EndSuppression,
    ForecastVersion,
    HandOver,
    RecordVersion,
    Shelve,
    Suppress,
    TakeOut,
    VisitReport,
)
from monitor.model.surroundings import Forecast, YardCalendar
from monitor.model.visit import Found, HandReading, Read, VisitNote
from monitor.store.inputs import Other, kinds_missing
from monitor.store.journal import Journal

AT = LAID_UP_MS + HOUR
DIPPED = HandReading(Read.DIP, "bilge", 0.03, "bilge-level", 0.028, AT)
EVERY: tuple[Other, ...] = (
    RecordVersion(boat(), LAID_UP_MS, "R. Invented"),
    Clock(AT),
    Acknowledge("tern", "a1", AT, "Per", "I go", "n1"),
    Confirm("tern", "a1", AT, "Per", "dry as a bone", nothing_wrong=True),
    HandOver("tern", "a1", AT, "Per", "Anna", "you are nearer"),
    Accept("tern", "a1", AT, "Anna"),
    Shelve("tern", "a1", AT, "Per", "its float is fouled", AT + HOUR),
    TakeOut("tern", "a1", AT, "Carl", "sensor is on order"),
    BringBack("tern", "a1", AT, "Carl", "new sensor"),
    Suppress("tern", AT, "Per", Aboard.WASH_DOWN, AT + HOUR, "decks"),
    EndSuppression("tern", AT, "Per"),
    VisitReport("tern", AT, "Per", VisitNote(Found.AS_TOLD, ("bilge",), (DIPPED,), "wet", ("a1",), ())),
    GateWord("tern", AT, "Per", GateAct.SIGHT, "hull-bung", "hand on it"),
    GateWord("tern", AT, "Per", GateAct.DRY, from_ms=AT - HOUR),
    Deaf(LAID_UP_MS, AT),
    CalendarVersion(YardCalendar(zone="Europe/Oslo"), AT),
    ForecastVersion(Forecast.of(AT, [(AT, -3.0)]), AT),
)


@pytest.fixture
def journal(tmp_path: Path) -> Journal:
    return Journal(tmp_path / "journal.sqlite")


def test_no_kind_of_input_is_without_a_place() -> None:
    assert kinds_missing() == set()


def test_every_kind_comes_back_in_order_and_equal(journal: Journal) -> None:
    inputs = list(enumerate(EVERY, 1))
    journal.append(Batch(inputs=inputs, last_seq=len(EVERY)))
    assert list(journal.inputs_since(0)) == inputs
    assert list(journal.inputs_since(9)) == inputs[9:]
    journal.close()
