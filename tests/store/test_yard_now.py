"""The yard as readers see it is followed and not read anew: what has not changed is the same, what has is seen."""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from monitor.model.alert import Alert, AlertChange, AlertEvent, alert_id
from monitor.model.batch import Batch
from monitor.model.call import Call, CallKind
from monitor.model.document import read_vessel
from monitor.model.finding import Figure, Finding
from monitor.model.inputs import RecordVersion
from monitor.model.reading import Reading
from monitor.model.scale import AlertState, Priority, Sure
from monitor.store.journal import Journal
from monitor.store.open_alerts import FETCHED_SINGLY
from monitor.store.view import JournalView

T0 = 1_386_547_200_000  # 9 December 2013, 00:00 UTC
RECORD = """
id = "{id}"
name = "{id}"
yard = "eiderhythe"
mode = "afloat laid up"
berth = "N7"
laid_up = 2013-10-31T16:00:00Z
engineer = "Odile Marrick"
[[sensors]]
id = "cabin"
quantity = "temperature"
place = "saloon"
interval_s = 600
supply = "own cell"
{owner}
"""
FINDING = Finding(
    "frost", "raw-water", "margin", Priority.WARNING, Figure(-1.0, -4.0, "degC"), None, Sure.LIKELY, (), (), ()
)


class Kept:
    """A journal and one view that looks at it again and again."""

    def __init__(self, path: Path) -> None:
        self.journal, self.view, self.seq = Journal(path), JournalView(path), 0

    def write(self, **parts: Any) -> None:
        self.journal.append(Batch(**parts, last_seq=self.seq))

    def next_seq(self) -> int:
        self.seq += 1
        return self.seq

    def record(self, vessel: str, email: str = "") -> None:
        owner = f'[owner]\nname = "Olga Invented"\nemail = "{email}"' if email else ""
        version = RecordVersion(read_vessel(RECORD.format(id=vessel, owner=owner), vessel), T0, "Odile")
        self.write(inputs=[(self.next_seq(), version)])

    def alert(self, vessel: str, subject: str, ended_ms: int | None = None) -> None:
        key = alert_id(vessel, "frost", subject, T0)
        state = AlertState.UNACKNOWLEDGED if ended_ms is None else AlertState.NORMAL
        made = Alert(key, vessel, "frost", subject, state, Priority.WARNING, Priority.WARNING, T0, FINDING)
        made.ended_ms = ended_ms
        event = AlertEvent(key, vessel, T0, AlertChange.OPENED, state, Priority.WARNING, "watch")
        self.write(events=[(self.next_seq(), 0, event)], alerts={key: made})

    def stand(self) -> dict[str, object]:
        return {now.stored.vessel.id: now for now in self.view.vessels_now()}

    def subjects(self, vessel: str) -> list[str]:
        (now,) = self.view.vessels_now({vessel})
        return [alert.subject for alert in now.alerts]


@pytest.fixture
def kept(tmp_path: Path) -> Iterator[Kept]:
    made = Kept(tmp_path / "journal.db")
    for vessel in ("wren", "tern", "gull"):
        made.record(vessel)
    yield made
    made.view.close()
    made.journal.close()


def changed(before: dict[str, object], after: dict[str, object]) -> list[str]:
    assert list(after) == sorted(after)
    return [vessel for vessel in after if after[vessel] is not before.get(vessel)]


def test_only_whoever_has_changed_is_made_again(kept: Kept) -> None:
    before = kept.stand()
    assert changed(before, kept.stand()) == []
    kept.write(readings=[(kept.next_seq(), Reading("tern", "cabin", T0, T0, T0, 4.0))])
    heard = kept.stand()
    assert changed(before, heard) == ["tern"]
    kept.alert("wren", "raw-water")
    alarmed = kept.stand()
    assert changed(heard, alarmed) == ["wren"]
    kept.write(not_known={"gull": [FINDING]})
    unknown = kept.stand()
    assert changed(alarmed, unknown) == ["gull"]
    kept.record("auk")
    kept.record("tern")
    assert changed(unknown, kept.stand()) == ["auk", "tern"]


def test_alerts_that_open_change_and_end_are_followed(kept: Kept) -> None:
    assert kept.subjects("wren") == []
    kept.alert("wren", "raw-water")
    kept.alert("wren", "heads")
    assert sorted(kept.subjects("wren")) == ["heads", "raw-water"]
    kept.alert("wren", "heads", ended_ms=T0 + 1)
    assert kept.subjects("wren") == ["raw-water"]
    kept.alert("wren", "raw-water", ended_ms=T0 + 1)
    assert kept.subjects("wren") == []


def test_many_alerts_at_once_are_read_as_few_are(kept: Kept) -> None:
    assert kept.subjects("wren") == []
    for number in range(FETCHED_SINGLY + 5):
        kept.alert("wren", f"system-{number}")
    assert len(kept.subjects("wren")) == FETCHED_SINGLY + 5
    fresh = JournalView(kept.journal.path)
    assert fresh.vessels_now() == kept.view.vessels_now()
    fresh.close()


def test_boats_that_change_hands_are_seen_by_their_new_owner_alone(kept: Kept) -> None:
    assert kept.view.owned_by("olga@example.org") == frozenset()
    kept.record("tern", "Olga@Example.org")
    kept.record("wren", "olga@example.org")
    assert kept.view.owned_by("OLGA@example.org") == {"tern", "wren"}
    kept.record("tern", "wilf@example.org")
    assert kept.view.owned_by("olga@example.org") == {"wren"}
    assert kept.view.owned_by("wilf@example.org") == {"tern"}
    kept.record("wren")
    assert kept.view.owned_by("olga@example.org") == frozenset()
    assert kept.view.owned_by("") == frozenset()


def test_a_call_is_the_same_until_anything_of_it_changes_also_without_an_input(kept: Kept) -> None:
    call = Call("c" * 16, CallKind.VESSEL, "tern", T0, Priority.WARNING, ("a",), ("tern",))
    kept.write(calls={call.id: call}, wall_ms=T0)
    (first,) = kept.view.calls(open_only=True)
    assert kept.view.calls(open_only=True)[0] is first
    kept.write(calls={call.id: replace(call, rung=2)}, wall_ms=T0)
    assert [found.rung for found in kept.view.calls(open_only=True)] == [2]
    kept.write(calls={call.id: replace(call, ended_ms=T0 + 1)}, wall_ms=T0)
    assert kept.view.calls(open_only=True) == []
    assert [found.ended_ms for found in kept.view.calls(open_only=False)] == [T0 + 1]
