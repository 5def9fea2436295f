"""The power rule: losses seen and inferred, planned cuts, what it takes under it, and frost that makes haste."""

from collections.abc import Mapping
from datetime import UTC, datetime, time
from random import Random
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from aboard import Aboard, At, json_bytes, round_trips
from boats import HOUR, LAID_UP_MS, MINUTE, boat, sensor

from monitor.messages.words import put_into_words
from monitor.model.finding import Finding
from monitor.model.inputs import Clock
from monitor.model.reading import Reading
from monitor.model.scale import Priority, Sure
from monitor.model.surroundings import Forecast, PlannedCut, Surroundings, YardCalendar
from monitor.model.vessel import Mode, Vessel
from monitor.rules.power import Power, PowerState
from monitor.rules.power_cuts import counts_from_ms, end_of_cut

DAY_H = 24.0
LOST_H = 72.0
HOLD = {"running": True, "space": "cabin-air", "hold_below_rh": 65.0}
WET = [{"id": "fresh-water", "name": "Fresh water", "kind": "fresh water", "state": "wet", "liquid": "fresh water"}]


def record(*, mains: bool = True, **changes: Any) -> Vessel:
    """Ashore on shore power, with a charger and a dehumidifier."""
    quantities = {"outside": "temperature", "cabin": "temperature", "cabin-rh": "humidity", "house-volts": "voltage"}
    battery = {"id": "house", "name": "House", "chemistry": "agm", "capacity_ah": 100, "charger": True}
    document = {
        "sensors": [sensor(name, quantity) for name, quantity in quantities.items()] + [sensor("mains", "mains")],
        "liquid_systems": [],
        "bilges": [],
        "batteries": [battery | {"voltage_sensor": "house-volts"}],
        "spaces": [
            {"id": "cabin-air", "name": "Cabin", "humidity_sensor": "cabin-rh", "temperature_sensor": "cabin"},
        ],
        "dehumidifier": HOLD,
        "shore_power": {"on": True, "mains_sensor": "mains" if mains else None},
    }
    return boat(**document | changes)


def noisy(value_at: At, seed: int, sd: float) -> At:
    chance = Random(seed)

    def at(hour: float) -> float | None:
        value = value_at(hour)
        return None if value is None else round(value + chance.gauss(0.0, sd), 2)

    return at


def volts_lost_at(lost_h: float) -> At:
    """Float, then what the simulator's own battery shows without its charger: 13.11 V after an hour, 12.9 after six."""
    return lambda h: 13.9 if h < lost_h else max(12.75, 13.11 - 0.035 * (h - lost_h))


def humidity_lost_at(lost_h: float) -> At:
    return lambda h: 54.0 if h < lost_h else min(54.0 + 2.0 * (h - lost_h), 72.0)


def sensors(seed: int = 1, **others: At) -> Mapping[str, At]:
    usual: dict[str, At] = {"outside": lambda _: 4.0, "cabin": lambda _: 5.0}
    spread = {"outside": 0.1, "cabin": 0.1, "cabin-rh": 0.5, "house-volts": 0.02}
    return {
        name: noisy(at, seed + n, spread[name]) if name in spread else at
        for n, (name, at) in enumerate((usual | others).items())
    }


def goes_dark(lost_h: float, back_h: float = 1e9) -> At:
    return lambda h: float(not lost_h <= h < back_h)


def lived(at: Vessel, hours: float, calendar: YardCalendar | None = None, seed: int = 1, **others: At) -> Aboard:
    aboard = Aboard(at, Power)
    surroundings = Surroundings(calendar=calendar or YardCalendar())
    for rule in aboard.watch.rules:
        rule.surroundings = surroundings
    aboard.watch.state.surroundings = surroundings
    return aboard.live(hours, sensors(seed, **others))


def only(aboard: Aboard) -> Finding:
    (finding,) = aboard.findings().values()
    return finding


def test_a_mains_sensor_tells_at_once() -> None:
    aboard = lived(record(), LOST_H - 1, mains=lambda _: 1.0)
    at = aboard.now_ms + 7 * MINUTE
    aboard.events += aboard.watch.fold(Reading("tern", "mains", at, at, at, 0.0)).events
    aboard.events += aboard.watch.fold(Clock(at + 3 * MINUTE)).events
    (event,) = aboard.events
    assert MINUTE <= event.at_ms - at <= 2 * MINUTE
    (alert,) = aboard.watch.open_alerts()
    finding = alert.finding
    assert (finding.subject, finding.kind, finding.priority) == ("shore-power", "lost", Priority.WARNING)
    assert finding.sure is Sure.CERTAIN


def test_a_blink_opens_nothing() -> None:
    aboard = lived(record(), LOST_H, mains=lambda _: 1.0)
    at = aboard.now_ms
    for after_s, value in ((10, 0.0), (40, 1.0), (300, 0.0), (350, 1.0)):
        aboard.events += aboard.watch.fold(Reading("tern", "mains", *[at + after_s * 1000] * 3, value)).events
    aboard.events += aboard.watch.fold(Clock(at + HOUR)).events
    assert aboard.events == []


def test_it_takes_charger_and_dehumidifier_under_it_and_no_frost() -> None:
    aboard = lived(record(), LOST_H + 2, mains=goes_dark(LOST_H))
    assert set(only(aboard).covers) == {"battery/house", "damp/dehumidifier", "damp/cabin-air"}


def test_a_sensor_that_runs_from_the_mains_falls_silent_under_it() -> None:
    fed = [*record().model_dump()["sensors"], sensor("aft-cabin", "temperature") | {"supply": "yard mains"}]
    aboard = lived(record(sensors=fed), LOST_H + 2, mains=goes_dark(LOST_H))
    assert "silence/aft-cabin" in only(aboard).covers


def test_power_that_is_back_ends_it_and_power_that_comes_and_goes_is_one_alert() -> None:
    aboard = lived(record(), LOST_H + 1, mains=goes_dark(LOST_H))
    at = aboard.now_ms
    for after_min, value in ((5, 1.0), (9, 0.0), (30, 1.0)):
        aboard.events += aboard.watch.fold(Reading("tern", "mains", *[at + after_min * MINUTE] * 3, value)).events
    aboard.events += aboard.watch.fold(Clock(at + HOUR)).events
    assert [e.change.value for e in aboard.events] == ["opened", "returned"]
    assert aboard.events[-1].at_ms == at + 40 * MINUTE


@pytest.mark.parametrize("mode", [Mode.WORK_ABOARD, Mode.IN_COMMISSION, Mode.MOVING])
def test_while_somebody_handles_her_lead_nothing_is_said(mode: Mode) -> None:
    assert lived(record(mode=mode), LOST_H + 2, mains=goes_dark(LOST_H)).findings() == {}


def test_where_it_was_left_off_nothing_is_said() -> None:
    off = record(shore_power={"on": False, "mains_sensor": "mains"})
    assert lived(off, LOST_H, mains=lambda _: 0.0).findings() == {}


# --- Planned cuts


def utc(day: int, hour: float) -> datetime:
    return datetime(2013, 11, day, int(hour), round(hour % 1 * 60), tzinfo=UTC)


CUT = YardCalendar(planned_cuts=(PlannedCut(begins=utc(4, 9), ends=utc(4, 13)),))  # lay-up + 72 h to + 76 h


def test_a_planned_cut_is_no_alert() -> None:
    aboard = lived(record(), LOST_H + 24, CUT, mains=goes_dark(LOST_H, LOST_H + 4.5))
    assert aboard.events == []


def test_power_that_does_not_come_back_within_an_hour_of_the_cut_s_end_is() -> None:
    aboard = lived(record(), LOST_H + 24, CUT, mains=goes_dark(LOST_H))
    (opened_h,) = aboard.opened_h()
    assert LOST_H + 5 <= opened_h <= LOST_H + 5.05
    finding = only(aboard)
    assert finding.causes[0] == "not_switched_back"
    assert finding.facts["cut_end_ms"] == LAID_UP_MS + (LOST_H + 4) * HOUR


def test_a_cut_that_begins_some_minutes_early_is_that_cut() -> None:
    early = YardCalendar(planned_cuts=(PlannedCut(begins=utc(4, 9.1), ends=utc(4, 13)),))
    assert lived(record(), LOST_H + 24, early, mains=goes_dark(LOST_H, LOST_H + 4.5)).events == []


def test_a_loss_long_before_a_cut_is_not_excused_by_it() -> None:
    later = YardCalendar(planned_cuts=(PlannedCut(begins=utc(4, 12), ends=utc(4, 20)),))
    aboard = lived(record(), LOST_H + 24, later, mains=goes_dark(LOST_H))
    assert aboard.opened_h()[0] < LOST_H + 0.1
    assert len(aboard.events) == 1


def test_a_daily_night_without_power_is_no_alert_in_the_yard_s_own_time() -> None:
    # Summer time ends there on 3 November.
    zone = ZoneInfo("America/New_York")
    night = YardCalendar(zone=zone.key, power_off=(time(22), time(6)))

    def mains(hour: float) -> float:
        return float(6 <= datetime.fromtimestamp(LAID_UP_MS / 1000 + hour * 3600, zone).hour < 22)

    assert lived(record(), 20 * DAY_H, night, mains=mains).events == []


def test_a_cut_knows_its_end_across_midnight_and_when_one_follows_another() -> None:
    night = YardCalendar(zone="America/New_York", power_off=(time(22), time(6)))
    in_it = round(datetime(2013, 11, 20, 23, 30, tzinfo=ZoneInfo("America/New_York")).timestamp() * 1000)
    ends = round(datetime(2013, 11, 21, 6, 0, tzinfo=ZoneInfo("America/New_York")).timestamp() * 1000)
    assert end_of_cut(night, in_it) == ends
    assert end_of_cut(night, ends) is None
    two = YardCalendar(
        planned_cuts=(PlannedCut(begins=utc(4, 9), ends=utc(4, 11)), PlannedCut(begins=utc(4, 11.5), ends=utc(4, 14)))
    )
    since = LAID_UP_MS + round(LOST_H * HOUR)
    counts, end = counts_from_ms(two, since, slack_ms=10 * MINUTE, back_within_ms=HOUR)
    assert (counts, end) == (LAID_UP_MS + round((LOST_H + 6) * HOUR), LAID_UP_MS + round((LOST_H + 5) * HOUR))


def test_a_yard_that_is_never_on_for_an_hour_does_not_hang_the_rule() -> None:
    never = YardCalendar(power_off=(time(0, 30), time(0, 0)))
    counts, end = counts_from_ms(never, LAID_UP_MS, slack_ms=0, back_within_ms=10 * MINUTE)
    assert end is not None
    assert counts > end > LAID_UP_MS


# --- Inferred


@pytest.mark.parametrize("seed", range(5))
def test_a_charger_and_a_dehumidifier_that_stop_together_are_shore_power_within_six_hours(seed: int) -> None:
    aboard = lived(
        record(mains=False),
        LOST_H + 8,
        seed=10 * seed,
        **{"house-volts": volts_lost_at(LOST_H), "cabin-rh": humidity_lost_at(LOST_H)},
    )
    (opened_h,) = aboard.opened_h()
    assert LOST_H < opened_h <= LOST_H + 6
    finding = only(aboard)
    assert (finding.kind, finding.sure, finding.rests_on) == ("lost", Sure.LIKELY, ())


def test_a_charger_alone_is_left_to_the_battery_watch_and_said_to_be_either() -> None:
    aboard = lived(
        record(mains=False), LOST_H + 48, **{"house-volts": volts_lost_at(LOST_H), "cabin-rh": lambda _: 54.0}
    )
    assert aboard.events == []
    finding = only(aboard)
    assert (finding.sure, finding.causes) == (Sure.NOT_KNOWN, ("charger_or_power",))


def test_a_dehumidifier_alone_is_left_to_damp_while_a_charger_still_floats() -> None:
    aboard = lived(
        record(mains=False), LOST_H + 48, **{"house-volts": lambda _: 13.9, "cabin-rh": humidity_lost_at(LOST_H)}
    )
    assert aboard.events == []
    assert aboard.findings() == {}  # the charger proves that power is there


def test_things_that_stop_days_apart_have_stopped_by_themselves() -> None:
    aboard = lived(
        record(mains=False),
        LOST_H + 96,
        **{"house-volts": volts_lost_at(LOST_H), "cabin-rh": humidity_lost_at(LOST_H + 48)},
    )
    assert aboard.events == []


def test_one_charger_of_two_that_still_floats_is_proof_of_power() -> None:
    second = {"id": "engine", "name": "Engine", "chemistry": "agm", "capacity_ah": 80, "charger": True}
    at = record(mains=False)
    two = [*at.model_dump()["batteries"], second | {"voltage_sensor": "engine-volts"}]
    fitted = [*at.model_dump()["sensors"], sensor("engine-volts", "voltage")]
    aboard = lived(
        record(mains=False, batteries=two, sensors=fitted),
        LOST_H + 24,
        **{
            "house-volts": volts_lost_at(LOST_H),
            "engine-volts": lambda h: 13.6 + 0.01 * (round(h) % 3),
            "cabin-rh": humidity_lost_at(LOST_H),
        },
    )
    assert aboard.events == []


def test_dry_weather_does_not_bring_inferred_power_back_and_a_floating_charger_does() -> None:
    back_h = LOST_H + 60

    def volts(hour: float) -> float | None:
        return 13.8 if hour >= back_h else volts_lost_at(LOST_H)(hour)

    def rh(hour: float) -> float | None:
        return 45.0 if LOST_H + 20 < hour < LOST_H + 40 else humidity_lost_at(LOST_H)(min(hour, LOST_H + 30))

    aboard = lived(record(mains=False), back_h + 12, **{"house-volts": volts, "cabin-rh": rh})
    assert [e.change.value for e in aboard.events] == ["opened", "returned"]
    assert (aboard.events[-1].at_ms - LAID_UP_MS) / HOUR == pytest.approx(back_h, abs=2)


def test_a_planned_cut_is_no_alert_where_power_is_inferred_either() -> None:
    def volts(hour: float) -> float | None:
        return volts_lost_at(LOST_H)(hour) if hour < LOST_H + 6 else 13.9

    def rh(hour: float) -> float | None:
        return humidity_lost_at(LOST_H)(hour) if hour < LOST_H + 7 else 54.0

    assert lived(record(mains=False), LOST_H + 48, CUT, **{"house-volts": volts, "cabin-rh": rh}).events == []


def test_a_heater_that_goes_cold_as_the_charger_stops_is_shore_power() -> None:
    warm = record(mains=False, dehumidifier=None, heater={"on": True})
    aboard = lived(
        warm,
        LOST_H + 10,
        cabin=lambda h: 12.0 if h < LOST_H else max(4.5, 12.0 - 2.0 * (h - LOST_H)),
        **{"house-volts": volts_lost_at(LOST_H)},
    )
    (opened_h,) = aboard.opened_h()
    assert LOST_H < opened_h <= LOST_H + 6
    assert only(aboard).facts["heater"] is True


def test_a_mains_sensor_that_says_power_is_there_goes_before_what_seems() -> None:
    aboard = lived(
        record(),
        LOST_H + 24,
        mains=lambda _: 1.0,
        **{"house-volts": volts_lost_at(LOST_H), "cabin-rh": humidity_lost_at(LOST_H)},
    )
    assert aboard.events == []
    assert aboard.findings() == {}


def test_a_mains_sensor_that_falls_silent_leaves_it_not_known() -> None:
    aboard = lived(record(), LOST_H, mains=lambda h: 1.0 if h < 48 else None)
    finding = only(aboard)
    assert (finding.sure, finding.causes) == (Sure.NOT_KNOWN, ("mains_not_heard",))
    assert aboard.events == []


def test_a_mains_sensor_that_falls_silent_after_it_said_gone_keeps_the_alert() -> None:
    aboard = lived(record(), LOST_H + 48, mains=lambda h: goes_dark(LOST_H)(h) if h < LOST_H + 2 else None)
    assert only(aboard).kind == "lost"
    assert [e.change.value for e in aboard.events] == ["opened"]


def test_with_nothing_to_see_it_by_it_is_not_known() -> None:
    blind = record(mains=False, batteries=[], dehumidifier=None)
    assert only(lived(blind, 24)).causes == ("no_mains_sensor",)


# --- Frost while the heater is off


def heated(**changes: Any) -> Vessel:
    return record(heater={"on": True}, liquid_systems=WET, **changes)


def forecast(aboard: Aboard, lowest_degc: float) -> None:
    hours = [(aboard.now_ms + h * HOUR, 6.0 if h < 8 else lowest_degc) for h in range(48)]
    for rule in aboard.watch.rules:
        rule.surroundings = Surroundings(forecast=Forecast.of(aboard.now_ms, hours))


def test_a_frost_night_foretold_while_the_heater_is_off_is_an_alarm_with_its_time() -> None:
    aboard = lived(heated(), LOST_H + 1, mains=goes_dark(LOST_H))
    assert only(aboard).priority is Priority.WARNING
    forecast(aboard, -3.0)
    finding = only(aboard)
    assert finding.priority is Priority.ALARM
    assert finding.harm is not None
    assert finding.harm.low_s == 8 * 3600
    assert finding.first[0] == "drain_before_frost"
    words = put_into_words(finding, aboard.record, ZoneInfo("UTC"), aboard.now_ms, strict=True)
    assert "cannot bear that without heat" in words.what


@pytest.mark.parametrize(
    ("changes", "lowest"),
    [
        ({}, 5.0),  # no frost
        ({"heater": None}, -3.0),  # nothing was heated
        ({"liquid_systems": []}, -3.0),  # nothing needs it
    ],
)
def test_otherwise_it_stays_a_warning(changes: dict[str, Any], lowest: float) -> None:
    at = record(**{"heater": {"on": True}, "liquid_systems": WET} | changes)
    aboard = lived(at, LOST_H + 1, mains=goes_dark(LOST_H))
    forecast(aboard, lowest)
    assert only(aboard).priority is Priority.WARNING


def test_without_a_forecast_the_thermometer_outside_stands_in() -> None:
    aboard = lived(heated(), LOST_H + 6, mains=goes_dark(LOST_H), outside=lambda h: 8.0 if h < LOST_H + 3 else 1.5)
    assert only(aboard).priority is Priority.ALARM
    assert len({e.alert for e in aboard.events}) == 1


# --- Keeping and cost


def test_the_next_look_is_when_the_word_of_the_mains_sensor_grows_old() -> None:
    aboard = lived(record(), 48, mains=lambda _: 1.0)
    rule = Power(aboard.record)
    look = rule.next_look(aboard.state, aboard.now_ms)
    assert look == aboard.now_ms + 6 * HOUR + 1
    assert rule.judge(aboard.state, look - 1) == []
    assert [f.sure for f in rule.judge(aboard.state, look)] == [Sure.NOT_KNOWN]


def test_the_next_look_after_a_cut_is_when_power_must_be_back() -> None:
    aboard = lived(record(), LOST_H + 2, CUT, mains=goes_dark(LOST_H))
    (rule,) = aboard.watch.rules
    look = rule.next_look(aboard.state, aboard.now_ms)
    assert look == LAID_UP_MS + (LOST_H + 5) * HOUR
    assert rule.judge(aboard.state, look - 1) == []
    assert [f.kind for f in rule.judge(aboard.state, look)] == ["lost"]


def test_state_is_bounded_and_comes_back_from_json() -> None:
    swings: At = lambda h: 54.0 + 3.0 * ((h // 40) % 2)  # noqa: E731 - one line says it
    aboard = lived(heated(), 20 * DAY_H, **{"house-volts": lambda _: 13.8, "cabin-rh": swings, "mains": lambda _: 1.0})
    size = json_bytes(aboard.state, PowerState)
    aboard.live(60 * DAY_H, sensors(**{"house-volts": lambda _: 13.8, "cabin-rh": swings}))
    assert round_trips(aboard.state, PowerState)
    assert json_bytes(aboard.state, PowerState) < 1.2 * size < 4_000


def test_every_limit_says_where_it_is_from_and_why() -> None:
    assert all(row.source and row.reason and row.do for row in Power.limits.rows.values())
