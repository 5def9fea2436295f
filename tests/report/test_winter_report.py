"""The report says what the journal says, and what people write is never read as markup."""

import io
import json
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import known_yards  # noqa: F401 - lets yards be found
import pytest
from pypdf import PdfReader
from yards import HOUR_MS, NOW_MS, ZONE, Yard, frost, reading, record, small_yard

from monitor.model.alert import AlertChange
from monitor.model.batch import Batch
from monitor.model.gate import GateAct, GateWord
from monitor.model.inputs import VisitReport
from monitor.model.scale import AlertState, Flag, Priority
from monitor.model.vessel import Mode
from monitor.model.views import Bucket, StoredRecord
from monitor.model.visit import Found, VisitNote
from monitor.model.work import Job
from monitor.report import Shelf, Winter, report_pdf, winter_of
from monitor.report.coverage import coverage
from monitor.report.exposure import Held, beyond
from monitor.report.exposure_damp import damp
from monitor.report.exposure_held import air, volts, water
from monitor.report.exposure_held import frost as frosts
from monitor.report.gather import gathered, responses_of
from monitor.report.pdf import report_files
from monitor.report.winter import NoWinterError
from monitor.rules.battery_limits import LIMITS as BATTERY
from monitor.rules.damp_limits import LIMITS as DAMP

ODD = '#panic("x") *b* $x$ #import "a" @ref <tag> // \\u{41} `r`'


@pytest.fixture
def yard(tmp_path: Path) -> Iterator[Yard]:
    made = small_yard(tmp_path / "journal.db")
    yield made
    made.close()


def shelf_of(yard: Yard, name: str = "Eiderhythe Yard") -> Shelf:
    return Shelf(name, ZONE, yard.view, yard.view, yard.view, yard.view, yard.now_ms)


def winter(yard: Yard, vessel: str = "amber-lark") -> Winter:
    return winter_of(yard.view.versions(vessel), None, yard.now_ms, ZONE)


def text_of(pdf: bytes) -> str:
    return " ".join(" ".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages).split())


def version(vessel_mode: Mode, from_ms: int, number: int) -> StoredRecord:
    return StoredRecord(record("amber-lark", "Amber Lark", mode=vessel_mode), number, from_ms, "Hanno Brightwell")


def test_the_report_names_record_exposures_alerts_coverage_and_limits(yard: Yard) -> None:
    said = text_of(report_pdf(shelf_of(yard), winter(yard)))
    for wanted in ("Amber Lark", "Tamsin Eldergrove", "Hanno Brightwell", "refractometer", "29 Oct 2013"):
        assert wanted in said, wanted
    for wanted in ("Impeller is in the galley drawer", "Cockpit drains", "Degree-hours", "Data coverage", "Advisory"):
        assert wanted in said, wanted
    for alert in yard.alerts.values():
        assert (alert.id in said) == (alert.vessel == "amber-lark")
    assert " safe" not in said.lower()


def test_what_people_write_is_set_as_they_wrote_it_and_never_read_as_markup(yard: Yard) -> None:
    odd = record("amber-lark", "Amber Lark").model_copy(update={"name": ODD, "engineer": ODD})
    yard.lay_up(odd, at_ms=yard.now_ms - HOUR_MS)
    said = text_of(report_pdf(shelf_of(yard, ODD), winter(yard))).replace(" ", "")
    assert ODD.replace(" ", "") in said


HOURS = [
    Bucket(0, -3.0, 1.0, -1.0, 6, Flag.PASS),  # mean below: 1 K h
    Bucket(HOUR_MS, -0.5, 2.0, 0.5, 6, Flag.SUSPECT),  # only touched
    Bucket(2 * HOUR_MS, 0.0, 0.0, 0.0, 6, Flag.PASS),  # at the limit counts, with no depth
    Bucket(3 * HOUR_MS, None, None, None, 0, Flag.FAIL),  # nothing believed: nothing counted
    Bucket(9 * HOUR_MS, -5.0, -4.0, -4.5, 6, Flag.PASS),
]


def test_hours_beyond_are_means_and_touched_hours_are_the_farthest_readings() -> None:
    found = beyond(Held("Raw water, wet", "x", 0.0), HOURS, 0, 10 * HOUR_MS)
    assert (found.hours, found.depth_hours, found.touched, found.heard, found.doubted) == (3, 5.5, 4, 4, 1)
    assert (found.farthest, found.farthest_ms) == (-5.0, 9 * HOUR_MS)
    above = beyond(Held("Cabin", "x", 0.0, above=True), HOURS, 0, 10 * HOUR_MS)
    assert (above.hours, above.depth_hours, above.touched) == (2, 0.5, 3)
    assert (above.farthest, above.farthest_ms) == (2.0, HOUR_MS)


def test_a_treated_system_is_held_against_its_point_and_against_0(yard: Yard) -> None:
    assert [(e.limit, e.hours) for e in frosts(winter(yard), yard.view)] == [(-8.0, 0), (0.0, 28)]


def test_a_system_is_held_against_what_it_was_at_the_time(yard: Yard) -> None:
    """Put right in her record in the middle of the cold, it was as it was before that until then."""
    before = record("amber-lark", "Amber Lark")
    treated = before.liquid_systems[0].model_dump() | {"tested_freeze_degc": -30.0}
    at_ms = yard.now_ms - 20 * HOUR_MS
    whole = list(frosts(winter(yard), yard.view))
    mended = before.model_copy(update={"liquid_systems": (type(before.liquid_systems[0]).model_validate(treated),)})
    yard.lay_up(mended, at_ms=at_ms)
    parts = list(frosts(winter(yard), yard.view))
    assert {e.limit for e in parts if e.to_ms == at_ms} == {-8.0, 0.0}
    assert {e.limit for e in parts if e.from_ms == at_ms} == {-30.0, 0.0}
    assert sum(e.hours for e in parts if e.limit == 0.0) == whole[1].hours
    assert sum(e.heard for e in parts if e.limit == 0.0) == whole[1].heard
    data, _ = gathered(shelf_of(yard), winter(yard))
    assert any("; from " in row[0] for row in data["frost"])


def test_volts_damp_and_water_are_held_against_the_limits_of_charts_and_rules(yard: Yard) -> None:
    span = winter(yard)
    lines = [line for p in gathered(shelf_of(yard), span)[1] for line in p.limits]
    low, empty = volts(span, yard.view)
    assert low.limit in {line.value for line in lines}
    assert empty.limit == BATTERY["empty"]
    held = [one.limit for one in air(span, yard.view)]
    assert held[-1] == DAMP["mould_rh"]
    (level, *_) = water(span, yard.view)
    assert level.limit * 1000 in {line.value for line in lines}
    yard.hear([reading("amber-lark", "level", yard.now_ms - HOUR_MS, 0.5)])
    (wet, *_) = water(winter(yard), yard.view)
    assert (wet.touched, wet.farthest) == (level.touched + 1, 0.5)
    for one in damp(span, yard.view):
        assert 0 <= one.wet <= one.known


def test_a_gap_of_eight_hours_is_eight_hours_and_what_was_never_heard_is_one(yard: Yard) -> None:
    for one in coverage(winter(yard), yard.view, ZONE):
        assert [round((b - a) / HOUR_MS) for a, b in one.gaps] == [37 * 24 + 1, 8], one.sensor.id
        assert one.hours == one.readings == 42
    fresh = winter(yard, "grey-heron")
    for one in coverage(fresh, yard.view, ZONE):
        assert (one.share, one.gaps) == (0.0, ((fresh.from_ms, fresh.to_ms),))


def test_a_sensor_taken_out_of_the_record_keeps_its_coverage(yard: Yard) -> None:
    before = record("amber-lark", "Amber Lark")
    known = {one.sensor.id for one in coverage(winter(yard), yard.view, ZONE)}
    at_ms = yard.now_ms - HOUR_MS
    bare = {"sensors": [], "liquid_systems": [], "bilges": [], "batteries": [], "spaces": [], "outside_sensor": None}
    yard.lay_up(
        type(before).model_validate(before.model_dump() | bare | {"dehumidifier": None, "proofs": []}), at_ms=at_ms
    )
    found = list(coverage(winter(yard), yard.view, ZONE))
    assert {one.sensor.id for one in found} == known
    assert {one.to_ms for one in found} == {at_ms}
    data, _ = gathered(shelf_of(yard), winter(yard))
    assert all("taken out of it" in row[0] for row in data["coverage"])


def test_the_report_says_how_each_opening_was_closed_and_by_whom(yard: Yard) -> None:
    before = record("amber-lark", "Amber Lark")
    yard.lay_up(before.model_copy(update={"open_items": (), "mode": Mode.ASHORE_BUNG_IN}), at_ms=yard.now_ms - HOUR_MS)
    for name in ("Anna Tolley", "Ben Ashdown"):
        word = GateWord("amber-lark", yard.now_ms - 1, name, GateAct.SIGHT, "hull-bung")
        yard.commit(Batch(inputs=[(yard.next_seq(), word)]))
    said = text_of(report_pdf(shelf_of(yard), winter(yard)))
    assert "Seen closed by Anna Tolley" in said
    assert "Ben Ashdown" in said
    assert "her record no longer has it, which closes nothing" in said
    assert f"{len(before.open_items) + len(before.open_seacocks)} things still to put right" in said


def test_the_jobs_of_the_lay_up_stand_with_who_did_them_and_what_was_read(yard: Yard) -> None:
    job = Job.model_validate(
        {"id": "oil", "system": "engine oil", "what": "Change oil and filter", "end": "not done", "by": "Wilf Sandring",
         "on": "2013-11-02", "reason": "no filter", "instruction": "maker's book, p. 31",
         "readings": [{"what": "level", "value": -2.5, "unit": "mm", "by_means_of": "dipstick"}], "tags": [7]}
    )  # fmt: skip
    yard.lay_up(record("amber-lark", "Amber Lark").model_copy(update={"jobs": (job,)}), at_ms=yard.now_ms - HOUR_MS)
    (row,) = gathered(shelf_of(yard), winter(yard))[0]["jobs"]
    assert row == [
        "engine oil", "Change oil and filter", "not done: no filter", "Wilf Sandring, 2 Nov 2013",
        "level \u22122.5 mm (dipstick)", "to maker's book, p. 31; left tag 7",
    ]  # fmt: skip


def test_visits_of_another_winter_are_not_this_ones(yard: Yard) -> None:
    visits = [{"on": "2012-12-01", "by": "Old Hand"}, {"on": "2013-12-01", "by": "New Hand"}]
    before = record("amber-lark", "Amber Lark")
    yard.lay_up(type(before).model_validate(before.model_dump() | {"visits": visits}), at_ms=yard.now_ms - HOUR_MS)
    who = [row[1] for row in gathered(shelf_of(yard), winter(yard))[0]["visits"]]
    assert "New Hand" in who
    assert "Old Hand" not in who


def test_answers_are_counted_from_the_opening_and_name_who_gave_them(yard: Yard) -> None:
    alert = yard.open_alert("fern-island", replace(frost(Priority.ALARM), subject="raw-water"), 10 * HOUR_MS)
    at_ms = alert.opened_ms
    yard.happens(alert, AlertChange.ACKNOWLEDGED, at_ms + HOUR_MS // 2, "Wilf Sandring")
    yard.happens(alert, AlertChange.CONFIRMED, at_ms + 2 * HOUR_MS, "Anna Tolley")
    alert.state, alert.ended_ms = AlertState.NORMAL, at_ms + 3 * HOUR_MS
    yard.happens(alert, AlertChange.ENDED, at_ms + 3 * HOUR_MS)
    data, _ = gathered(shelf_of(yard), winter(yard, "fern-island"))
    (row,) = [r for r in data["alerts"] if alert.id in r[1]]
    assert row[2:] == ["0 h 30 min, Wilf Sandring", "2 h 00 min, Anna Tolley", "\u2013", "3 h 00 min"]
    assert len(responses_of(shelf_of(yard), winter(yard, "fern-island"))) == 2


def test_a_winter_goes_from_lay_up_to_launch() -> None:
    launch = round(datetime(2014, 4, 3, 9, tzinfo=UTC).timestamp() * 1000)
    now = round(datetime(2014, 8, 1, tzinfo=UTC).timestamp() * 1000)
    laid_up = version(Mode.ASHORE_BUNG_OUT, NOW_MS, 1)
    afloat = StoredRecord(
        laid_up.vessel.model_copy(update={"mode": Mode.FIRST_24_H_AFLOAT, "plot": None}), 2, launch, "x"
    )
    found = winter_of([afloat, laid_up], 2013, now, ZONE)
    assert (found.to_ms, found.begins, found.ends, found.stored) == (launch, "lay-up", "launch", laid_up)
    assert found.from_ms == round(laid_up.vessel.laid_up.timestamp() * 1000)
    hauled_out = laid_up.vessel.model_copy(update={"laid_up": datetime(2014, 5, 1, tzinfo=UTC)})
    hauled = StoredRecord(hauled_out, 3, launch + 29 * 24 * HOUR_MS, "x")
    again = winter_of([hauled, afloat, laid_up], 2013, now, ZONE)
    assert (again.from_ms, again.ends, again.stored) == (found.from_ms, "30 June", hauled)
    other = winter_of([laid_up], 2012, now, ZONE)
    assert (other.begins, other.ends) == ("1 September", "30 June")


def test_a_version_of_this_very_moment_is_the_one_reported_and_a_launch_of_it_is_the_end() -> None:
    aboard = record("amber-lark", "Amber Lark")
    from_ms = round(aboard.laid_up.timestamp() * 1000)
    now = from_ms + 40 * 24 * HOUR_MS
    first = StoredRecord(aboard, 1, from_ms, "Maud")
    later = StoredRecord(aboard.model_copy(update={"engineer": "Enid Invented"}), 2, now, "Maud")
    assert winter_of([later, first], 2013, now, ZONE).stored is later
    assert winter_of([first], 2013, now, ZONE).stored is first
    launched = StoredRecord(aboard.model_copy(update={"mode": Mode.FIRST_24_H_AFLOAT}), 3, now - HOUR_MS, "Maud")
    found = winter_of([later, launched, first], 2013, now, ZONE)
    assert (found.ends, found.stored) == ("launch", first)


def test_a_winter_that_has_not_begun_is_said_to_be_so(yard: Yard) -> None:
    with pytest.raises(NoWinterError, match="the winter that begins in 2050 has not begun"):
        winter_of(yard.view.versions("amber-lark"), 2050, yard.now_ms, ZONE)


def test_a_boat_without_sensors_has_a_report_that_says_so(yard: Yard) -> None:
    said = text_of(report_pdf(shelf_of(yard), winter(yard, "hazel-row")))
    assert "No reading came in this span." in said
    assert "No sensor is recorded." in said
    assert "nothing aboard is watched" in said


def test_readings_of_another_boat_do_not_count(yard: Yard) -> None:
    span = winter(yard)
    before = list(frosts(span, yard.view))
    yard.hear([reading("fern-island", "engine-space", NOW_MS - 30 * 60_000, -30.0)])
    assert list(frosts(span, yard.view)) == before


def test_the_words_under_a_chart_are_of_the_whole_winter_and_its_last_reading(yard: Yard) -> None:
    """They said the winter's range, and then a mean of its last hours as if it were that of the winter."""
    at_ms = yard.now_ms - 30 * HOUR_MS
    visit = VisitReport("amber-lark", at_ms, "Anna Tolley", VisitNote(Found.WELL))
    yard.commit(Batch(inputs=[(yard.next_seq(), visit)]))
    data, charts = gathered(shelf_of(yard), winter(yard))
    words = [sentence for chart in data["charts"] for sentence in chart["says"]]
    assert not [sentence for sentence in words if "on average" in sentence]
    assert any(", last " in sentence for sentence in words)
    assert all([h.at_ms for h in chart.happenings] == [at_ms] for chart in charts)


def test_a_sign_that_turns_the_direction_of_writing_does_not_turn_the_page(yard: Yard) -> None:
    odd = record("amber-lark", "Amber Lark").model_copy(update={"name": "Amber\u202e Lark\x07"})
    yard.lay_up(odd, at_ms=yard.now_ms - HOUR_MS)
    data = report_files(shelf_of(yard), winter(yard))["data.json"].decode()
    assert json.loads(data)["boat"] == "Amber Lark"
    assert "u202e" not in data


def test_what_came_back_has_not_cleared_by_the_first_time_it_went(yard: Yard) -> None:
    alert = yard.open_alert("fern-island", replace(frost(Priority.ALARM), subject="raw-water"), 10 * HOUR_MS)
    changes = ((AlertChange.RETURNED, 1), (AlertChange.REOPENED, 2), (AlertChange.RETURNED, 5))
    for change, hours in changes[:2]:
        yard.happens(alert, change, alert.opened_ms + hours * HOUR_MS)
    data, _ = gathered(shelf_of(yard), winter(yard, "fern-island"))
    (row,) = [r for r in data["alerts"] if alert.id in r[1]]
    assert row[4] == "\u2013; came back once"
    yard.happens(alert, changes[2][0], alert.opened_ms + 5 * HOUR_MS)
    data, _ = gathered(shelf_of(yard), winter(yard, "fern-island"))
    (row,) = [r for r in data["alerts"] if alert.id in r[1]]
    assert row[4] == "5 h 00 min; came back once"
