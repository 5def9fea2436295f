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
from monitor.record.gate_item import GateItem, Stage
from monitor.record.gate_people import may_be_one
from monitor.record.gate_says import CAUTIONS, slings_words, standing, verdict
from monitor.record.gate_season import season_of
from monitor.record.gate_stood import cold, stood
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
    known: dict[str, Any] = {"alerts": (), "bilges": {}, "now_ms": SPRING + HOUR}
    season = season_of(stored(*records or [boat()])[::-1], SPRING + HOUR)
    degc = winter.pop("degc", {})
    found = [
        cold(one, [(at, low) for at, low in degc.get(one.sensor, []) if one.from_ms <= at < one.to_ms])
        for one in stood(season.versions, season.from_ms, SPRING + HOUR)
    ]
    return gate_of(Winter(season, cold=[c for c in found if c], words=words, zone=ZoneInfo("UTC"), **known | winter))


def stored(*records: Vessel, days: int = 7) -> list[StoredRecord]:
    """Versions of a record, oldest first, each so many days after the one before."""
    return [
        StoredRecord(record, number, LAID_UP_MS + number * days * DAY, "R. Invented")
        for number, record in enumerate(records)
    ]


def item_of(found: Gate, item_id: str) -> GateItem:
    item = found.item(item_id)
    assert item is not None
    return item


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


def lows(*degc: float, day: int = 40) -> dict[str, list[tuple[int, float]]]:
    """The engine space's lowest of each hour from a day of the winter on."""
    return {"engine-space": [(LAID_UP_MS + day * DAY + n * HOUR, low) for n, low in enumerate(degc)]}


def test_a_system_that_was_ever_below_its_protection_is_inspected() -> None:
    assert gate(degc=lows(-18.9)).item("froze-closed-cooling") is None
    by_reading = gate(degc=lows(-20.4, -3.0)).item("froze-closed-cooling")
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
        {"id": "lights", "name": "Lifejacket lights", "due": date(2014, 7, 1)},
    ]
    cooling = boat().liquid_systems[0].model_dump() | {"changed": date(2011, 5, 1), "inhibitor": "inorganic"}
    found = gate(records=[boat(safety_kit=kit, liquid_systems=[cooling])])
    assert "kit-raft" in ids(found, Stage.NEXT_DAY)
    assert found.item("kit-flares") is None
    assert item_of(found, "kit-lights").why == "Falls due 2014-07-01, while she is out"
    assert "system-closed-cooling-coolant" in ids(found, Stage.FIRST_START)
    later = gate(records=[boat(liquid_systems=[cooling | {"changed": date(2012, 8, 1)}])])
    assert item_of(later, "system-closed-cooling-coolant").why.endswith(
        "last about 2 years, which end while she is out"
    )
    fresh = gate(records=[boat(liquid_systems=[cooling | {"changed": date(2013, 10, 1)}])])
    assert fresh.item("system-closed-cooling-coolant") is None


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
        word(GateAct.DONE, "anodes", actor="\u200b"),
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


def test_one_person_is_one_however_the_name_is_spelled() -> None:
    """Each spelling was taken for a second pair of eyes."""
    out = [boat(mode="ashore bung out")]
    first = word(GateAct.SIGHT, "hull-bung", "Anna Tolley")
    for other in ("A. Tolley", "Anna", "Tolley, Anna", "Anna T\u00f3lley", "Anna\u200b Tolley", "ANNA-TOLLEY", "!"):
        found = gate(first, word(GateAct.SIGHT, "hull-bung", other), records=out)
        assert "hull-bung" in [item.id for item in found.due_before_lift], other
    assert not may_be_one("Anna Tolley", "Adam Tolley")
    assert item_of(gate(first, word(GateAct.SIGHT, "hull-bung", "Adam Tolley"), records=out), "hull-bung").is_closed


def test_a_lay_up_moved_into_spring_takes_no_opening_and_no_frost_off_the_list() -> None:
    out, moved = boat(mode="ashore bung out"), boat(laid_up=LAID_UP + timedelta(days=185))
    season = season_of(stored(out, moved, days=186)[::-1], LAID_UP_MS + 190 * DAY)
    assert [v.vessel.mode for v in season.versions] == ["ashore bung out", "ashore bung in"]
    assert season.from_ms == LAID_UP_MS
    assert season.said_from_ms == LAID_UP_MS + 185 * DAY


def test_a_lay_up_moved_back_a_year_does_not_bring_back_last_springs_sightings() -> None:
    last = boat(mode="ashore bung out", laid_up=LAID_UP - timedelta(days=365))
    this, moved = boat(mode="ashore bung out"), last
    season = season_of(stored(last, this, moved)[::-1], SPRING)
    assert season.said_from_ms == LAID_UP_MS


def test_two_winters_are_two_and_a_launch_that_is_taken_back_is_none() -> None:
    last = boat(mode="ashore bung out", laid_up=LAID_UP - timedelta(days=365))
    launched, this = boat(mode="in commission", laid_up=LAID_UP - timedelta(days=365)), boat()
    versions = [
        StoredRecord(record, number, LAID_UP_MS + day * DAY, "x")
        for number, (record, day) in enumerate([(last, -365), (launched, -200), (this, 0)])
    ]
    assert [v.version for v in season_of(versions[::-1], SPRING).versions] == [2]
    out, afloat = boat(mode="ashore bung out"), boat(mode="in commission")
    assert "hull-bung" in ids(gate(records=[out, afloat, boat()]), Stage.LIFT)


def test_a_tag_used_again_or_opened_again_is_sighted_anew_in_its_new_words() -> None:
    log, hose = (
        {"tag": 7, "what": "Log is out", "due": "before lift"},
        {"tag": 7, "what": "Hose off", "due": "before lift"},
    )
    early = LAID_UP_MS + 3 * DAY
    seen = [word(GateAct.SIGHT, "hull-tag-7", name, at_ms=early) for name in ("Per", "Anna")]
    assert item_of(gate(*seen, records=[boat(open_items=[log])]), "hull-tag-7").is_closed
    shut = log | {"closed": date(2013, 11, 3)}
    for now in ([boat(open_items=[hose])], [boat(open_items=[shut]), boat(open_items=[log])]):
        item = gate(*seen, records=[boat(open_items=[log]), *now]).item("hull-tag-7")
        assert item is not None
        assert item.stands_open
    assert item_of(gate(records=[boat(open_items=[log]), boat(open_items=[hose])]), "hull-tag-7").what.startswith(
        "Hose"
    )


def test_what_is_taken_out_of_the_record_is_not_put_right_by_that() -> None:
    tags = [{"tag": 1, "what": "Rudder lashed", "due": "before lift"}]
    wet = {"id": "heads", "name": "Heads", "kind": "heads", "state": "wet"}
    found = gate(records=[boat(open_items=tags, liquid_systems=[wet]), boat(liquid_systems=[])])
    assert {"tag-1", "system-heads-wet"} <= {item.id for item in found.due_before_lift}
    assert "her record no longer has it" in item_of(found, "tag-1").why
    done = gate(word(GateAct.DONE, "tag-1"), records=[boat(open_items=tags), boat()])
    assert "tag-1" not in {item.id for item in done.due_before_lift}
    closed = [tags[0] | {"closed": date(2014, 3, 1), "closed_by": "Per"}]
    kept = gate(records=[boat(open_items=closed), boat()]).item("tag-1")
    assert kept is not None
    assert (kept.is_closed, kept.why) == (True, "Tag 1 of her record")
    treated = boat().liquid_systems[0].model_dump()
    mended = gate(records=[boat(liquid_systems=[wet]), boat(liquid_systems=[treated | {"id": "heads"}])])
    assert mended.item("system-heads-wet") is None


def test_a_system_battery_or_bilge_taken_out_keeps_what_the_winter_did_to_it() -> None:
    bare = boat(liquid_systems=[], batteries=[], bilges=[])
    thawed = alert("frost", "closed-cooling", "thaw", ended=True)
    flat = alert("battery", "house", "low", ended=True, maybe_frozen=True)
    water = alert("bilge", "bilge", "high", ended=True)
    due = {item.id for item in gate(records=[boat(), bare], alerts=[thawed, flat, water]).due_before_lift}
    assert {"froze-closed-cooling", "battery-house", f"bilge-{water.id}"} <= due
    by_reading = gate(records=[boat(), bare], degc=lows(-22.0, day=3))
    assert "froze-closed-cooling" in {item.id for item in by_reading.due_before_lift}


def test_each_system_is_held_against_what_it_was_when_it_was_cold() -> None:
    treated = boat().liquid_systems[0].model_dump()
    wet = treated | {"state": "wet", "liquid": None, "tested_freeze_degc": None, "tester": None, "tested": None}
    left_wet, put_right = boat(liquid_systems=[wet]), boat()
    froze = gate(records=[left_wet, put_right], degc=lows(-5.0, day=3)).item("froze-closed-cooling")
    assert froze is not None
    assert froze.why == "Lowest -5.0 °C by its thermometer; wet, so it freezes at 0.0 °C"
    filled = gate(records=[put_right, left_wet], degc=lows(-5.0, day=3))
    assert filled.item("froze-closed-cooling") is None


def test_what_was_inspected_before_the_next_frost_is_inspected_again() -> None:
    frost = lows(-21.0, day=60)
    before = word(GateAct.DONE, "froze-closed-cooling", at_ms=LAID_UP_MS + 50 * DAY)
    item = gate(before, degc=frost).item("froze-closed-cooling")
    assert item is not None
    assert item.stands_open
    assert [act for act, _ in item.history] == ["done"]
    assert item_of(gate(word(GateAct.DONE, "froze-closed-cooling"), degc=frost), "froze-closed-cooling").is_closed


def test_within_the_testers_error_it_may_have_been_below() -> None:
    item = gate(degc=lows(-19.5)).item("froze-closed-cooling")
    assert item is not None
    assert item.what.startswith("Closed cooling may have been below")
    assert "give or take 1.0 °C of its tester" in item.why


def test_a_compartment_that_no_sensor_sees_into_waits_for_a_person() -> None:
    bilges = [*boat().bilges, {"id": "fore", "name": "Fore peak"}]
    known: dict[str, Any] = {"records": [boat(bilges=bilges)], "bilges": DRY}
    found = gate(SLINGS, **known).dryness
    assert found is not None
    assert found.how is Dry.WAITING
    assert "No sensor sees into Fore peak" in slings_words(found, str)
    looked = word(GateAct.DRY, "", "Anna", SPRING + 12 * MINUTE, from_ms=SPRING)
    assert item_of(gate(SLINGS, looked, **known), SLINGS_DRY).is_closed


def test_water_after_the_ten_minutes_and_at_a_sensor_since_taken_out_still_counts() -> None:
    later = {**DRY, "bilge-float": minutes(*[0.0] * 12, 1.0)}
    assert how(SLINGS, bilges=later) is Dry.WATER
    wet = {"bilge-float": minutes(1.0)}
    versions = [StoredRecord(boat(), 1, LAID_UP_MS, "x"), StoredRecord(boat(bilges=[]), 2, SPRING + MINUTE, "x")]
    looked = word(GateAct.DRY, "", "Anna", SPRING + 12 * MINUTE, from_ms=SPRING)
    season = season_of(versions[::-1], SPRING + HOUR)
    found = gate_of(Winter(season, (), (), [SLINGS, looked], wet, SPRING + HOUR, ZoneInfo("UTC")))
    assert found.dryness is not None
    assert found.dryness.how is Dry.WATER


def test_a_sensor_in_doubt_does_not_prove_her_dry_and_still_shows_water() -> None:
    stuck = {**DRY, "bilge-level": [replace(p, sound=False) for p in DRY["bilge-level"]]}
    assert how(SLINGS, bilges=stuck) is Dry.WAITING
    rising = {**DRY, "bilge-level": [replace(p, sound=False) for p in minutes(0.02, 0.08, *[0.02] * 10)]}
    assert how(SLINGS, bilges=rising) is Dry.WATER


def test_an_item_that_a_job_left_says_which_and_who() -> None:
    job = {"id": "strum", "system": "bilge", "what": "Clean the strum box", "end": "not done", "by": "Per",
           "on": date(2013, 10, 30), "reason": "no key", "tags": [9]}  # fmt: skip
    tag = {"tag": 9, "what": "Strum box not cleaned", "due": "before lift"}
    item = gate(records=[boat(open_items=[tag], jobs=[job])]).item("tag-9")
    assert item is not None
    assert item.why == (
        "Tag 9 of her record, left by Per on 2013-10-30 at \u201cClean the strum box\u201d (bilge): no key"
    )
