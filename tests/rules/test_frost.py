"""The frost rule: margins against the tested point, wet systems against the hours ahead, batteries at their charge."""

from datetime import date
from typing import Any

import pytest
from aboard import Aboard, At, json_bytes, round_trips
from boats import HOUR, LAID_UP_MS, boat, sensor

from monitor.model.finding import Finding
from monitor.model.inputs import Clock
from monitor.model.reading import Reading
from monitor.model.scale import Priority, Sure
from monitor.model.vessel import Mode, Vessel
from monitor.rules.frost import Frost, FrostState
from monitor.watch import Watch

DAY_H = 24.0


def treated(freeze_degc: float = -20.0, tester: str = "refractometer", **changes: Any) -> dict[str, Any]:
    return {
        "id": "cooling",
        "name": "Closed cooling",
        "kind": "closed cooling",
        "state": "treated",
        "liquid": "ethylene glycol",
        "tested_freeze_degc": freeze_degc,
        "tester": tester,
        "tested": date(2013, 10, 30),
        "sensor": "engine-space",
    } | changes


def wet(**changes: Any) -> dict[str, Any]:
    pipes = {"id": "pipes", "name": "Fresh water", "kind": "fresh water", "state": "wet", "sensor": "engine-space"}
    return pipes | changes


def record(*systems: dict[str, Any], batteries: tuple[dict[str, Any], ...] = ()) -> Vessel:
    sensors = [sensor("outside", "temperature"), sensor("engine-space", "temperature"), sensor("volts", "voltage")]
    return boat(sensors=sensors, liquid_systems=list(systems), bilges=[], batteries=list(batteries))


def house(**changes: Any) -> dict[str, Any]:
    return {
        "id": "house",
        "name": "House battery",
        "chemistry": "flooded",
        "capacity_ah": 100,
        "voltage_sensor": "volts",
        "temperature_sensor": "engine-space",
    } | changes


def steady(value: float) -> At:
    return lambda _: value


def lived(at: Vessel, hours: float, degc: At, **others: At) -> Aboard:
    return Aboard(at, Frost).live(hours, {"volts": steady(12.65), **others, "engine-space": degc})


def said(at: Vessel, degc: float, **others: At) -> Finding | None:
    found = lived(at, 6, steady(degc), **others).findings()
    return next(iter(found.values()), None)


# REFERENCES.md: refractometer to ASTM D3321 +/-1 K, and an ordinary thermometer's 0.5 K, against a point tested at
# -20 degC: nothing above -13.5, caution inside 5 K of the errors, warning inside the errors, alarm at the point itself.
@pytest.mark.parametrize(
    ("degc", "priority"),
    [
        (-13.4, None),
        (-13.6, Priority.CAUTION),
        (-18.4, Priority.CAUTION),
        (-18.6, Priority.WARNING),
        (-19.9, Priority.WARNING),
        (-20.1, Priority.ALARM),
    ],
)
def test_treated_coolant_is_graded_by_its_margin(degc: float, priority: Priority | None) -> None:
    finding = said(record(treated()), degc)
    assert (None if finding is None else finding.priority) == priority


def test_a_ball_testers_error_widens_the_warning_and_not_the_alarm() -> None:
    # +/-5 K (common practice): a warning from 5.5 K over the tested point.
    at = record(treated(tester="ball tester"))
    assert [f.priority if (f := said(at, d)) else None for d in (-9.0, -14.0, -15.0, -19.9, -20.1)] == [
        None,
        Priority.CAUTION,
        Priority.WARNING,
        Priority.WARNING,
        Priority.ALARM,
    ]


def test_sound_coolant_on_an_ordinary_frost_night_is_left_alone() -> None:
    # 30 % ethylene glycol by mass freezes at -14.6 degC (CoolProp, Melinder).
    assert said(record(treated(-14.6)), -5.0) is None


def test_water_left_in_pipes_is_an_alarm_before_it_freezes() -> None:
    # 1 K an hour downwards from 6 degC: foretold to +1 degC six hours before it is there.
    aboard = lived(record(wet()), 12, lambda h: 6.0 - max(h - 4, 0.0) * 1.0)
    opened = aboard.opened_h(Priority.ALARM)
    assert opened
    assert 6.0 - (opened[0] - 4) > 0.5


def test_sea_water_of_measured_salinity_freezes_at_its_own_point() -> None:
    # S = 35: -1.922 degC (UNESCO 1983).
    salt = wet(kind="raw water", liquid="sea water", salinity_g_per_kg=35.0)
    finding = said(record(salt), 1.5)
    assert finding is not None
    assert finding.facts["protected_to_degc"] == pytest.approx(-1.9)
    assert finding.priority is Priority.CAUTION


def test_sea_water_whose_salinity_was_not_measured_counts_as_fresh() -> None:
    finding = said(record(wet(kind="raw water", liquid="sea water")), 0.5)
    assert finding is not None
    assert finding.facts["protected_to_degc"] == 0.0
    assert finding.priority is Priority.ALARM


def test_a_system_drained_and_probed_cannot_freeze() -> None:
    drained = wet(state="drained", drains=[{"name": "sump", "probed": True}])
    assert said(record(drained), -15.0) is None


def test_a_drain_not_probed_is_not_proven_and_warns() -> None:
    drained = wet(state="drained", drains=[{"name": "sump", "probed": True}, {"name": "tap", "probed": False}])
    finding = said(record(drained), -3.0)
    assert finding is not None
    assert (finding.kind, finding.priority) == ("wet", Priority.WARNING)
    assert finding.causes[0] == "state_not_proven"


# A flat battery (1.120, 11.89 V at rest) freezes near -10 degC, a full one not above -47 degC (US Army tables, and the
# warmer of the sources).
@pytest.mark.parametrize(("volts", "degc", "warned"), [(12.65, -15.0, False), (11.76, -6.0, True), (12.4, -6.0, False)])
def test_a_battery_freezes_by_its_charge(volts: float, degc: float, warned: bool) -> None:
    finding = said(record(batteries=(house(),)), degc, volts=steady(volts))
    assert (finding is not None) == warned
    if finding is not None:
        assert "no_charging_frozen" in finding.never


def test_an_isolator_that_is_off_is_no_frozen_battery() -> None:
    assert said(record(batteries=(house(),)), -6.0, volts=steady(0.0)) is None


def test_lithium_has_no_electrolyte_to_freeze() -> None:
    assert said(record(batteries=(house(chemistry="lifepo4"),)), -15.0) is None


def test_a_hatch_opened_for_a_quarter_of_an_hour_is_no_frost() -> None:
    aboard = Aboard(record(treated()), Frost)
    aboard.live(6, {"engine-space": lambda h: -15.0 if 3.0 <= h < 3.25 else 0.0}, every_h=1 / 60)
    assert aboard.events == []


def test_nights_at_the_edge_are_one_alert_and_not_one_each_night() -> None:
    aboard = lived(record(treated()), 3 * DAY_H, lambda h: -13.8 if h % 8 < 5 else -13.2)
    assert len(aboard.opened_h(Priority.CAUTION)) == 1


def test_no_temperature_is_not_known_and_opens_nothing() -> None:
    aboard = Aboard(record(treated()), Frost).live(6, {"outside": steady(3.0)})
    finding = aboard.findings()["cooling"]
    assert (finding.kind, finding.sure) == ("not known", Sure.NOT_KNOWN)
    assert aboard.events == []


def test_silence_does_not_lower_what_was_held() -> None:
    aboard = lived(record(treated()), 6, steady(-20.2))
    aboard.live(6, {"outside": steady(0.0)}).findings()
    # Back just above the point, inside the deadband of the alarm that stood.
    aboard.live(1, {"engine-space": steady(-19.8)})
    assert aboard.findings()["cooling"].priority is Priority.ALARM


def late(aboard: Aboard, hour: float, degc: float) -> None:
    at = LAID_UP_MS + round(hour * HOUR)
    rule = Frost(aboard.record)
    rule.see_late(aboard.state, Reading("tern", "engine-space", at, at, aboard.now_ms, degc, late=True))


def test_a_freeze_that_came_to_our_ears_late_is_a_warning_for_three_days() -> None:
    aboard = lived(record(wet()), 48, steady(9.0))
    late(aboard, 30.0, -2.0)
    late(aboard, 33.0, -3.5)
    finding = aboard.findings()["pipes"]
    assert (finding.kind, finding.priority) == ("froze unheard", Priority.WARNING)
    assert finding.facts["lowest_degc"] == -3.5
    aboard.live(33 + 73 - 48, {"engine-space": steady(9.0)})
    assert aboard.findings() == {}


def test_a_freeze_heard_late_is_not_hidden_by_a_mere_caution_of_now() -> None:
    aboard = lived(record(wet()), 48, steady(3.0))
    assert aboard.findings()["pipes"].priority is Priority.CAUTION
    late(aboard, 30.0, -2.0)
    assert aboard.findings()["pipes"].kind == "froze unheard"


def test_the_weakest_is_named() -> None:
    aboard = lived(record(treated(), treated(-15.0, id="port", name="Port engine")), 6, steady(-14.0))
    assert {s: f.facts["weakest"] for s, f in aboard.findings().items()} == {"cooling": False, "port": True}


def test_the_next_look_is_when_the_temperature_grows_stale() -> None:
    aboard = lived(record(treated()), 6, steady(5.0))
    rule = Frost(aboard.record)
    look = rule.next_look(aboard.state, aboard.now_ms)
    assert look is not None
    assert look > aboard.now_ms
    assert rule.judge(aboard.state, aboard.now_ms) == []
    assert [f.kind for f in rule.judge(aboard.state, look)] == ["not known"]


def test_nothing_is_said_in_commission() -> None:
    at = record(wet()).model_copy(update={"mode": Mode.IN_COMMISSION})
    assert lived(at, 6, steady(-10.0)).findings() == {}


def test_state_is_bounded_and_comes_back_from_json() -> None:
    aboard = Aboard(record(wet(), batteries=(house(),)), Frost)
    sensors: dict[str, At] = {"engine-space": lambda h: h % 24 - 12, "volts": steady(12.5)}
    aboard.live(24, sensors, every_h=1 / 60)
    assert round_trips(aboard.state, FrostState)
    assert json_bytes(aboard.state, FrostState) < 8_000


def test_a_battery_near_its_freezing_point_has_not_thawed_because_its_meter_died() -> None:
    watch = Watch(boat(), LAID_UP_MS)
    for hour in range(1, 300):
        at = LAID_UP_MS + hour * HOUR
        watch.fold(Reading("tern", "engine-space", at, at, at, -24.0 + hour % 3 / 10))
        watch.fold(Reading("tern", "outside", at, at, at, -25.0 + hour % 4 / 10))
        if hour < 48:
            watch.fold(Reading("tern", "house-volts", at, at, at, 11.9 + hour % 2 / 100))
        watch.fold(Clock(at))
    (alert,) = [a for a in watch.open_alerts() if (a.rule, a.subject) == ("frost", "house")]
    assert alert.returned_ms is None
    assert ("house", "charge not known") in {(f.subject, f.kind) for f in watch.not_known()}


def test_a_thermometer_that_spikes_far_out_of_any_winter_is_passed_over() -> None:
    def spiking(hour: float) -> float:
        return 149.0 if hour % 37 == 0 else -49.0 if hour % 41 == 0 else 3.0

    aboard = lived(record(wet()), 300, spiking, outside=lambda hour: 149.0 if hour % 43 == 0 else 2.0)
    assert aboard.watch.state.stumbles == {}
    assert aboard.opened_h(Priority.ALARM) == []


def test_the_next_night_is_told_with_the_freeze_that_has_been_and_not_instead_of_it() -> None:
    # Two frosts with a day's thaw between them: while the second is near, it is what is told.
    def two_nights(hour: float) -> float:
        return -4.0 if 20 <= hour < 30 or 44 <= hour < 54 else 3.0 - 0.25 * max(hour - 32, 0.0)

    aboard = lived(record(wet()), 41, two_nights, outside=two_nights)
    finding = aboard.findings()["pipes"]
    assert finding.kind == "wet"
    assert "look_for_splits" in finding.first
    assert finding.facts["froze_to_degc"] == pytest.approx(-4.0, abs=0.5)
    assert finding.priority >= Priority.WARNING
