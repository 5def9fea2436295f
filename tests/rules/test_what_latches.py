"""Which findings stay until somebody has been aboard, which are told whoever is aboard, and reported visits."""

import pytest
from aboard import Aboard, round_trips
from boats import DAY, HOUR, LAID_UP_MS, MINUTE, boat, sensor

from monitor.model.alert import AlertChange
from monitor.model.inputs import Clock, VisitReport
from monitor.model.reading import Reading
from monitor.model.scale import Priority
from monitor.model.surroundings import Surroundings, YardCalendar
from monitor.model.vessel import Vessel
from monitor.model.visit import Found, VisitNote
from monitor.rules.battery import Batteries
from monitor.rules.bilge import Bilge
from monitor.rules.bilge_say import ALWAYS_TOLD, LATCHES
from monitor.rules.frost import Frost
from monitor.rules.maintenance import VISITS_KEPT, Maintenance, MaintenanceState

WEEK_H = 7 * 24.0
OVER = {AlertChange.RETURNED, AlertChange.LATCHED, AlertChange.ENDED}


def with_system(how: str) -> Vessel:
    """A boat whose one system is treated to -20 degC, wet or not proven, and freezes at 0 degC where not treated."""
    system = boat().model_dump()["liquid_systems"][0]
    if how != "treated":
        system = {
            "id": "closed-cooling",
            "name": "Cooling",
            "kind": "raw water",
            "state": how,
            "sensor": "engine-space",
        }
    sensors = [sensor("outside", "temperature"), sensor("engine-space", "temperature")]
    return boat(sensors=sensors, liquid_systems=[system], bilges=[], batteries=[])


@pytest.mark.parametrize(
    ("how", "coldest", "change"),
    [
        # Treated to -20 degC, 1.5 K of errors: exposed below -18.5.
        ("treated", -17.0, AlertChange.RETURNED),
        ("treated", -19.0, AlertChange.LATCHED),
        ("treated", -24.0, AlertChange.LATCHED),
        # Water freezes at 0 degC; 0.5 K of error: exposed below 0.5.
        ("wet", 2.0, AlertChange.RETURNED),
        ("wet", -0.5, AlertChange.LATCHED),
        ("not proven", 2.0, AlertChange.RETURNED),
        ("not proven", -0.5, AlertChange.LATCHED),
    ],
)
def test_frost_latches_where_it_was_measured_below_the_point_and_not_where_it_only_came_near(
    how: str, coldest: float, change: AlertChange
) -> None:
    aboard = Aboard(with_system(how), Frost)
    aboard.live(24, {"engine-space": lambda _: 8.0}).live(8, {"engine-space": lambda _: coldest})
    assert aboard.watch.open_alerts()
    aboard.live(WEEK_H, {"engine-space": lambda _: 8.0})
    assert [e.change for e in aboard.events if e.change in OVER] == [change]


def test_one_reading_below_the_point_is_enough_though_the_alert_stood_before_it() -> None:
    aboard = Aboard(with_system("wet"), Frost)
    aboard.live(24, {"engine-space": lambda _: 1.0})
    at = aboard.now_ms + MINUTE
    aboard.events += aboard.watch.fold(Reading("tern", "engine-space", at, at, at, -0.2)).events
    aboard.live(WEEK_H, {"engine-space": lambda _: 8.0})
    assert [e.change for e in aboard.events if e.change in OVER] == [AlertChange.LATCHED]


def test_the_bilge_kinds_that_latch_and_that_are_always_told() -> None:
    # The list is the house's: water that was there leaves a mark; a rise alone may be rain that the pump took out.
    assert {"float", "high", "water or sensor", "silent after rise", "was high unheard"} == LATCHES
    assert {"float", "high", "water or sensor"} == ALWAYS_TOLD
    aboard = Aboard(boat(), Bilge).live(
        12, {"bilge-level": lambda h: 0.02 + 0.001 * (h % 2), "bilge-float": lambda _: 0.0}
    )
    at = aboard.now_ms + MINUTE
    aboard.events += aboard.watch.fold(Reading("tern", "bilge-float", at, at, at, 1.0)).events
    finding = aboard.findings()["bilge"]
    assert (finding.latches, finding.always_told) == (True, True)
    aboard.live(24, {"bilge-level": lambda h: 0.02 + 0.001 * (h % 2), "bilge-float": lambda _: 0.0})
    assert [e.change for e in aboard.events if e.change in OVER] == [AlertChange.LATCHED]


@pytest.mark.parametrize(("degc", "latches"), [(-12.0, True), (5.0, False)])
def test_a_battery_that_may_be_frozen_latches_and_one_that_is_only_flat_does_not(degc: float, latches: bool) -> None:
    # A flat battery (specific gravity 1.120) freezes near -10 degC (US Army tables).
    said = {"house-volts": lambda h: 11.7 + 0.01 * (h % 2), "engine-space": lambda _: degc, "outside": lambda _: degc}
    finding = Aboard(boat(), Batteries).live(72, said).findings()["house"]
    assert (finding.kind, finding.latches, finding.always_told) == ("low", latches, False)


# --- Visits that are reported


def afloat() -> Vessel:
    return boat(mode="afloat laid up", plot=None, berth="A1", liquid_systems=[], bilges=[], batteries=[])


def visit_told(*visits_d: float, today_d: float, zone: str = "UTC") -> bool:
    rule, state = Maintenance(afloat()), MaintenanceState()
    rule.surroundings = Surroundings(calendar=YardCalendar(zone=zone))
    for day in visits_d:
        rule.visited(state, LAID_UP_MS + round(day * DAY), VisitNote(Found.WELL))
    return any(f.subject == "visit" for f in rule.judge(state, LAID_UP_MS + round(today_d * DAY)))


def test_a_visit_that_is_reported_counts_like_one_of_the_record() -> None:
    assert visit_told(today_d=20)
    assert not visit_told(19, today_d=20)
    assert visit_told(21, today_d=20)  # a day that is judged late: the visit is still to come
    assert not visit_told(19, 21, today_d=20)


def test_a_visit_is_of_the_yard_s_own_day() -> None:
    interval_d = Maintenance.limits["visit_afloat"]
    # 1 November 9:00 UTC and a half day is 21:00 UTC: in Auckland it is the morning of 2 November.
    today_d = interval_d + 0.8
    assert visit_told(0.5, today_d=today_d) is True
    assert visit_told(0.5, today_d=today_d, zone="Pacific/Auckland") is False


def test_visits_are_bounded_and_come_back_from_json() -> None:
    rule, state = Maintenance(afloat()), MaintenanceState()
    for day in (5, 3, 9, 3, 12, 1, 20):
        rule.visited(state, LAID_UP_MS + day * DAY, VisitNote(Found.WELL))
    assert state.visits_ms == [LAID_UP_MS + day * DAY for day in (5, 9, 12, 20)]
    assert len(state.visits_ms) == VISITS_KEPT
    assert round_trips(state, MaintenanceState)


def test_a_visit_ends_what_was_owed_at_the_next_tick() -> None:
    aboard = Aboard(afloat(), Maintenance).live(20 * 24, {"outside": lambda _: 8.0}, every_h=6)
    assert [a.subject for a in aboard.watch.open_alerts()] == ["visit"]
    aboard.watch.fold(VisitReport("tern", aboard.now_ms, "R. Invented", VisitNote(Found.WELL)))
    events = aboard.watch.fold(Clock(aboard.now_ms + HOUR)).events
    assert [(e.change, e.priority) for e in events] == [(AlertChange.RETURNED, Priority.CAUTION)]
