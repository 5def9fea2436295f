"""The round: which boats, why, in which order, what to look at; hand readings held against sensors; visits counted."""

from dataclasses import replace
from datetime import date
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from boats import DAY, HOUR, LAID_UP_MS, boat, sensor

from monitor.model.alert import Alert
from monitor.model.finding import Figure, Finding, TimeToHarm
from monitor.model.inputs import VisitReport
from monitor.model.scale import AlertState, Priority, Sure
from monitor.model.views import StoredRecord, VesselNow
from monitor.model.visit import Found, HandReading, Read, VisitNote
from monitor.record.checks import checks_for, takings_for
from monitor.record.compare import Agreement, compare
from monitor.record.round import Round, Why, stop_at, todays_round
from monitor.record.round_limits import LIMITS
from monitor.record.visit_count import count_visits
from monitor.record.visit_due import visit_due

ZONE = ZoneInfo("Europe/London")
NOW_MS = LAID_UP_MS + 10 * DAY  # Monday 11 November 2013, 9:00
TODAY = date(2013, 11, 11)


def alert(vessel: str = "tern", rule: str = "frost", subject: str = "closed-cooling", **changes: Any) -> Alert:
    harm_s = changes.pop("harm_s", None)
    priority = changes.pop("priority", Priority.ALARM)
    finding = Finding(
        rule=rule,
        subject=subject,
        kind=changes.pop("kind", "margin"),
        priority=priority,
        figure=Figure(changes.pop("value", None), None, ""),
        harm=None if harm_s is None else TimeToHarm(harm_s, None),
        sure=Sure.LIKELY,
        causes=(),
        first=(),
        never=(),
    )
    name = f"{vessel}-{rule}-{subject}"
    made = Alert(name, vessel, rule, subject, AlertState.UNACKNOWLEDGED, priority, priority, NOW_MS - HOUR, finding)
    return replace(made, **changes)


def now(*alerts: Alert, **changes: Any) -> VesselNow:
    return VesselNow(StoredRecord(boat(**changes), 1, LAID_UP_MS, "R. Invented"), NOW_MS, list(alerts))


def report(vessel: str = "tern", at_ms: int = NOW_MS, found: Found = Found.WELL, **changes: Any) -> VisitReport:
    return VisitReport(vessel, at_ms, "Anna Tolley", VisitNote(found, **changes))


def round_of(*boats: VesselNow, last: VisitReport | None = None, at_ms: int = NOW_MS) -> Round:
    return todays_round(boats, lambda _: last, at_ms, ZONE)


def whys(boat_now: VesselNow, last: VisitReport | None = None, at_ms: int = NOW_MS) -> list[Why]:
    return [r.why for r in stop_at(boat_now, last, at_ms, ZONE).reasons]


def test_a_boat_that_nothing_is_wrong_with_is_not_on_the_round() -> None:
    assert round_of(now()).stops == ()


@pytest.mark.parametrize(
    ("changes", "why"),
    [
        ({"priority": Priority.ALARM}, [Why.ALARM]),
        ({"priority": Priority.WARNING}, [Why.WARNING]),
        ({"priority": Priority.CAUTION}, []),
        ({"priority": Priority.CAUTION, "rule": "silence"}, [Why.SILENCE]),
        ({"priority": Priority.ALARM, "rule": "silence"}, [Why.ALARM]),
        ({"latching": True}, [Why.ALARM]),
        ({"latching": True, "state": AlertState.LATCHED, "returned_ms": NOW_MS}, [Why.UNCONFIRMED]),
        ({"latching": True, "confirmed_ms": NOW_MS}, [Why.ALARM]),
        ({"confirmed_ms": NOW_MS, "priority": Priority.WARNING}, [Why.WARNING]),
        ({"confirmed_ms": NOW_MS, "rule": "silence", "priority": Priority.CAUTION}, [Why.SILENCE]),
        ({"latching": True, "confirmed_ms": NOW_MS, "returned_ms": NOW_MS}, []),
        ({"confirmed_ms": NOW_MS, "returned_ms": NOW_MS}, []),
        ({"latching": True, "confirmed_ms": NOW_MS, "state": AlertState.SHELVED}, []),
        ({"state": AlertState.RETURNED_UNACKNOWLEDGED, "returned_ms": NOW_MS}, []),
        ({"state": AlertState.ACKNOWLEDGED, "acknowledged_ms": NOW_MS}, [Why.ALARM]),
        ({"state": AlertState.SHELVED}, []),
        ({"state": AlertState.OUT_OF_SERVICE, "latching": True}, []),
        ({"rule": "maintenance", "subject": "raft", "priority": Priority.CAUTION}, []),
    ],
)
def test_what_asks_for_a_visit(changes: dict[str, Any], why: list[Why]) -> None:
    assert whys(now(alert(**changes))) == why


def test_the_reasons_of_a_boat_begin_with_alarms_by_time_to_harm_and_what_has_cleared_comes_after_what_stands() -> None:
    found = stop_at(
        now(
            alert(subject="a", harm_s=9_000),
            alert(subject="b", harm_s=3_000),
            alert(rule="bilge", subject="bilge", latching=True, returned_ms=NOW_MS),
            alert(rule="battery", subject="house", priority=Priority.WARNING),
        ),
        None,
        NOW_MS,
        ZONE,
    )
    assert [r.alert.subject for r in found.reasons if r.alert is not None] == ["b", "a", "house", "bilge"]
    assert [a.subject for a in found.alerts] == ["b", "a", "house", "bilge"]


# The maintenance rule: ashore at least monthly (31 d), afloat weekly (7 d); overdue on the day after.
@pytest.mark.parametrize(
    ("mode", "days", "why"),
    [
        ("ashore bung in", 30, []),
        ("ashore bung in", 31, [Why.DUE]),
        ("ashore bung in", 32, [Why.OVERDUE]),
        ("afloat laid up", 6, []),
        ("afloat laid up", 7, [Why.DUE]),
        ("afloat laid up", 8, [Why.OVERDUE]),
        ("work aboard", 300, []),
    ],
)
def test_a_visit_falls_due_by_her_interval(mode: str, days: int, why: list[Why]) -> None:
    place = {"berth": "A1", "plot": None} if mode == "afloat laid up" else {}
    assert whys(now(mode=mode, **place), at_ms=LAID_UP_MS + days * DAY) == why


def test_a_visit_that_was_written_down_aboard_counts_like_one_in_the_record() -> None:
    at = LAID_UP_MS + 40 * DAY
    overdue = alert(rule="maintenance", subject="visit", kind="visit overdue", priority=Priority.CAUTION)
    assert whys(now(overdue), at_ms=at) == [Why.OVERDUE]
    assert whys(now(overdue), report(at_ms=at - DAY), at_ms=at) == []
    assert whys(now(overdue, visits=[{"on": date(2013, 12, 10), "by": "R. Invented"}]), at_ms=at) == []


def test_a_visit_of_the_record_that_is_still_to_come_does_not_count() -> None:
    record = boat(visits=[{"on": date(2013, 12, 20), "by": "R. Invented"}])
    due = visit_due(record, None, TODAY, ZONE)
    assert due is not None
    assert (due.last, due.on, due.visited) == (date(2013, 11, 1), date(2013, 12, 2), False)
    visited = visit_due(record, date(2013, 11, 4), TODAY, ZONE)
    assert visited is not None
    assert visited.visited


def test_after_a_thaw_somebody_goes_once() -> None:
    thawed = alert(rule="maintenance", subject="visit", kind="visit after thaw", value=2.0, priority=Priority.CAUTION)
    assert whys(now(thawed)) == [Why.THAW]
    assert whys(now(thawed), report(at_ms=NOW_MS - 3 * DAY)) == [Why.THAW]
    assert whys(now(thawed), report(at_ms=NOW_MS - DAY)) == []


def test_the_boats_stand_in_walking_order_ashore_first() -> None:
    boats = [
        now(alert(), id="a", berth="A1", plot=None, mode="afloat laid up"),
        now(alert(), id="b", plot="B10"),
        now(alert(), id="c", plot="B9"),
    ]
    assert [s.vessel.id for s in round_of(*boats).stops] == ["c", "b", "a"]


def test_of_too_many_boats_the_less_pressing_ones_wait_and_are_counted() -> None:
    room = round(LIMITS["boats"])
    calm = [now(alert(priority=Priority.WARNING), id=f"w{n}", plot=f"A{n}") for n in range(room)]
    found = round_of(*calm, now(alert(), id="urgent", plot="Z99"))
    assert len(found.stops) == room
    assert found.left_out == 1
    assert found.stops[-1].vessel.id == "urgent"
    assert f"w{room - 1}" not in {s.vessel.id for s in found.stops}


FULL: dict[str, Any] = {
    "mode": "afloat laid up",
    "berth": "A1",
    "plot": None,
    "shore_power": {"on": True},
    "seacocks": [
        {"id": "heads", "name": "Heads", "open": False},
        {"id": "drain", "name": "Cockpit drain", "open": True, "reason": "Rain runs out"},
    ],
    "liquid_systems": [
        {"id": "water", "name": "Fresh water", "kind": "fresh water", "state": "wet", "sensor": "engine-space"},
        {"id": "heads-pipe", "name": "Heads", "kind": "heads", "state": "not proven"},
        {
            "id": "raw",
            "name": "Raw water",
            "kind": "raw water",
            "state": "drained",
            "drains": [{"name": "block", "probed": True}],
        },
    ],
    "dehumidifier": {"running": True, "space": "saloon"},
    "sensors": [
        *(sensor(n, "temperature") for n in ("outside", "engine-space", "cabin")),
        *(sensor(n, q) for n, q in (("bilge-level", "level"), ("bilge-float", "float_switch"))),
        *(sensor(n, q) for n, q in (("house-volts", "voltage"), ("cabin-rh", "humidity"))),
    ],
    "spaces": [{"id": "saloon", "name": "Saloon", "humidity_sensor": "cabin-rh", "temperature_sensor": "cabin"}],
}


def test_what_to_look_at_follows_from_the_record() -> None:
    codes = [c.code for c in checks_for(boat(**FULL))]
    assert codes == [
        *("floats", "shore_lead", "cover", "lines", "bilge.bilge", "gland", "seacock_open.drain", "seacock_shut.heads"),
        *("battery.house", "wet_system.water", "wet_system.heads-pipe", "dehumidifier.saloon", "heater", "smell"),
    ]


def test_what_an_alert_is_about_is_looked_at_first_and_a_silent_sensor_too() -> None:
    codes = [c.code for c in checks_for(boat(**FULL), {"house", "cabin-rh"})]
    assert codes[:2] == ["battery.house", "sensor.cabin-rh"]


@pytest.mark.parametrize(
    ("changes", "codes", "cautions"),
    [
        ({"mode": "work aboard", "plot": None, "berth": "A1"}, {"floats", "lines", "gland"}, {"never_alone_afloat"}),
        ({"mode": "work aboard"}, {"props"}, {"ladder"}),
        ({"mode": "in slings"}, set(), set()),
        ({"mode": "in slings", "plot": None, "berth": "A1"}, set(), set()),
        ({"mode": "moving", "plot": None}, set(), set()),
    ],
)
def test_what_hangs_on_where_she_lies_follows_her_place(
    changes: dict[str, Any], codes: set[str], cautions: set[str]
) -> None:
    record = boat(**changes)
    assert {c.code for c in checks_for(record)} & {"floats", "lines", "gland", "props"} == codes
    here = stop_at(now(**changes), None, NOW_MS, ZONE).cautions
    assert set(here) & {"never_alone_afloat", "ladder"} == cautions


def test_where_there_is_water_what_lets_it_in_is_looked_at_next() -> None:
    codes = [c.code for c in checks_for(boat(**FULL), {"bilge", "bilge-level"})]
    wanted = ["bilge.bilge", "gland", "seacock_open.drain", "seacock_shut.heads", "sensor.bilge-level", "floats"]
    assert codes[:6] == wanted


def test_where_the_power_is_gone_the_lead_is_looked_at_first() -> None:
    assert checks_for(boat(**FULL), {"shore-power"})[0].code == "shore_lead"
    charged = boat(**FULL).model_copy(update={"batteries": (boat().batteries[0].model_copy(update={"charger": True}),)})
    assert [c.code for c in checks_for(charged, {"house"})][:2] == ["battery.house", "shore_lead"]


def test_where_the_air_is_damp_the_dehumidifier_and_the_smell_come_before_the_sensors() -> None:
    assert checks_for(boat(**FULL), {"dehumidifier", "cabin-rh"})[0].code == "dehumidifier.saloon"
    codes = [c.code for c in checks_for(boat(**FULL), {"saloon", "cabin-rh"})]
    assert codes[:3] == ["dehumidifier.saloon", "smell", "sensor.cabin-rh"]


def test_a_system_in_trouble_is_looked_at_however_it_was_left() -> None:
    assert "kept_system.closed-cooling" not in {c.code for c in checks_for(boat())}
    assert checks_for(boat(), {"closed-cooling"})[0].code == "kept_system.closed-cooling"
    assert "kept_system.closed-cooling" in {c.code for c in stop_at(now(), None, NOW_MS, ZONE).all_checks}


def test_ashore_nobody_looks_at_glands_and_lines() -> None:
    codes = {c.code for c in checks_for(boat(mode="ashore bung out"))}
    assert {"bung_out", "props"} <= codes
    assert not {"gland", "lines", "floats"} & codes


def test_what_is_read_by_hand_names_the_sensor_that_should_say_the_same() -> None:
    found = [(t.what, t.subject, t.sensor) for t in takings_for(boat(**FULL))]
    assert found == [
        (Read.DIP, "bilge", "bilge-level"),
        (Read.VOLTS, "house", "house-volts"),
        (Read.HUMIDITY, "saloon", "cabin-rh"),
        (Read.TEMPERATURE, "saloon", "cabin"),
    ]


def test_a_long_list_is_cut_and_says_so() -> None:
    cocks = [{"id": f"s{n}", "name": f"Cock {n}", "open": False} for n in range(40)]
    stop = stop_at(now(seacocks=cocks), None, NOW_MS, ZONE)
    assert len(stop.checks) == LIMITS["checks"]
    assert len(stop.checks) + stop.left_out == len(checks_for(boat(seacocks=cocks)))
    assert len(stop.all_checks) > len(stop.checks)


def test_cautions_fit_where_she_is() -> None:
    afloat = stop_at(now(**FULL), None, NOW_MS, ZONE)
    assert afloat.cautions == ("never_alone_afloat", "shore_power_first", "gas_smell")
    assert stop_at(now(), None, NOW_MS, ZONE).cautions == ("gas_smell", "ladder")
    wet = stop_at(now(alert(rule="bilge", subject="bilge")), None, NOW_MS, ZONE)
    assert "shore_power_first" in wet.cautions


# Allowed is 2 * sqrt(sensor**2 + hand**2), worked by hand. Sensor errors are the usual ones of `model/equipment.py`:
# level 3 mm, voltage 0.03 V, humidity 3 %, temperature 0.5 K; the hand's are those of `round_limits`.
# 2*sqrt(3**2+5**2) = 11.66 mm; 2*sqrt(0.03**2+(0.004*12.5)**2) = 0.1166 V; 2*sqrt(3**2+4**2) = 10 %;
# 2*sqrt(0.5**2+1**2) = 2.236 K.
@pytest.mark.parametrize(
    ("what", "value", "said", "allowed", "verdict"),
    [
        (Read.DIP, 0.040, 0.029, 0.01166, Agreement.AGREE),
        (Read.DIP, 0.040, 0.028, 0.01166, Agreement.DIFFER),
        (Read.DIP, 0.0, 0.040, 0.01166, Agreement.DIFFER),
        (Read.VOLTS, 12.5, 12.39, 0.1166, Agreement.AGREE),
        (Read.VOLTS, 12.5, 12.38, 0.1166, Agreement.DIFFER),
        (Read.HUMIDITY, 70.0, 80.0, 10.0, Agreement.AGREE),
        (Read.HUMIDITY, 70.0, 80.1, 10.0, Agreement.DIFFER),
        (Read.TEMPERATURE, -2.0, 0.2, 2.236, Agreement.AGREE),
        (Read.TEMPERATURE, -2.0, 0.3, 2.236, Agreement.DIFFER),
    ],
)
def test_hand_and_sensor_differ_beyond_two_combined_sigma(
    what: Read, value: float, said: float, allowed: float, verdict: Agreement
) -> None:
    found = compare(HandReading(what, "x", value, "gone-sensor", said, NOW_MS), None, NOW_MS)
    assert found.verdict is verdict
    assert found.allowed == pytest.approx(allowed, rel=1e-3)
    assert found.difference == pytest.approx(abs(value - said))


def test_the_error_in_the_record_goes_before_the_usual_one() -> None:
    record = boat(
        sensors=[
            *(sensor(n, "temperature") for n in ("outside", "engine-space")),
            sensor("bilge-level", "level") | {"error": 0.03},
            *(sensor(n, q) for n, q in (("bilge-float", "float_switch"), ("house-volts", "voltage"))),
        ]
    )
    reading = HandReading(Read.DIP, "bilge", 0.0, "bilge-level", 0.04, NOW_MS)
    assert compare(reading, None, NOW_MS).verdict is Agreement.DIFFER
    assert compare(reading, record.sensor("bilge-level"), NOW_MS).verdict is Agreement.AGREE


def test_what_cannot_be_compared_says_why() -> None:
    level = boat().sensor("bilge-level")  # reports each hour
    reading = HandReading(Read.DIP, "bilge", 0.0, "bilge-level", 0.0, NOW_MS)
    assert compare(reading, level, NOW_MS + 3 * HOUR).verdict is Agreement.AGREE
    assert compare(reading, level, NOW_MS + 3 * HOUR + 1).verdict is Agreement.OLD
    assert compare(replace(reading, sensor_value=None, sensor_ms=None), level, NOW_MS).verdict is Agreement.UNHEARD
    assert compare(replace(reading, sensor=None), None, NOW_MS).verdict is Agreement.NO_SENSOR


def test_visits_are_counted_with_what_stands_behind_each_number() -> None:
    off = HandReading(Read.DIP, "bilge", 0.0, "bilge-level", 0.04, NOW_MS)
    like = HandReading(Read.VOLTS, "house", 12.6, "house-volts", 12.6, NOW_MS)
    unheard = HandReading(Read.DIP, "bilge", 0.0, "bilge-level")
    well = report(readings=(off, like, unheard))
    false = report(at_ms=NOW_MS - 1, found=Found.FALSE_CALL)
    partly = report(at_ms=NOW_MS - 2, found=Found.AS_TOLD, confirmed=("a", "b"), nothing_wrong=("b",))
    missed = report(at_ms=NOW_MS - 3, found=Found.NOT_TOLD)
    before = report(at_ms=NOW_MS - DAY - 1, found=Found.NOT_TOLD)
    found = count_visits([well, false, partly, missed, before], {"tern": boat()}, NOW_MS - DAY, NOW_MS)
    assert found.visits == (well, false, partly, missed)
    assert found.false_calls == (false, partly)
    assert found.missed == (missed,)
    assert [(d.visit, d.comparison.reading) for d in found.disagreements] == [(well, off)]
    assert found.compared == 2
