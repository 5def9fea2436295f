"""The report says what the journal says, and what people write is never read as markup."""

import io
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import known_yards  # noqa: F401 - lets yards be found
import pytest
from pypdf import PdfReader
from yards import HOUR_MS, NOW_MS, ZONE, Yard, frost, reading, record, small_yard

from monitor.model.alert import AlertChange
from monitor.model.scale import AlertState, Flag, Priority
from monitor.model.vessel import Mode
from monitor.model.views import Bucket, Buckets, StoredRecord
from monitor.report import Shelf, Winter, report_pdf, winter_of
from monitor.report.coverage import coverage
from monitor.report.exposure import below, exposures
from monitor.report.gather import gathered, responses_of
from monitor.report.winter import NoWinterError

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


def test_hours_below_are_means_and_touched_hours_are_lowest_readings() -> None:
    hours = Buckets(
        HOUR_MS,
        [
            Bucket(0, -3.0, 1.0, -1.0, 6, Flag.PASS),  # mean below: 1 K h
            Bucket(HOUR_MS, -0.5, 2.0, 0.5, 6, Flag.SUSPECT),  # only touched
            Bucket(2 * HOUR_MS, 0.0, 0.0, 0.0, 6, Flag.PASS),  # at the limit counts, with no depth
            Bucket(3 * HOUR_MS, None, None, None, 0, Flag.FAIL),  # nothing believed: nothing counted
            Bucket(9 * HOUR_MS, -5.0, -4.0, -4.5, 6, Flag.PASS),
        ],
    )
    found = below("Raw water", "wet", 0.0, hours, stands_in=False)
    assert (found.hours, found.degree_hours, found.touched, found.heard, found.doubted) == (3, 5.5, 4, 4, 1)
    assert (found.lowest_degc, found.lowest_ms) == (-5.0, 9 * HOUR_MS)


def test_a_treated_system_is_held_against_its_point_and_against_0(yard: Yard) -> None:
    span = winter(yard)
    found = list(exposures(span.stored.vessel, yard.view, span.from_ms, span.to_ms))
    assert [(e.limit_degc, e.hours) for e in found] == [(-8.0, 0), (0.0, 28)]


def test_a_gap_of_eight_hours_is_eight_hours_and_what_was_never_heard_is_one(yard: Yard) -> None:
    span = winter(yard)
    for one in coverage(span.stored.vessel, yard.view, span.from_ms, span.to_ms, ZONE):
        assert [round((b - a) / HOUR_MS) for a, b in one.gaps] == [37 * 24 + 1, 8], one.sensor.id
        assert one.hours == one.readings == 42
    fresh = winter(yard, "grey-heron")
    for one in coverage(fresh.stored.vessel, yard.view, fresh.from_ms, fresh.to_ms, ZONE):
        assert (one.share, one.gaps) == (0.0, ((fresh.from_ms, fresh.to_ms),))


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
    other = winter_of([laid_up], 2012, now, ZONE)
    assert (other.begins, other.ends) == ("1 September", "30 June")


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
    before = list(exposures(span.stored.vessel, yard.view, span.from_ms, span.to_ms))
    yard.hear([reading("fern-island", "engine-space", NOW_MS - 30 * 60_000, -30.0)])
    assert list(exposures(span.stored.vessel, yard.view, span.from_ms, span.to_ms)) == before
