"""The spring list, who closes what, and the minutes in the slings."""

from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from boats import DAY, HOUR, LAID_UP, LAID_UP_MS, MINUTE, boat

from monitor.fleet import CommandError, Fleet, NothingStored
from monitor.model.alert import Alert
from monitor.model.finding import Figure, Finding
from monitor.model.gate import SLINGS_DRY, GateAct, GateWord
from monitor.model.inputs import RecordVersion
from monitor.model.scale import AlertState, Priority, Sure
from monitor.model.vessel import Vessel
from monitor.model.views import StoredRecord
from monitor.record.gate import Gate, Winter, gate_of
from monitor.record.gate_dry import Dry, Point
from monitor.record.gate_item import Stage
from monitor.record.gate_says import CAUTIONS, slings_words, standing, verdict
from monitor.record.standing import standing_items
from monitor.store.journal import Journal
from monitor.store.view import JournalView

SPRING = LAID_UP_MS + 150 * DAY
TAGS = [
    {"tag": 1, "what": "Logbook is ashore", "due": "before lift"},
    {"tag": 2, "what": "Paddle wheel log is out", "due": "after launch"},
    {"tag": 3, "what": "Blanking plate off", "due": "before lift", "opens_hull": True},
    {"tag": 4, "what": "Rudder lashed", "due": "in the slings", "closed": date(2014, 3, 1), "closed_by": "Per"},
]


def word(act: GateAct, item: str = "", actor: str = "Per", at_ms: int = SPRING, **more: Any) -> GateWord:
    return GateWord("tern", at_ms, actor, act, item, **more)


def alert(rule: str, subject: str, kind: str, *, ended: bool = False, **facts: Any) -> Alert:
    finding = Finding(
        rule, subject, kind, Priority.WARNING, Figure(1.0, 2.0, "degC"), None, Sure.LIKELY, (), (), (), facts=facts
    )
    made = Alert(f"{rule}-{subject}", "tern", rule, subject, AlertState.UNACKNOWLEDGED, Priority.WARNING,
                 Priority.WARNING, LAID_UP_MS + DAY, finding)  # fmt: skip
    return replace(made, ended_ms=LAID_UP_MS + 2 * DAY) if ended else made


def gate(*words: GateWord, records: list[Vessel] | None = None, **winter: Any) -> Gate:
    """The gate of boats whose record went through these versions, a week apart, the last one valid."""
    versions = [
        StoredRecord(record, number, LAID_UP_MS + number * 7 * DAY, "R. Invented")
        for number, record in enumerate(records or [boat()])
    ]
    known: dict[str, Any] = {"alerts": (), "lowest_degc": {}, "bilges": {}, "now_ms": SPRING + HOUR}
    return gate_of(Winter(versions=versions[::-1], words=words, zone=ZoneInfo("UTC"), **known | winter))


def ids(found: Gate, stage: Stage) -> list[str]:
    return [item.id for item in found.of(stage)]


def test_the_list_comes_in_the_order_of_the_day_and_takes_tags_to_their_stage() -> None:
    found = gate(records=[boat(open_items=TAGS)])
    assert [item.stage for item in found.items] == sorted(item.stage for item in found.items)
    assert {"hull-tag-2", "hull-tag-3", "tag-1", "anodes"} == set(ids(found, Stage.LIFT))
    assert set(ids(found, Stage.SLINGS)) == {"tag-4", SLINGS_DRY}
    tag = found.item("tag-4")
    assert tag is not None
    assert tag.is_closed
    assert standing(tag, str) == "Done by Per (on 2014-03-01)"
    assert {"impeller", "levels", "exhaust"} <= set(ids(found, Stage.FIRST_START))
    assert "zero-bilge" in ids(found, Stage.NEXT_DAY)
    assert verdict(found) == "Not ready: 4 things are due before lift"


def test_all_that_stands_by_the_record_is_on_the_list() -> None:
    systems = [
        {"id": "heads", "name": "Heads", "kind": "heads", "state": "wet"},
        {"id": "tank", "name": "Tank", "kind": "fresh water", "state": "not proven"},
        {"id": "raw", "name": "Raw water", "kind": "raw water", "state": "drained",
         "drains": [{"name": "block", "probed": True}]},
    ]  # fmt: skip
    seacocks = [{"id": "sink", "name": "Sink", "open": True, "reason": "drains the cockpit"}]
    record = boat(mode="ashore bung out", liquid_systems=systems, seacocks=seacocks, open_items=TAGS)
    found = {item.id for item in gate(records=[record]).items}
    wanted = {"hull-bung", "hull-seacock-sink", "system-heads-wet", "system-tank-unproven", "system-raw-drained"}
    assert wanted <= found
    tags = {"tag-1", "hull-tag-2", "hull-tag-3"}
    assert tags <= found
    assert len(wanted | tags) == len(standing_items(record))


def test_a_system_that_was_ever_below_its_protection_is_inspected() -> None:
    assert gate(lowest_degc={"engine-space": -19.9}).item("froze-closed-cooling") is None
    by_reading = gate(lowest_degc={"engine-space": -20.4}).item("froze-closed-cooling")
    assert by_reading is not None
    assert (by_reading.stage, by_reading.why) == (
        Stage.LIFT,
        "Lowest -20.4 °C by its thermometer; protected to -20.0 °C",
    )
    thawed = alert("frost", "closed-cooling", "thaw", ended=True)
    by_alert = gate(alerts=[thawed]).item("froze-closed-cooling")
    assert by_alert is not None
    assert by_alert.alert == thawed.id
    assert gate(alerts=[alert("frost", "closed-cooling", "margin", frozen=False)]).item("froze-closed-cooling") is None


def test_batteries_that_may_have_frozen_and_water_that_nobody_explained_hold_her_up() -> None:
    water, dry = alert("bilge", "bilge", "high"), alert("bilge", "bilge", "high", ended=True)
    found = gate(alerts=[alert("battery", "house", "low", ended=True, maybe_frozen=True), water])
    assert {"battery-house", f"bilge-{water.id}"} <= {item.id for item in found.due_before_lift}
    assert not [item for item in gate(alerts=[dry]).items if item.id.startswith("bilge-")]


def test_dates_that_are_past_are_on_the_list() -> None:
    kit = [
        {"id": "raft", "name": "Liferaft", "due": date(2014, 3, 1)},
        {"id": "flares", "name": "Flares", "due": date(2019, 1, 1)},
    ]
    cooling = boat().liquid_systems[0].model_dump() | {"changed": date(2011, 5, 1), "inhibitor": "inorganic"}
    found = gate(records=[boat(safety_kit=kit, liquid_systems=[cooling])])
    assert "kit-raft" in ids(found, Stage.NEXT_DAY)
    assert found.item("kit-flares") is None
    assert "system-closed-cooling-coolant" in ids(found, Stage.FIRST_START)


def test_an_item_is_done_opened_again_and_overridden_with_a_name() -> None:
    done = gate(word(GateAct.DONE, "anodes", note="both new"))
    assert verdict(done) == "Ready to lift: nothing that was found stands open"
    item = gate(word(GateAct.DONE, "anodes"), word(GateAct.REOPEN, "anodes", "Anna")).item("anodes")
    assert item is not None
    assert item.stands_open
    assert [act for act, _ in item.history] == ["done", "reopen"]
    over = gate(word(GateAct.OVERRIDE, "anodes", note="ordered"))
    assert over.is_ready
    assert verdict(over) == "Ready to lift: nothing that was found stands open, and 1 was overridden"
    assert not gate(word(GateAct.DONE, "anodes", at_ms=LAID_UP_MS - DAY)).is_ready  # last spring's


def test_an_opening_is_closed_by_two_different_people_and_by_nothing_else() -> None:
    out = [boat(mode="ashore bung out")]
    first = word(GateAct.SIGHT, "hull-bung", "Per")
    for said in (
        [first],
        [first, word(GateAct.SIGHT, "hull-bung", " per ")],
        [first, word(GateAct.DONE, "hull-bung", "Anna")],
        [word(GateAct.OVERRIDE, "hull-bung", "Carl", note="I know it is in")],
        [first, word(GateAct.SIGHT, "hull-bung", "Anna"), word(GateAct.REOPEN, "hull-bung", "Carl")],
    ):
        assert "hull-bung" in [item.id for item in gate(*said, records=out).due_before_lift]
    both = gate(first, word(GateAct.SIGHT, "hull-bung", "Anna"), records=out)
    assert [item.id for item in both.due_before_lift] == ["anodes"]


def test_a_record_that_is_put_right_closes_no_opening_and_one_opened_again_is_sighted_anew() -> None:
    out, bung_in = boat(mode="ashore bung out"), boat()
    assert "hull-bung" in ids(gate(records=[out, bung_in]), Stage.LIFT)
    moved = boat(laid_up=LAID_UP + timedelta(days=90))
    assert "hull-bung" in ids(gate(records=[out, moved]), Stage.LIFT)
    early = LAID_UP_MS + 10 * DAY  # between the second and the third version
    seen = [word(GateAct.SIGHT, "hull-bung", name, at_ms=early) for name in ("Per", "Anna")]
    closed = gate(*seen, records=[out, bung_in]).item("hull-bung")
    assert closed is not None
    assert closed.is_closed
    again = gate(*seen, records=[out, bung_in, out]).item("hull-bung")
    assert again is not None
    assert again.stands_open


@pytest.mark.parametrize(
    "said",
    [
        word(GateAct.OVERRIDE, "hull-bung", note="because"),
        word(GateAct.OVERRIDE, SLINGS_DRY, note="because"),
        word(GateAct.DONE, "hull-bung"),
        word(GateAct.DONE, SLINGS_DRY),
        word(GateAct.OVERRIDE, "anodes", note=" "),
        word(GateAct.SIGHT, "anodes"),
        word(GateAct.DONE, "anodes", actor=" "),
        word(GateAct.DRY, from_ms=SPRING - 9 * MINUTE),
        word(GateAct.DRY),
        word(GateAct.DONE),
        word(GateAct.IN_SLINGS, "anodes"),
        word(GateAct.IN_SLINGS, at_ms=LAID_UP_MS - DAY),
    ],
)
def test_the_fleet_itself_refuses_what_nobody_can_say(said: GateWord) -> None:
    fleet = Fleet(NothingStored())
    fleet.command(RecordVersion(boat(mode="ashore bung out"), LAID_UP_MS, "test"))
    with pytest.raises(CommandError):
        fleet.command(said)
    assert len(fleet.hand_over().inputs) == 1


def minutes(*levels: float, from_min: int = 0, every: int = 1) -> list[Point]:
    return [Point(SPRING + (from_min + n * every) * MINUTE, level, level) for n, level in enumerate(levels)]


SLINGS = word(GateAct.IN_SLINGS)
DRY = {"bilge-level": minutes(*[0.02] * 12), "bilge-float": minutes(*[0.0] * 12)}


def how(*words: GateWord, **bilges: Any) -> Dry:
    found = gate(*words, bilges=bilges.get("bilges", {})).dryness
    assert found is not None
    assert "safe" not in slings_words(found, str)
    return found.how


def test_the_slings_stay_on_until_her_sensors_say_dry_for_ten_minutes() -> None:
    assert how(bilges=DRY) is Dry.NOT_IN_SLINGS
    assert how(SLINGS, bilges=DRY) is Dry.BY_SENSORS
    short = {sensor: points[:10] for sensor, points in DRY.items()}  # nine minutes
    assert how(SLINGS, bilges=short) is Dry.WAITING
    assert how(SLINGS, bilges={**DRY, "bilge-float": []}) is Dry.WAITING
    assert how(SLINGS, bilges={**DRY, "bilge-float": minutes(0, 0, 1, *[0] * 9)}) is Dry.WATER
    assert how(SLINGS, bilges={**DRY, "bilge-level": minutes(0.02, 0.03, *[0.02] * 10)}) is Dry.WATER
    assert (
        how(SLINGS, bilges={**DRY, "bilge-level": minutes(*[0.11] * 12)}) is Dry.WATER
    )  # at its high mark from the start
    anew = word(GateAct.IN_SLINGS, at_ms=SPRING + 5 * MINUTE)
    assert how(SLINGS, anew, bilges=DRY) is Dry.WAITING


def test_a_person_who_looked_for_ten_minutes_counts_and_water_at_a_sensor_counts_more() -> None:
    looked = word(GateAct.DRY, "", "Anna", SPRING + 12 * MINUTE, from_ms=SPRING + 2 * MINUTE)
    found = gate(SLINGS, looked)
    assert found.dryness is not None
    assert slings_words(found.dryness, lambda at: f"{(at - SPRING) // MINUTE} min") == (
        "In the slings since 0 min, by Per. Dry, by Anna who looked from 2 min to 12 min; not by her sensors"
    )
    item = found.item(SLINGS_DRY)
    assert item is not None
    assert item.is_closed
    assert how(SLINGS, replace(looked, from_ms=SPRING - MINUTE)) is Dry.WAITING
    assert how(SLINGS, looked, bilges={"bilge-float": minutes(1.0)}) is Dry.WATER


def test_a_boat_afloat_goes_and_is_not_lifted() -> None:
    found = gate(records=[boat(mode="afloat laid up", plot=None, berth="A1")])
    assert found.dryness is None
    assert verdict(found) == "Ready to go: nothing that was found stands open"


def test_no_caution_is_without_its_source() -> None:
    assert all(text and source for text, source in CAUTIONS)


def test_what_was_said_is_there_after_a_kill_and_changes_no_alert(tmp_path: Path) -> None:
    journal = Journal(tmp_path / "journal.sqlite")
    fleet = Fleet(journal)
    fleet.command(RecordVersion(boat(mode="ashore bung out"), LAID_UP_MS, "test"))
    journal.append(fleet.hand_over())
    kept = word(GateAct.SIGHT, "hull-bung")
    fleet.command(kept)
    journal.append(fleet.hand_over())
    fleet.command(word(GateAct.SIGHT, "hull-bung", "Anna"))  # lost: the agent is killed before its commit
    journal.close()
    journal = Journal(tmp_path / "journal.sqlite")
    again = Fleet(journal)
    again.restore(journal)
    more = word(GateAct.SIGHT, "hull-bung", "Carl", SPRING + HOUR)
    again.command(more)
    batch = again.hand_over()
    assert not batch.events
    journal.append(batch)
    view = JournalView(tmp_path / "journal.sqlite")
    assert view.gate_words("tern") == [kept, more]
    assert [item for _, item in journal.inputs_since(1)] == [kept, more]
    view.close()
    journal.close()
