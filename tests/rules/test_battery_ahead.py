"""The battery rule looking ahead: dates, ice, its pump, chargers that rest by themselves, overcharge and heat."""

from datetime import UTC, datetime
from random import Random
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from aboard import Aboard, At, round_trips
from boats import DAY, HOUR, LAID_UP_MS, boat, sensor

from monitor.messages.words import Words, put_into_words
from monitor.model.finding import Finding
from monitor.model.inputs import ForecastVersion
from monitor.model.scale import Priority, Sure
from monitor.model.surroundings import Forecast, PlannedCut, Surroundings, YardCalendar
from monitor.model.vessel import Vessel
from monitor.rules.battery import Batteries
from monitor.rules.battery_bank import BatteryState

DAY_H = 24.0
# Battery industry scale, flooded, 26.7 degC: 12.65 V full, 12.45 V at 75 %; cells move 0.2 mV/K (REFERENCES.md).
FULL_V, V_PER_PCT, V_AT_5_DEGC = 12.65, 0.20 / 25, -6 * 0.0002 * 21.7


def record(*, afloat: bool = False, pump_lph: float | None = None, place: str = "", **battery: Any) -> Vessel:
    house = {
        "id": "house",
        "name": "House battery",
        "chemistry": "flooded",
        "capacity_ah": 100,
        "voltage_sensor": "house-volts",
        "temperature_sensor": "house-case",
    }
    case = sensor("house-case", "temperature") | {"place": "battery locker"}
    other = sensor("locker-air", "temperature") | {"place": place or "elsewhere"}
    where = {"mode": "afloat laid up", "plot": None, "berth": "A7"} if afloat else {}
    return boat(
        sensors=[sensor("outside", "temperature"), case, other, sensor("house-volts", "voltage")],
        liquid_systems=[],
        bilges=[{"id": "bilge", "name": "Bilge", "pump_lph": pump_lph}],
        batteries=[house | battery],
        shore_power={"on": bool(battery.get("charger"))},
        **where,
    )


def noisy(value_at: At, seed: int = 1, sd: float = 0.012) -> At:
    chance = Random(seed)
    return lambda hour: round((value_at(hour) or 0.0) + chance.gauss(0.0, sd), 2)


def steady(value: float) -> At:
    return lambda _: value


def fading(pct_day: float) -> At:
    return lambda hour: FULL_V + V_AT_5_DEGC - V_PER_PCT * pct_day * hour / DAY_H


def lived(at: Vessel, hours: float, volts: At, degc: float = 5.0, **others: At) -> Aboard:
    return Aboard(at, Batteries).live(hours, {"house-case": lambda _: degc, **others, "house-volts": volts})


def foretold(aboard: Aboard, *degc_by_day: float) -> Finding:
    rule = Batteries(aboard.record)
    hours = [(aboard.now_ms + h * HOUR, degc_by_day[h // 24]) for h in range(1, 24 * len(degc_by_day))]
    rule.surroundings = Surroundings(forecast=Forecast.of(aboard.now_ms, hours))
    (finding,) = rule.judge(aboard.state, aboard.now_ms)
    return finding


def words(finding: Finding, aboard: Aboard) -> Words:
    return put_into_words(finding, aboard.record, ZoneInfo("America/New_York"), aboard.now_ms, strict=True)


# -- dates ------------------------------------------------------------------------------------------------------------


def test_the_day_it_wants_charging_is_told_with_its_range() -> None:
    # 0.5 % a day from full to 69 % takes 62 days.
    aboard = lived(record(budget_ma=15), 45 * DAY_H, noisy(fading(0.5)))
    finding = aboard.findings()["house"]
    low, best, high = (finding.facts[f"recharge_{end}ms"] for end in ("low_", "", "high_"))
    assert isinstance(low, int)
    assert isinstance(best, int)
    assert isinstance(high, int)
    assert low < best < high
    assert (best - LAID_UP_MS) / DAY == pytest.approx(62, abs=6)
    day = datetime.fromtimestamp(best / 1000, UTC)
    assert f"{day.day} {day:%b}" in words(finding, aboard).what


# -- ice --------------------------------------------------------------------------------------------------------------


def test_the_day_it_could_freeze_is_that_of_the_cold_that_is_foretold() -> None:
    # 12.12 V at 5 degC is 12.15 V at 26.7 degC: 37 % (scale), 30 % at worst; acid of 25 % freezes at -16 degC, with
    # the error of 3 K at -13: not now, but where days of -20 degC are foretold.
    aboard = lived(record(), 3 * DAY_H, noisy(lambda _: 12.12))
    assert aboard.findings()["house"].facts["freeze_ms"] is None
    finding = foretold(aboard, 0.0, -5.0, -20.0, -20.0)
    when = finding.facts["freeze_ms"]
    assert isinstance(when, int)
    assert 2 * DAY < when - aboard.now_ms < 4 * DAY
    assert finding.facts["foretold"] is True
    assert "could freeze" in words(finding, aboard).what
    assert finding.first[0] == "recharge"  # not frozen yet: charging it is what helps


def ahead_of(volts: float, *degc_by_day: float) -> Finding:
    """Live three days in mild weather under a forecast that says the same all along, and give what is said then."""
    aboard = Aboard(record(), Batteries)
    hours = [(LAID_UP_MS + h * HOUR, degc_by_day[h // 24]) for h in range(1, 24 * len(degc_by_day))]
    aboard.watch.fold(ForecastVersion(Forecast.of(LAID_UP_MS, hours), LAID_UP_MS))
    aboard.live(3 * DAY_H, {"house-case": lambda _: 2.0, "house-volts": noisy(lambda _: volts)})
    return aboard.findings()["house"]


def test_under_half_with_ice_two_days_off_somebody_must_act_now() -> None:
    # 12.12 V at 2 degC: 37 %, 25 % at worst; its acid is slush at -16 degC, with the error of 3 K at -13.
    found = ahead_of(12.12, 2.0, 2.0, 2.0, -25.0, -25.0)
    assert found.priority is Priority.ALARM
    assert found.harm is not None
    assert found.harm.low_s <= 2 * 86_400


def test_ice_that_lies_further_off_is_told_with_its_date_and_rings_nobody_out() -> None:
    found = ahead_of(12.12, 2.0, 2.0, 2.0, 2.0, 2.0, 2.0, 2.0, 2.0, -25.0, -25.0)
    assert found.priority is Priority.WARNING
    when = found.facts["freeze_ms"]
    assert isinstance(when, int)
    assert when - LAID_UP_MS > 8 * DAY
    assert found.harm is not None
    assert found.harm.low_s > 4 * 86_400


def test_a_load_that_leaves_it_flat_within_two_days_must_be_ended_now() -> None:
    # 15 % a day from 90 %: at a quarter after four and a half days, and flat within two more.
    def volts(pct_day: float) -> At:
        return lambda hour: FULL_V + V_AT_5_DEGC - V_PER_PCT * (10.0 + pct_day * hour / DAY_H)

    fast = lived(record(), 4.5 * DAY_H, noisy(volts(15.0)))
    assert fast.findings()["house"].priority is Priority.ALARM
    slow = lived(record(), 12 * DAY_H, noisy(volts(4.5)))
    finding = slow.findings()["house"]
    assert float(finding.facts["charge_pct"] or 100) < 50
    assert finding.priority is Priority.WARNING


def test_what_is_told_of_the_time_left_goes_by_the_best_estimate_of_its_charge() -> None:
    # 0.5 % a day, 54 days: 73 %, and 66 % at worst, which is under the recharge threshold already.
    aboard = lived(record(budget_ma=15), 54 * DAY_H, noisy(fading(0.5)))
    finding = aboard.findings()["house"]
    assert finding.facts["days_low"] == 0
    assert finding.harm is not None
    assert 2 * 86_400 < finding.harm.low_s < 14 * 86_400
    assert "at any moment" not in words(finding, aboard).how_long


def test_in_mild_weather_no_day_of_freezing_is_told() -> None:
    aboard = lived(record(), 3 * DAY_H, noisy(lambda _: 12.12))
    assert foretold(aboard, 3.0, 2.0, 1.0).facts["freeze_ms"] is None


def test_without_a_forecast_the_last_weeks_cold_comes_again() -> None:
    # 2 % a day from 100 %: at a week of -14 degC it freezes once little is left (SG 1.150 is -15 degC).
    aboard = lived(record(), 20 * DAY_H, noisy(lambda h: FULL_V - 6 * 0.0002 * 40.7 - V_PER_PCT * 2 * h / DAY_H), -14.0)
    finding = aboard.findings()["house"]
    when = finding.facts["freeze_ms"]
    assert finding.facts["foretold"] is False
    assert isinstance(when, int)
    assert 5 * DAY < when - aboard.now_ms < 35 * DAY


def test_a_battery_that_may_be_frozen_is_never_to_be_charged_whatever_else_is_said() -> None:
    for volts, charger in ((11.7, False), (12.0, False), (11.9, True)):
        finding = lived(record(charger=charger), 3 * DAY_H, steady(volts), degc=-14.0).findings()["house"]
        assert "no_charging_frozen" in finding.never
        assert not {"recharge", "check_charger", "restore_shore_power"} & set(finding.first)


# -- the pump ---------------------------------------------------------------------------------------------------------


def test_afloat_the_harm_is_that_it_cannot_run_the_pump_for_a_day() -> None:
    # 1,200 L/h draw 1.8 A (labels): 43 Ah a day, 63 % of 100 Ah with what a pump leaves; 1,500 L/h: 74 %.
    pumping = record(afloat=True, pump_lph=1500, budget_ma=15)
    aboard = lived(pumping, 45 * DAY_H, noisy(fading(0.5)))
    finding = aboard.findings()["house"]
    assert (finding.kind, finding.figure.limit) == ("pump", 24.0)
    ashore = lived(record(pump_lph=1500, budget_ma=15), 45 * DAY_H, noisy(fading(0.5))).findings()["house"]
    assert ashore.kind == "decline"
    assert finding.harm is not None
    assert ashore.harm is not None
    assert finding.harm.low_s < ashore.harm.low_s
    assert "pump" in words(finding, aboard).title


def test_a_battery_that_can_no_longer_run_the_pump_for_a_day_is_a_warning() -> None:
    aboard = lived(record(afloat=True, pump_lph=1500), 5 * DAY_H, noisy(lambda _: 12.38))
    finding = aboard.findings()["house"]
    assert (finding.kind, finding.priority) == ("pump", Priority.WARNING)
    assert float(finding.figure.value or 0) < 24


def test_a_battery_too_small_for_its_pump_is_judged_as_others_are_and_told_so() -> None:
    aboard = lived(record(afloat=True, pump_lph=4000), 5 * DAY_H, noisy(lambda _: 12.55))
    assert aboard.findings() == {}
    low = lived(record(afloat=True, pump_lph=4000), 5 * DAY_H, noisy(lambda _: 12.3))
    assert "Even full" in words(low.findings()["house"], low).what


def test_of_two_batteries_only_the_marked_one_feeds_the_pump() -> None:
    two = record(afloat=True, pump_lph=1500)
    start = two.batteries[0].model_copy(update={"id": "start"})
    neither = Batteries(two.model_copy(update={"batteries": (*two.batteries, start)}))
    assert [plan.pump for plan in neither.plans.values()] == [None, None]
    marked = start.model_copy(update={"feeds_pump": True})
    rule = Batteries(two.model_copy(update={"batteries": (*two.batteries, marked)}))
    assert [plan.pump is not None for plan in rule.plans.values()] == [False, True]


# -- chargers ---------------------------------------------------------------------------------------------------------


def resting_charger(off_h: float, every_h: float, trips_h: float = 1e9) -> At:
    def volts(hour: float) -> float:
        gone = hour - trips_h if hour > trips_h else hour % every_h - (every_h - off_h)
        return 13.6 if gone < 0 else 12.75 + 0.4 * 2.718 ** (-gone / 5) - 0.002 * gone

    return volts


def test_a_charger_that_rests_by_itself_is_told_until_it_is_known_and_then_left_alone() -> None:
    aboard = lived(record(charger=True), 40 * DAY_H, noisy(resting_charger(18, 48)))
    assert 1 <= len(aboard.opened_h()) <= 3
    assert max(aboard.opened_h()) < 3 * 48
    assert round_trips(aboard.state, BatteryState)


def test_a_charger_that_rests_by_itself_and_then_trips_is_told_when_it_rests_for_longer_than_ever() -> None:
    trips = 20 * DAY_H + 6
    aboard = lived(record(charger=True), 22 * DAY_H, noisy(resting_charger(18, 48, trips)))
    assert [18 < hour - trips < 18 * 1.25 + 3 for hour in aboard.opened_h() if hour > trips] == [True]


def test_a_rest_that_goes_deeper_than_any_before_is_told_as_soon_as_one_that_is_not_known() -> None:
    base = resting_charger(18, 48)

    def volts(hour: float) -> float:
        rests = (base(hour) or 0.0) < 13.0
        return (base(hour) or 0.0) - (0.4 if rests and hour > 20 * DAY_H else 0.0)

    aboard = lived(record(charger=True), 22 * DAY_H, noisy(volts))
    later = [hour for hour in aboard.opened_h() if hour > 20 * DAY_H]
    assert later
    assert later[0] % 48 < 30 + 6


def test_volts_heard_in_a_planned_cut_blame_no_charger() -> None:
    aboard = lived(record(charger=True), 72, lambda hour: 13.6 if hour <= 60 else 12.8)
    rule = Batteries(aboard.record)
    assert [f.kind for f in rule.judge(aboard.state, aboard.now_ms)] == ["charger lost"]
    begins, ends = (datetime.fromtimestamp((LAID_UP_MS + h * HOUR) / 1000, UTC) for h in (60, 80))
    cut = PlannedCut(begins=begins, ends=ends)
    rule.surroundings = Surroundings(calendar=YardCalendar(planned_cuts=(cut,)))
    assert all(f.over for f in rule.judge(aboard.state, aboard.now_ms))


# -- overcharge and heat ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("chemistry", ["flooded", "agm", "gel", "lifepo4"])
def test_volts_above_float_for_a_day_are_an_alarm_with_its_cautions(chemistry: str) -> None:
    aboard = lived(record(charger=True, chemistry=chemistry), 72, noisy(lambda h: 14.6 if h > 24 else 13.5))
    assert [24 + 24 <= hour <= 24 + 26 for hour in aboard.opened_h(Priority.ALARM)] == [True]
    finding = aboard.findings()["house"]
    assert (finding.kind, finding.first[0]) == ("overcharge", "charger_off_at_supply")
    assert {"no_boarding_alone", "no_sparks"} <= set(finding.never)
    assert "ventilate" in finding.first
    assert not {"recharge", "check_charger"} & set(finding.first)


@pytest.mark.parametrize("volts", [13.2, 13.5, 13.8])
def test_a_float_that_follows_the_cold_is_no_overcharge(volts: float) -> None:
    # Chargers that compensate raise the float by 18 mV a kelvin below 25 degC (makers' handbooks).
    aboard = lived(record(charger=True), 10 * DAY_H, noisy(lambda _: volts + 0.018 * 20, sd=0.02))
    assert aboard.opened_h(Priority.ALARM) == []


def test_a_day_of_absorption_that_ends_is_no_overcharge() -> None:
    aboard = lived(record(charger=True), 14 * DAY_H, noisy(lambda h: 14.6 if h % (7 * DAY_H) < 20 else 13.5))
    assert aboard.events == []


def test_silence_ends_no_overcharge_and_makes_none() -> None:
    aboard = lived(record(charger=True), 72, lambda h: 14.6 if h > 24 else 13.5).live(24, {})
    assert aboard.findings()["house"].kind == "overcharge"
    early = lived(record(charger=True), 30, lambda h: 14.6 if h > 24 else 13.5).live(48, {})
    assert early.findings()["house"].sure is Sure.NOT_KNOWN


def test_the_next_look_is_when_the_day_above_float_is_full() -> None:
    aboard = lived(record(), 45, lambda h: 14.6 if h > 24 else 13.5)
    rule = Batteries(aboard.record)
    assert (rule.next_look(aboard.state, aboard.now_ms) or 0) - aboard.now_ms == 4 * HOUR


def test_a_battery_ten_kelvin_over_its_place_is_an_alarm() -> None:
    warm: At = lambda h: 5.0 + (11.0 if h > 48 else 4.0)  # noqa: E731 - one line says it
    aboard = Aboard(record(place="Battery locker", charger=True), Batteries)
    aboard.live(60, {"locker-air": lambda _: 5.0, "house-case": warm, "house-volts": lambda _: 13.6})
    assert [48 < hour <= 50 for hour in aboard.opened_h(Priority.ALARM)] == [True]
    finding = aboard.findings()["house"]
    assert (finding.kind, finding.figure.unit, finding.first[0]) == ("hot", "K", "charger_off_at_supply")
    assert "no_boarding_alone" in finding.never
    aboard.live(12, {})
    assert aboard.findings()["house"].kind == "hot"  # silence cools nothing


def test_a_battery_at_fifty_degrees_is_an_alarm_with_no_second_thermometer() -> None:
    aboard = lived(record(), 5, lambda _: 12.7, degc=51.0)
    assert aboard.findings()["house"].figure.unit == "degC"
    assert aboard.opened_h(Priority.ALARM)


def test_a_thermometer_that_others_share_is_not_on_the_battery() -> None:
    shared = record(place="battery locker")
    bilge = shared.bilges[0].model_copy(update={"temperature_sensor": "house-case"})
    aboard = lived(shared.model_copy(update={"bilges": (bilge,)}), 5, lambda _: 12.7, degc=51.0)
    assert aboard.findings() == {}


def test_every_kind_is_put_into_words_with_nothing_left_out() -> None:
    boats = [
        lived(record(), 72, lambda _: 12.0, degc=-14.0),
        lived(record(charger=True), 72, lambda _: 14.6),
        lived(record(charger=True), 72, lambda h: 13.6 if h < 60 else 12.7),
        lived(record(), 72, lambda _: 12.7, degc=55.0),
        lived(record(afloat=True, pump_lph=1500), 5 * DAY_H, noisy(lambda _: 12.38)),
        lived(record(afloat=True, pump_lph=1500), 9 * DAY_H, noisy(fading(2.5))),
        lived(record(), 5, lambda _: 0.01),
        lived(record(chemistry="lifepo4"), 30, lambda _: 13.2),
        Aboard(record(), Batteries),
    ]
    kinds = set()
    for aboard in boats:
        finding = aboard.findings()["house"]
        kinds.add(finding.kind)
        assert "None" not in f"{words(finding, aboard)}"
    assert {"low", "overcharge", "charger lost", "hot", "pump", "hidden load", "no volts", "lithium"} < kinds
