"""The damp rule, over invented air. Dew points quoted are the worked values of REFERENCES.md (WMO-No. 8)."""

from math import pi, sin
from random import Random
from typing import Any

import pytest
from aboard import Aboard, At, json_bytes, round_trips
from boats import HOUR, boat, sensor

from monitor.model.scale import Priority, Sure
from monitor.model.vessel import Mode, Vessel
from monitor.rules.damp import Damp, DampState

DAY_H = 24.0
HOLD = {"running": True, "space": "cabin-air", "hold_below_rh": 65.0}


def record(dehumidifier: dict[str, Any] | None = None, outside: bool = True, mains: bool = False) -> Vessel:
    sensors = [sensor("outside", "temperature"), sensor("cabin", "temperature"), sensor("cabin-rh", "humidity")]
    space = {"id": "cabin-air", "name": "Cabin", "humidity_sensor": "cabin-rh", "temperature_sensor": "cabin"}
    return boat(
        sensors=[*sensors, sensor("mains", "mains")],
        outside_sensor="outside" if outside else None,
        liquid_systems=[],
        bilges=[],
        batteries=[],
        spaces=[space],
        dehumidifier=dehumidifier,
        shore_power={"on": True, "mains_sensor": "mains" if mains else None},
    )


def day(hour: float) -> float:
    return sin(2 * pi * hour / DAY_H)


def steady(value: float) -> At:
    return lambda _: value


def noisy(value_at: At, seed: int, sd: float) -> At:
    chance = Random(seed)

    def noisy_at(hour: float) -> float | None:
        value = value_at(hour)
        return None if value is None else min(round(value + chance.gauss(0.0, sd), 1), 100.0)

    return noisy_at


def lived(at: Vessel, hours: float, rh: At, cabin: At, outside: At, seed: int = 1, **others: At) -> Aboard:
    sensors = {"outside": noisy(outside, seed, 0.1), "cabin": noisy(cabin, seed + 1, 0.1)}
    return Aboard(at, Damp).live(hours, {**sensors, **others, "cabin-rh": noisy(rh, seed + 2, 1.0)})


def cool_cabin(hour: float) -> float:
    return 5.0 + 2.0 * day(hour - 3)


def cool_day(hour: float) -> float:
    return 4.0 + 4.0 * day(hour)


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_an_ordinary_unheated_boat_that_stands_damp_is_left_alone_all_winter(seed: int) -> None:
    # 75 to 99 %, and on cold nights wet for some hours: that is what unheated boats do.
    aboard = lived(record(), 150 * DAY_H, lambda h: 87.0 + 12.0 * day(h - 9), cool_cabin, cool_day, seed)
    assert aboard.events == []
    assert aboard.state.surfaces["cabin-air"].wet_h > 0


def test_a_boat_whose_cold_surface_is_wet_by_night_and_day_is_a_caution() -> None:
    # 10 degC and 80 % has its dew point at 6.71 degC; the surface lies at 3 + 0.3 * 7 = 5.1 degC.
    aboard = lived(record(), 10 * DAY_H, steady(80.0), steady(10.0), steady(3.0))
    finding = aboard.findings()["cabin-air"]
    assert (finding.kind, finding.priority) == ("condensation", Priority.CAUTION)
    assert finding.facts["dew_degc"] == pytest.approx(6.7, abs=0.5)
    assert finding.facts["surface_degc"] == pytest.approx(5.1, abs=0.2)
    assert aboard.timeline("cabin-air", [d * DAY_H for d in range(11)]) == "......ccccc"


def test_a_surface_just_warmer_than_the_dew_point_is_dry() -> None:
    # The same air with 6 degC outside: its surface lies at 6 + 0.3 * 4 = 7.2 degC.
    aboard = lived(record(), 10 * DAY_H, steady(78.0), steady(10.0), steady(6.0))
    assert aboard.findings() == {}


def test_a_week_of_dry_weather_ends_the_caution() -> None:
    aboard = lived(record(), 20 * DAY_H, lambda h: 80.0 if h < 9 * DAY_H else 50.0, steady(10.0), steady(3.0))
    assert aboard.timeline("cabin-air", [d * DAY_H for d in range(20)]) == "......cccccccc......"


def test_without_a_thermometer_outside_it_is_not_known() -> None:
    aboard = lived(record(outside=False), 10 * DAY_H, steady(95.0), steady(10.0), steady(3.0))
    finding = aboard.findings()["cabin-air"]
    assert (finding.kind, finding.sure, finding.causes) == ("not known", Sure.NOT_KNOWN, ("no_outside_sensor",))
    assert aboard.events == []


def test_a_band_of_humidity_is_held_only_where_a_dehumidifier_runs() -> None:
    off = HOLD | {"running": False}
    for machine in (None, off):
        aboard = lived(record(machine), 20 * DAY_H, steady(85.0), cool_cabin, cool_cabin)
        assert aboard.events == []


def held_until(stops: float, follows: At) -> At:
    """Held at 55 % or below until it stops, and then the weather's."""

    def rh(hour: float) -> float:
        natural = follows(hour) or 0.0
        return min(natural, 55.0) if hour < stops else natural

    return rh


@pytest.mark.parametrize("seed", [1, 2, 3])
@pytest.mark.parametrize("stops_day", [5, 20, 60])
def test_a_dehumidifier_that_stops_is_a_warning_within_two_days(stops_day: int, seed: int) -> None:
    stops = stops_day * DAY_H + 9
    rh = held_until(stops, lambda h: 68.0 + 8.0 * day(h))
    aboard = lived(record(HOLD), stops + 3 * DAY_H, rh, cool_cabin, cool_day, seed)
    assert [stops < opened <= stops + 48 for opened in aboard.opened_h()] == [True]
    finding = aboard.findings()["dehumidifier"]
    assert (finding.kind, finding.priority) == ("dehumidifier stopped", Priority.WARNING)
    assert finding.facts["held_rh"] == pytest.approx(55, abs=2)


def test_a_stopped_dehumidifier_is_one_alert_and_takes_the_damp_under_it() -> None:
    # Wet surfaces and air over the band besides.
    rh = held_until(10 * DAY_H, steady(92.0))
    aboard = lived(record(HOLD), 25 * DAY_H, rh, steady(10.0), steady(5.0))
    assert {e.alert for e in aboard.events} == {a.id for a in aboard.watch.open_alerts()}
    assert [a.subject for a in aboard.watch.open_alerts()] == ["dehumidifier"]


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_a_dehumidifier_that_holds_is_left_alone_all_winter(seed: int) -> None:
    # Weather that swings over a fortnight between dry and wet, always cut off at 55 %.
    rh = held_until(1e9, lambda h: 60.0 + 25.0 * sin(2 * pi * h / (14 * DAY_H)) + 6.0 * day(h))
    aboard = lived(record(HOLD), 150 * DAY_H, rh, cool_cabin, cool_day, seed)
    assert aboard.events == []


def test_in_a_dry_cold_spell_nobody_can_tell_and_nothing_is_said() -> None:
    stops = 20 * DAY_H
    rh = held_until(stops, lambda h: 42.0 + 8.0 * day(h) if h >= stops else 70.0)
    aboard = lived(record(HOLD), stops + 4 * DAY_H, rh, lambda h: cool_cabin(h) - 8, lambda h: cool_day(h) - 8)
    assert aboard.events == []


def test_a_warm_front_that_overcomes_a_running_machine_is_not_its_stop() -> None:
    # 13 degC outside against 5 degC inside: the cabin's 75 % is under half of what outside air can hold.
    def front(hour: float) -> bool:
        return 20 * DAY_H <= hour < 20 * DAY_H + 20

    aboard = lived(
        record(HOLD),
        25 * DAY_H,
        lambda h: 75.0 if front(h) else 55.0,
        steady(5.0),
        lambda h: 13.0 if front(h) else 5.0,
    )
    assert aboard.events == []


def test_air_that_stays_damp_though_something_dries_it_is_a_caution_on_the_space() -> None:
    aboard = lived(record(HOLD), 6 * DAY_H, steady(75.0), steady(5.0), steady(14.0))
    finding = aboard.findings()["cabin-air"]
    assert (finding.kind, finding.priority) == ("humid", Priority.CAUTION)
    assert aboard.opened_h() == []


def test_a_machine_that_never_brought_the_air_down_is_told_after_two_days() -> None:
    aboard = lived(record(HOLD), 4 * DAY_H, steady(85.0), cool_cabin, cool_day)
    assert 48 <= aboard.opened_h()[0] <= 54


def test_closed_up_damp_she_may_take_a_day_to_dry() -> None:
    aboard = lived(record(HOLD), 10 * DAY_H, lambda h: max(55.0, 80.0 - h), cool_cabin, cool_day)
    assert aboard.events == []


def test_when_the_mains_sensor_says_so_shore_power_is_the_first_cause() -> None:
    rh = held_until(10 * DAY_H, steady(75.0))
    gone: At = lambda h: float(h < 10 * DAY_H)  # noqa: E731 - one line says it
    aboard = lived(record(HOLD, mains=True), 13 * DAY_H, rh, cool_cabin, cool_day, mains=gone)
    finding = aboard.findings()["dehumidifier"]
    assert finding.causes[0] == "shore_power_lost"
    assert finding.first[0] == "restore_shore_power"


def test_a_compressor_in_the_cold_is_told_as_such() -> None:
    rh = held_until(10 * DAY_H, steady(75.0))
    aboard = lived(record(HOLD | {"kind": "compressor"}), 13 * DAY_H, rh, cool_cabin, cool_day)
    assert aboard.findings()["dehumidifier"].causes[0] == "compressor_cold"


def test_a_machine_that_runs_again_ends_the_warning_once() -> None:
    stops, again = 10 * DAY_H, 14 * DAY_H

    def rh(hour: float) -> float:
        return 75.0 if stops <= hour < again else 55.0

    aboard = lived(record(HOLD), 20 * DAY_H, rh, cool_cabin, cool_day)
    assert aboard.timeline("dehumidifier", [d * DAY_H for d in range(9, 20)]) == "..wwwwww..."


def test_while_work_is_done_aboard_nothing_is_said_and_open_hatches_are_forgotten() -> None:
    aboard = lived(record(HOLD), 10 * DAY_H, steady(55.0), cool_cabin, cool_day)
    open_air = {"outside": cool_day, "cabin": cool_cabin, "cabin-rh": steady(85.0)}
    aboard.becomes(mode=Mode.WORK_ABOARD)
    aboard.live(30, open_air)
    assert aboard.findings() == {}
    aboard.becomes(mode=Mode.ASHORE_BUNG_IN)
    aboard.live(5 * DAY_H, {**open_air, "cabin-rh": steady(55.0)})
    assert aboard.events == []


def test_silence_of_the_humidity_sensor_is_not_known_for_space_and_machine() -> None:
    aboard = lived(record(HOLD), 5 * DAY_H, steady(55.0), cool_cabin, cool_day)
    aboard.live(6, {"outside": cool_day, "cabin": cool_cabin})
    found = aboard.findings()
    assert {f.sure for f in found.values()} == {Sure.NOT_KNOWN}
    assert set(found) == {"dehumidifier", "cabin-air"}


def test_the_next_look_is_when_the_first_sensor_grows_stale() -> None:
    aboard = lived(record(), 48, steady(60.0), cool_cabin, cool_day)
    rule = Damp(aboard.record)
    look = rule.next_look(aboard.state, aboard.now_ms)
    assert look == aboard.now_ms + 3 * HOUR + 1
    assert rule.judge(aboard.state, look - 1) == []
    assert [f.kind for f in rule.judge(aboard.state, look)] == ["not known"]


@pytest.mark.parametrize("every_h", [1 / 6, 1.0, 3.0])
def test_cadence_changes_little(every_h: float) -> None:
    stops = 10 * DAY_H
    rh = held_until(stops, lambda h: 68.0 + 6.0 * day(h))
    at = record(HOLD)
    slow = tuple(s.model_copy(update={"interval_s": every_h * 3600}) for s in at.sensors)
    aboard = Aboard(at.model_copy(update={"sensors": slow}), Damp)
    aboard.live(13 * DAY_H, {"outside": cool_day, "cabin": cool_cabin, "cabin-rh": noisy(rh, 1, 1.0)}, every_h)
    assert [stops < opened <= stops + 48 for opened in aboard.opened_h()] == [True]


def test_state_is_bounded_and_comes_back_from_json() -> None:
    aboard = lived(record(HOLD, mains=True), 20 * DAY_H, steady(55.0), cool_cabin, cool_day, mains=steady(1.0))
    assert round_trips(aboard.state, DampState)
    size = json_bytes(aboard.state, DampState)
    aboard.live(60 * DAY_H, {"outside": cool_day, "cabin": cool_cabin, "cabin-rh": steady(55.0)})
    assert round_trips(aboard.state, DampState)
    assert json_bytes(aboard.state, DampState) < 1.1 * size < 8_000


def test_every_limit_says_where_it_is_from_and_why() -> None:
    assert all(row.source and row.reason and row.do for row in Damp.limits.rows.values())
