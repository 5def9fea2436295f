"""The calendar feed, parsed back by the library and held against what RFC 5545 asks for."""

from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, date, datetime, time
from pathlib import Path

import httpx
import pytest
from icalendar import Calendar, Event
from visiting import VisitedYard, walked_yard
from yards import HOUR_MS, ZONE

from monitor.model.equipment import Visit
from monitor.model.inputs import CalendarVersion, VisitReport
from monitor.model.surroundings import PlannedCut, YardCalendar
from monitor.model.visit import Found, VisitNote
from monitor.web import Deps

Ask = Callable[[Deps], httpx.Client]
DAY_MS = 24 * HOUR_MS
LONGEST_LINE = 75


@pytest.fixture
def yard(tmp_path: Path) -> Iterator[VisitedYard]:
    made = walked_yard(tmp_path / "journal.db")
    yield made
    made.close()


@pytest.fixture
def deps(yard: VisitedYard, cache_dir: Path) -> Deps:
    """The yard with a planned cut of its power, and a cut each night."""
    cut = PlannedCut(
        begins=datetime(2013, 12, 12, 9, 0, tzinfo=UTC),
        ends=datetime(2013, 12, 12, 15, 30, tzinfo=UTC),
    )
    calendar = YardCalendar(zone="Europe/London", planned_cuts=(cut,), power_off=(time(22), time(6)))
    return replace(yard.deps(cache_dir), calendar=CalendarVersion(calendar, yard.now_ms - 40 * DAY_MS))


def events(body: bytes) -> dict[str, Event]:
    calendar = Calendar.from_ical(body)
    found = [e for e in calendar.walk("VEVENT") if isinstance(e, Event)]
    assert len({str(e["uid"]) for e in found}) == len(found)
    return {str(e["uid"]): e for e in found}


def test_the_feed_holds_to_rfc_5545(client: httpx.Client) -> None:
    answer = client.get("/calendar.ics")
    assert answer.headers["content-type"] == "text/calendar; charset=utf-8"  # section 8.1
    body = answer.content
    calendar = Calendar.from_ical(body)
    assert body.startswith(b"BEGIN:VCALENDAR\r\n")  # 3.4
    assert body.endswith(b"END:VCALENDAR\r\n")  # 3.4
    lines = body.split(b"\r\n")
    assert b"\n" not in b"".join(lines)  # 3.1: lines end with CRLF
    assert max(map(len, lines)) <= LONGEST_LINE  # 3.1: folded at 75 octets
    assert calendar["version"] == "2.0"  # 3.6: must occur once; 3.7.4
    assert calendar["prodid"]  # 3.6: must occur once; 3.7.3
    assert "method" not in calendar  # 3.7.2: a feed publishes no scheduling message
    zones = {str(z["tzid"]) for z in calendar.walk("VTIMEZONE")}
    found = [e for e in calendar.walk("VEVENT") if isinstance(e, Event)]
    assert found  # 3.6: at least one component
    for event in found:
        for name in ("uid", "dtstamp"):  # 3.6.1: both are required, once
            assert name in event
            assert not isinstance(event[name], list)
        assert event["dtstamp"].dt.tzinfo is not None  # 3.8.7.2: in UTC
        assert event["dtstamp"].to_ical().endswith(b"Z")  # 3.8.7.2
        assert event["last-modified"].to_ical().endswith(b"Z")  # 3.8.7.3
        assert "dtstart" in event  # 3.6.1: required without METHOD
        assert int(event["sequence"]) >= 0  # 3.8.7.4
        assert not ("dtend" in event and "duration" in event)  # 3.6.1
        if "dtend" in event:
            assert event["dtend"].dt > event["dtstart"].dt  # 3.8.2.2
            assert type(event["dtend"].dt) is type(event["dtstart"].dt)  # 3.8.2.2: same value type
        zone = event["dtstart"].params.get("TZID")
        assert zone is None or zone in zones  # 3.2.19: each TZID has its VTIMEZONE


def test_one_event_a_boat_on_the_day_her_visit_falls_due(client: httpx.Client) -> None:
    found = events(client.get("/calendar.ics").content)
    due = {uid: e["dtstart"].dt for uid, e in found.items() if ".visit@" in uid}
    # The last visit and 31 days ashore, 7 days afloat (the maintenance rule's limits).
    assert due == {
        "amber-lark.visit@eiderhythe": date(2014, 1, 1),
        "barley-moon.visit@eiderhythe": date(2014, 1, 1),
        "copper-wren.visit@eiderhythe": date(2013, 12, 8),
        "dove-hollow.visit@eiderhythe": date(2013, 12, 9),
        "fern-island.visit@eiderhythe": date(2014, 1, 1),
    }
    wren = found["copper-wren.visit@eiderhythe"]
    assert str(wren["summary"]) == "Visit Copper Wren, berth A1"
    assert wren["dtstart"].params["VALUE"] == "DATE"
    assert str(wren["url"]).endswith("/vessels/copper-wren/visit")


def test_a_due_day_that_moves_updates_the_same_event(yard: VisitedYard, client: httpx.Client) -> None:
    uid = "copper-wren.visit@eiderhythe"
    before = events(client.get("/calendar.ics").content)[uid]
    yard.told.found.insert(0, VisitReport("copper-wren", yard.now_ms, "Anna", VisitNote(Found.WELL)))
    visited = events(client.get("/calendar.ics").content)[uid]
    assert visited["dtstart"].dt == date(2013, 12, 16)
    assert int(visited["sequence"]) > int(before["sequence"])
    assert visited["last-modified"].dt > before["last-modified"].dt
    assert visited["dtstamp"].dt == visited["last-modified"].dt  # RFC 5545, 3.8.7.2: without METHOD, when last revised
    record = yard.view.record("copper-wren")
    assert record is not None
    yard.lay_up(record.vessel.model_copy(update={"visits": ()}), at_ms=yard.now_ms + 60_000)
    # A version that takes visits out of the record still counts up.
    changed = events(client.get("/calendar.ics").content)[uid]
    assert int(changed["sequence"]) > int(visited["sequence"])


def test_a_visit_of_the_record_whose_day_comes_counts_up(yard: VisitedYard, client: httpx.Client) -> None:
    record = yard.view.record("dove-hollow")
    assert record is not None
    uid = "dove-hollow.visit@eiderhythe"
    coming = (*record.vessel.visits, Visit(on=date(2013, 12, 20), by="Hanno Brightwell"))
    yard.lay_up(record.vessel.model_copy(update={"visits": coming}), at_ms=yard.now_ms)
    before = events(client.get("/calendar.ics").content)[uid]
    assert before["dtstart"].dt == date(2013, 12, 9)
    yard.now_ms += 12 * DAY_MS
    after = events(client.get("/calendar.ics").content)[uid]
    assert after["dtstart"].dt == date(2014, 1, 20)
    assert int(after["sequence"]) > int(before["sequence"])


def test_the_first_form_of_an_event_has_the_sequence_nought(yard: VisitedYard, client: httpx.Client) -> None:
    record = yard.view.record("fern-island")
    assert record is not None
    yard.lay_up(record.vessel.model_copy(update={"id": "new-boat", "visits": ()}), at_ms=yard.now_ms)
    found = events(client.get("/calendar.ics").content)["new-boat.visit@eiderhythe"]
    assert int(found["sequence"]) == 0  # RFC 5545, 3.8.7.4


def test_no_earlier_version_of_a_record_is_parsed_for_the_feed(
    yard: VisitedYard, client: httpx.Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    stored = yard.view.record("dove-hollow")
    assert stored is not None
    yard.lay_up(stored.vessel)
    monkeypatch.setattr(yard.view, "versions", lambda vessel: pytest.fail(f"every version of {vessel} was parsed"))
    assert client.get("/calendar.ics").status_code == 200


def test_power_cuts_stand_in_it_and_the_nightly_one_comes_back_in_yard_time(client: httpx.Client) -> None:
    found = events(client.get("/calendar.ics").content)
    cut = found["power-cut.20131212T090000Z-20131212T153000Z@eiderhythe-yard"]
    assert cut["dtstart"].dt == datetime(2013, 12, 12, 9, 0, tzinfo=UTC)
    assert cut["dtend"].dt == datetime(2013, 12, 12, 15, 30, tzinfo=UTC)
    nightly = found["power-off.2200-0600@eiderhythe-yard"]
    assert nightly["rrule"]["FREQ"] == ["DAILY"]
    assert nightly["dtstart"].params["TZID"] == "Europe/London"
    assert nightly["dtstart"].dt == datetime(2013, 10, 30, 22, 0, tzinfo=ZONE)
    assert nightly["dtend"].dt == datetime(2013, 10, 31, 6, 0, tzinfo=ZONE)


def test_asked_again_with_nothing_changed_it_is_the_same_to_the_byte(yard: VisitedYard, client: httpx.Client) -> None:
    first = client.get("/calendar.ics")
    yard.now_ms += HOUR_MS
    second = client.get("/calendar.ics")
    assert second.content == first.content
    tag = first.headers["etag"]
    for asked in (tag, f'"other", W/{tag}', "*"):  # RFC 9110, 13.1.2: a list, compared weakly
        answer = client.get("/calendar.ics", headers={"If-None-Match": asked})
        assert (answer.status_code, answer.content) == (304, b"")
        assert answer.headers["etag"] == tag
    assert client.get("/calendar.ics", headers={"If-None-Match": '"other"'}).status_code == 200
    yard.told.found.insert(0, VisitReport("copper-wren", yard.now_ms, "Anna", VisitNote(Found.WELL)))
    assert client.get("/calendar.ics", headers={"If-None-Match": tag}).status_code == 200


def test_a_name_cannot_break_out_of_its_line(yard: VisitedYard, client: httpx.Client) -> None:
    record = yard.view.record("fern-island")
    assert record is not None
    odd = "Fern; Island, \\n\nEND:VEVENT"
    yard.lay_up(record.vessel.model_copy(update={"name": odd}), at_ms=yard.now_ms)
    found = events(client.get("/calendar.ics").content)
    assert str(found["fern-island.visit@eiderhythe"]["summary"]) == "Visit Fern; Island, \\n END:VEVENT, plot B3"


def test_without_a_calendar_of_the_yard_there_are_visits_alone(yard: VisitedYard, cache_dir: Path, ask: Ask) -> None:
    found = events(ask(yard.deps(cache_dir)).get("/calendar.ics").content)
    assert all(".visit@" in uid for uid in found)
    assert len(found) == 5
