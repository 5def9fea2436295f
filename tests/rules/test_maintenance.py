"""The maintenance rule: dates in the yard's own days, visits, thaws, and what the record leaves open."""

import time
from datetime import UTC, date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from aboard import Aboard, At, round_trips
from boats import DAY, HOUR, LAID_UP, LAID_UP_MS, boat

from monitor.messages.words import put_into_words
from monitor.model.document import read_vessel, write_vessel
from monitor.model.finding import Finding
from monitor.model.scale import Priority
from monitor.model.surroundings import Surroundings, YardCalendar
from monitor.model.vessel import Mode, Vessel
from monitor.rules.maintenance import Maintenance, MaintenanceState
from monitor.rules.maintenance_thaw import Thaw, feel_outside

DAY_H = 24.0
COOLANT = boat().model_dump()["liquid_systems"][0]
TODAY = LAID_UP.date()


def record(coolant: dict[str, Any] | None = None, **changes: Any) -> Vessel:
    return boat(liquid_systems=[COOLANT | (coolant or {})], **changes)


def said(at: Vessel, days: float = 0.0, zone: str = "UTC") -> dict[str, Finding]:
    rule = Maintenance(at)
    rule.surroundings = Surroundings(calendar=YardCalendar(zone=zone))
    found = rule.judge(MaintenanceState(), LAID_UP_MS + round(days * DAY))
    for finding in found:
        put_into_words(finding, at, ZoneInfo(zone), LAID_UP_MS, strict=True)
    return {f.subject: f for f in found}


def kinds(at: Vessel, days: float = 0.0) -> dict[str, str]:
    return {subject: f.kind for subject, f in said(at, days).items()}


def test_a_boat_laid_up_today_with_a_whole_record_has_nothing_due() -> None:
    assert said(record({"changed": date(2012, 6, 1)})) == {}


# --- Coolant. 2 years for inorganic inhibitors, 5 for organic acid (REFERENCES.md, common practice).


@pytest.mark.parametrize(
    ("inhibitor", "years", "old"),
    [
        ("inorganic", 1.9, False),
        ("inorganic", 2.1, True),
        ("organic acid", 4.9, False),
        ("organic acid", 5.1, True),
        (None, 1.9, False),
        (None, 2.1, True),  # unknown is the shorter
    ],
)
def test_coolant_lives_as_long_as_its_inhibitors(inhibitor: str | None, years: float, old: bool) -> None:
    changed = TODAY - timedelta(days=round(365.25 * years))
    found = said(record({"changed": changed, "inhibitor": inhibitor}))
    assert [f.kind for f in found.values()] == (["coolant old"] if old else [])
    if old:
        assert found["closed-cooling"].figure.value == pytest.approx(years, abs=0.05)


def test_coolant_that_comes_of_age_in_the_winter_is_told_that_day() -> None:
    at = record({"changed": TODAY - timedelta(days=720), "tested": TODAY})  # two years are 730.5 days
    assert [bool(kinds(at, days)) for days in (9, 10, 11, 12)] == [False, False, True, True]


def test_antifreeze_poured_into_pipes_has_no_inhibitors_to_use_up() -> None:
    poured = {"id": "heads", "kind": "heads", "liquid": "propylene glycol", "changed": date(2009, 1, 1)}
    assert said(record(poured)) == {}


def test_a_reading_older_than_the_change_proves_nothing_of_what_is_in_it_now() -> None:
    found = said(record({"tested": date(2013, 10, 1), "changed": date(2013, 10, 20)}))
    assert found["closed-cooling"].kind == "tested before change"
    assert found["closed-cooling"].figure.value == 19
    assert said(record({"tested": date(2013, 10, 20), "changed": date(2013, 10, 20)})) == {}


# --- What the record leaves open


@pytest.mark.parametrize(
    ("left", "fact"),
    [
        ({"state": "not proven"}, ""),
        (
            {"state": "drained", "drains": [{"name": "block", "probed": False}, {"name": "pump", "probed": True}]},
            "block",
        ),
    ],
)
def test_a_system_whose_state_nobody_proved_is_not_proven_and_never_more(left: dict[str, Any], fact: str) -> None:
    finding = said(record(left))["closed-cooling"]
    assert (finding.kind, finding.priority, finding.facts["drains"]) == ("not proven", Priority.CAUTION, fact)


def test_a_bilge_with_neither_level_nor_float_and_a_battery_without_volts_are_unseen() -> None:
    blind = record(
        bilges=[{"id": "aft", "name": "Aft bilge", "high_m": 0.1}],
        batteries=[{"id": "engine", "name": "Engine", "chemistry": "agm", "capacity_ah": 80}],
    )
    assert kinds(blind) == {"aft": "bilge unseen", "engine": "battery unseen"}
    half = record(bilges=[{"id": "aft", "name": "Aft bilge", "high_m": 0.1, "float_sensor": "bilge-float"}])
    assert kinds(half) == {}


def test_safety_kit_is_due_on_its_day() -> None:
    raft = {"id": "liferaft", "name": "Life raft", "due": TODAY + timedelta(days=3)}
    at = record(safety_kit=[raft])
    assert [kinds(at, days) for days in (2, 3)] == [{}, {"liferaft": "kit due"}]


def test_the_yard_s_own_midnight_counts() -> None:
    # 1 November 20:00 in New York is 2 November in Greenwich.
    at = record(safety_kit=[{"id": "flares", "name": "Flares", "due": date(2013, 11, 2)}])
    evening = (datetime(2013, 11, 2, 0, 30, tzinfo=UTC) - LAID_UP) / timedelta(days=1)
    assert said(at, evening, "America/New_York") == {}
    assert set(said(at, evening, "UTC")) == {"flares"}


# --- Visits. At least monthly (a boat-owners' association's claims advice), weekly afloat (REFERENCES.md).


def afloat(**changes: Any) -> Vessel:
    return record(mode="afloat laid up", berth="N1", plot=None, **changes)


@pytest.mark.parametrize(("at", "days"), [(record(), 31), (afloat(), 7)], ids=["ashore", "afloat"])
def test_the_lay_up_counts_as_the_first_visit(at: Vessel, days: int) -> None:
    assert kinds(at, days) == {}
    assert kinds(at, days + 1) == {"visit": "visit overdue"}


def test_a_visit_counts_once_its_day_has_come() -> None:
    at = record(visits=[{"on": TODAY + timedelta(days=40), "by": "R. Invented"}])
    assert [kinds(at, days) for days in (31, 33, 39)] == [{}, {"visit": "visit overdue"}, {"visit": "visit overdue"}]
    assert [bool(kinds(at, days)) for days in (40, 71, 72)] == [False, False, True]


def by_day(*days: float) -> At:
    """Outside air that changes by the day, the last for ever."""
    return lambda h: days[min(int(h // DAY_H), len(days) - 1)] + 0.01 * (round(h) % 7)


def lived(at: Vessel, days: float, outside: At) -> Aboard:
    return Aboard(at, Maintenance).live(days * DAY_H, {"outside": outside})


HARD_FROST = by_day(8, 8, -6, -7, -6, 5)  # thaws on the sixth day


def test_a_thaw_after_a_hard_frost_asks_for_a_visit_within_a_day() -> None:
    aboard = lived(record(), 12, HARD_FROST)
    (opened_h,) = aboard.opened_h(Priority.CAUTION)
    # Thawed on 6 November in the yard; nobody came on that day or the next.
    assert LAID_UP + timedelta(hours=opened_h) == datetime(2013, 11, 8, 0, 0, tzinfo=UTC)
    assert aboard.findings()["visit"].kind == "visit after thaw"


@pytest.mark.parametrize("outside", [by_day(8, -6, 8), by_day(8, -2, -2, -2, -2, 8), by_day(-6, -7, -8, -9)])
def test_one_cold_night_or_a_light_frost_or_one_that_lasts_asks_for_none(outside: At) -> None:
    assert lived(record(), 12, outside).events == []


def test_a_visit_on_the_day_of_the_thaw_or_after_it_is_enough() -> None:
    came = record(visits=[{"on": date(2013, 11, 6), "by": "R. Invented"}])
    assert lived(came, 12, HARD_FROST).events == []
    late = record(visits=[{"on": date(2013, 11, 10), "by": "R. Invented"}])
    aboard = lived(late, 12, HARD_FROST)
    assert [e.change.value for e in aboard.events] == ["opened", "returned"]


def test_another_frost_does_not_take_back_the_visit_that_is_owed() -> None:
    twice = by_day(8, 8, -6, -7, -6, 5, 5, 5, -6, -7, -6, 5)
    aboard = lived(record(), 20, twice)
    assert [e.change.value for e in aboard.events] == ["opened"]


@pytest.mark.parametrize(
    ("mode", "place"), [("ashore bung out", {}), ("afloat laid up", {"plot": None, "berth": "N1"})]
)
def test_a_record_with_its_own_visit_interval_is_held_to_that(mode: str, place: dict[str, Any]) -> None:
    at = record({"changed": date(2012, 6, 1)}, mode=mode, visit_every_days=14, **place)
    assert "visit" not in kinds(at, 14)
    found = said(at, 15)["visit"]
    assert (found.kind, found.figure.value, found.figure.limit) == ("visit overdue", 15, 14.0)


def test_an_overdue_visit_is_one_caution_that_stands_and_nags_nobody() -> None:
    aboard = lived(afloat(), 60, HARD_FROST)
    assert [e.change.value for e in aboard.events] == ["opened"]
    assert {e.priority for e in aboard.events} == {Priority.CAUTION}
    # The thaw came first; that she is overdue as well is the same visit.
    assert aboard.findings()["visit"].kind == "visit overdue"


def test_put_right_in_the_record_it_ends() -> None:
    aboard = lived(afloat(), 10, by_day(8))
    aboard.becomes(visits=afloat(visits=[{"on": date(2013, 11, 11), "by": "R. Invented"}]).visits)
    aboard.live(1, {"outside": by_day(8)})
    assert [e.change.value for e in aboard.events] == ["opened", "returned"]


@pytest.mark.parametrize("mode", [Mode.IN_COMMISSION, Mode.LAYING_UP, Mode.WORK_ABOARD])
def test_while_people_are_aboard_nothing_is_said(mode: Mode) -> None:
    assert said(record({"state": "not proven"}, mode=mode), 100) == {}


def test_gaps_in_the_air_outside_make_no_frost() -> None:
    thaw = Thaw()
    for hour, degc in ((0, -8.0), (100, -8.0), (200, 5.0), (207, 5.0)):
        feel_outside(thaw, hour * HOUR, degc)
    assert thaw.thawed_ms is None


def test_the_next_look_is_the_yard_s_midnight_also_when_the_clocks_change() -> None:
    rule = Maintenance(record())
    zone = ZoneInfo("America/New_York")
    rule.surroundings = Surroundings(calendar=YardCalendar(zone=zone.key))
    for day in (1, 2, 3, 4):  # summer time ends there on 3 November 2013
        now = datetime(2013, 11, day, 15, 0, tzinfo=zone)
        look = rule.next_look(MaintenanceState(), round(now.timestamp() * 1000))
        assert look == round(datetime(2013, 11, day + 1, 0, 0, tzinfo=zone).timestamp() * 1000)


def test_visits_and_safety_kit_come_back_from_the_document() -> None:
    at = record(
        {"inhibitor": "organic acid"},
        visits=[{"on": date(2013, 12, 1), "by": "R. Invented", "note": "Dry"}],
        safety_kit=[{"id": "liferaft", "name": "Life raft", "due": date(2014, 6, 1)}],
    )
    assert read_vessel(write_vessel(at), "tern.toml") == at


def test_safety_kit_may_not_bear_the_name_of_something_else_aboard() -> None:
    kit = [{"id": "bilge", "name": "Bilge pump", "due": date(2014, 6, 1)}]
    with pytest.raises(ValueError, match=r"one list of ids.*'bilge' stands 2 times"):
        record(safety_kit=kit)


def test_state_comes_back_from_json_and_judging_costs_little() -> None:
    aboard = lived(record({"changed": date(2005, 1, 1)}, safety_kit=[]), 90, HARD_FROST)
    assert round_trips(aboard.state, MaintenanceState)
    rule = Maintenance(aboard.record)
    began = time.perf_counter()
    for n in range(500):
        rule.judge(aboard.state, aboard.now_ms + n)
    assert (time.perf_counter() - began) / 500 < 300e-6  # ten times what is wanted of it


def test_every_limit_says_where_it_is_from_and_why() -> None:
    assert all(row.source and row.reason and row.do for row in Maintenance.limits.rows.values())
