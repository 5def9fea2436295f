"""The bilge rule looking ahead: drift taken out, inflow with its range, pumps and their batteries, thaws, bung out."""

from collections.abc import Callable
from random import Random
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from aboard import Aboard, At, json_bytes, round_trips
from boats import DAY, HOUR, LAID_UP_MS, MINUTE, boat, sensor

from monitor.messages.words import Words, put_into_words
from monitor.model.finding import Finding
from monitor.model.inputs import Clock
from monitor.model.reading import Reading
from monitor.model.scale import Flag, Priority, Sure
from monitor.model.vessel import Vessel
from monitor.rules.bilge import Bilge
from monitor.rules.bilge_drift import Drift
from monitor.rules.bilge_memory import BilgeState

DAY_H = 24.0
SHUT = [{"id": "intake", "name": "Heads intake", "open": False}]
DIP = ((0.0, 0.0), (0.05, 4.0), (0.10, 12.0), (0.40, 100.0))


def record(*, afloat: bool = True, wet: bool = False, battery: dict[str, Any] | None = None, **bilge: Any) -> Vessel:
    where = {"mode": "afloat laid up", "plot": None, "berth": "A7"} if afloat else {"mode": "ashore bung in"}
    sensors = [sensor(name, "temperature") for name in ("outside", "engine-space", "galley")]
    sensors += [sensor("bilge-level", "level"), sensor("pump-lead", "mains"), sensor("house-volts", "voltage")]
    house = {
        "id": "house",
        "name": "House",
        "chemistry": "flooded",
        "capacity_ah": 100,
        "voltage_sensor": "house-volts",
    }
    pipes = {"id": "pipes", "name": "Pipes", "kind": "fresh water", "state": "wet", "sensor": "galley"}
    return boat(
        sensors=sensors,
        liquid_systems=[pipes] if wet else [],
        batteries=[house | (battery or {})],
        seacocks=SHUT,
        bilges=[{"id": "bilge", "name": "Bilge", "level_sensor": "bilge-level", "high_m": 0.2} | bilge],
        shore_power={"on": bool((battery or {}).get("charger"))},
        **where,
    )


def noisy(level_m: Callable[[float], float] | float, seed: int = 1, sd: float = 0.003) -> At:
    chance = Random(seed)
    level = level_m if callable(level_m) else lambda _: level_m
    return lambda hour: round(level(hour) + chance.gauss(0.0, sd), 3)


def lived(at: Vessel, hours: float, level: At, every_h: float = 1.0, **others: At) -> Aboard:
    named = {name.replace("_", "-"): value for name, value in others.items()}
    return Aboard(at, Bilge).live(hours, {**named, "bilge-level": level}, every_h)


def found(aboard: Aboard) -> Finding:
    return aboard.findings()["bilge"]


def words(aboard: Aboard) -> Words:
    return put_into_words(found(aboard), aboard.record, ZoneInfo("America/New_York"), aboard.now_ms, strict=True)


def spells(seed: int, hours: int) -> list[float]:
    """Cold and mild spells: first order, four days, 5 K."""
    chance, degc = Random(seed), [6.0]
    for _ in range(hours):
        degc.append(degc[-1] + (4.0 - degc[-1]) / 96 + chance.gauss(0.0, 5.0 * (2 / 96) ** 0.5))
    return degc


# -- drift ------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("m_per_k", [0.0005, -0.0003, 0.0])
def test_drift_is_learnt_over_dry_weeks(m_per_k: float) -> None:
    degc = spells(3, 1400)
    aboard = lived(
        record(temperature_sensor="engine-space"),
        50 * DAY_H,
        noisy(lambda h: 0.05 + m_per_k * degc[int(h)]),
        engine_space=lambda h: degc[int(h)],
    )
    drift = aboard.state.bilges["bilge"].drift
    assert drift.error_m_per_k < 0.0001  # the data sheets alone leave 0.00025
    assert abs(drift.m_per_k - m_per_k) < 3 * drift.error_m_per_k
    assert aboard.events == []


@pytest.mark.parametrize("seed", range(4))
def test_a_drip_is_found_sooner_once_the_drift_is_known(seed: int) -> None:
    # 2.4 mm/day, which is 10 drops/min over 0.3 m2, from the sixtieth day on, under a sensor that drifts 0.5 mm/K.
    degc, begins = spells(seed, 2600), 60 * DAY_H
    level = noisy(lambda h: 0.05 + 0.0005 * degc[int(h)] + 0.0001 * max(h - begins, 0.0), seed)
    warm: At = lambda h: degc[int(h)]  # noqa: E731 - one line says it
    knows = lived(record(temperature_sensor="engine-space"), 75 * DAY_H, level, engine_space=warm).opened_h()
    assert knows
    assert begins < knows[0] < begins + 7 * DAY_H


def test_a_drip_is_not_learnt_as_drift_though_the_weather_goes_with_it() -> None:
    # Colder each day, and 0.3 mm more water each day: too slow to be told in weeks, and no drift.
    wave: At = lambda h: 12.0 - 0.02 * h + 3.0 * (0.5 - abs((h / 60) % 2 - 1))  # noqa: E731 - one line says it
    level = noisy(lambda h: 0.05 + 0.0003 * h / DAY_H)
    aboard = lived(record(temperature_sensor="engine-space"), 24 * DAY_H, level, engine_space=wave)
    drift: Drift = aboard.state.bilges["bilge"].drift
    assert abs(drift.m_per_k) < 3 * drift.error_m_per_k


# -- inflow and causes ------------------------------------------------------------------------------------------------


def test_the_inflow_is_told_in_litres_with_its_range() -> None:
    aboard = lived(record(dip_table=DIP), 6 * DAY_H, noisy(lambda h: 0.01 + h * 0.004 / 24))
    facts = found(aboard).facts
    # 4 mm/day where 50 mm hold 4 L.
    assert float(facts["litres_low"] or 0) < 0.32 < float(facts["litres_high"] or 0)
    assert "0.3 litres a day (0.3 to 0.4)" in words(aboard).what


def test_afloat_a_slow_steady_rise_is_the_gland_and_a_burst_is_rain_first() -> None:
    steady = lived(record(), 6 * DAY_H, noisy(lambda h: 0.02 + h * 0.0003))
    assert found(steady).causes[:2] == ("gland", "seacock_passing")
    assert "every seacock is recorded shut" in words(steady).title
    burst = lived(record(), 5.4 * DAY_H, noisy(lambda h: 0.02 + min(max(h - 96, 0) * 0.0012, 0.012)))
    if "bilge" in burst.findings():
        assert found(burst).causes[0] in {"rain", "gland"}


def test_what_a_drip_cannot_give_is_no_gland() -> None:
    # 40 L/day over a broad bilge: slow, and too much for drops.
    broad = ((0.0, 0.0), (0.4, 4000.0))
    aboard = lived(record(dip_table=broad), 6 * DAY_H, noisy(lambda h: 0.02 + h * 0.004 / 24))
    assert found(aboard).causes[0] == "seacock_passing"


def test_ashore_a_steady_drip_beside_a_dehumidifier_is_its_hose() -> None:
    dryer = {"running": True, "kind": "desiccant", "space": "cabin"}
    at = record(afloat=False).model_copy(update={"dehumidifier": _dryer(dryer)})
    assert found(lived(at, 6 * DAY_H, noisy(lambda h: 0.02 + h * 0.0003))).causes[:2] == ("condensate", "rain")


def _dryer(document: dict[str, Any]) -> Any:
    from monitor.model.equipment import Dehumidifier

    return Dehumidifier.model_validate(document)


# -- the pump ---------------------------------------------------------------------------------------------------------


def teeth(per_day: Callable[[float], float], low_m: float = 0.02, high_m: float = 0.08) -> At:
    """A level that a pump cuts teeth into, so many a day."""
    phase, last = 0.0, 0.0

    def level(hour: float) -> float:
        nonlocal phase, last
        phase += (hour - last) * per_day(hour) / DAY_H
        last = hour
        return low_m + (high_m - low_m) * (phase % 1.0)

    return noisy(level)


@pytest.mark.parametrize("every_h", [1.0, 1 / 6])
def test_runs_of_the_pump_are_counted_from_the_teeth_in_the_level(every_h: float) -> None:
    aboard = lived(record(pump_lph=1000, dip_table=DIP), 5 * DAY_H, teeth(lambda _: 5.0), every_h)
    finding = found(aboard)
    assert (finding.kind, finding.priority) == ("pump runs", Priority.WARNING)
    assert float(finding.figure.value or 0) == pytest.approx(5.0, abs=1.2)
    # Each tooth takes 80 to 20 mm: 8.8 - 1.6 = 7.2 L.
    assert float(finding.facts["litres_day"] or 0) == pytest.approx(36, rel=0.35)
    assert "recorded shut" in words(aboard).title


def test_a_pump_that_runs_more_and_more_often_is_a_warning_by_calculation_and_not_by_chance() -> None:
    worse = lived(record(pump_lph=1000), 12 * DAY_H, teeth(lambda h: 1.4 if h < 10 * DAY_H else 9.0), 1 / 6)
    assert (found(worse).kind, found(worse).facts["more"]) == ("pump runs", True)
    assert "more and more often" in words(worse).title
    assert 10 * DAY_H < worse.opened_h()[-1] < 12 * DAY_H
    same = lived(record(pump_lph=1000), 60 * DAY_H, teeth(lambda _: 3.0))
    assert same.opened_h()[1:] == []
    assert found(same).facts["more"] is False


def test_a_pump_that_runs_every_hour_is_a_warning_and_half_its_flow_an_alarm() -> None:
    def runs(minutes: float) -> Aboard:
        aboard = Aboard(record(pump_lph=1000, pump_sensor="pump-lead", level_sensor=None), Bilge)
        lead: At = lambda h: float(h % 1.0 < minutes / 60 - 1e-9)  # noqa: E731 - one line says it
        return aboard.live(3 * DAY_H, {"pump-lead": lead}, 1 / 60)

    assert (found(runs(3)).kind, found(runs(3)).priority) == ("pump runs", Priority.WARNING)
    # 500 L/h on board, half an hour in each: 250 L/h come in.
    often = runs(19)
    assert found(often).priority is Priority.WARNING
    assert float(found(often).facts["litres_day"] or 0) == pytest.approx(500 * 24 * 19 / 60, rel=0.1)


def test_a_pump_that_does_not_stop_is_a_warning_after_twenty_minutes() -> None:
    aboard = Aboard(record(pump_lph=1000, pump_sensor="pump-lead"), Bilge)
    at = aboard.now_ms + HOUR
    aboard.watch.fold(Reading("tern", "pump-lead", at, at, at, 1.0))
    aboard.hour = 2.0
    aboard.events += aboard.watch.fold(Clock(aboard.now_ms)).events
    assert [event.at_ms - at for event in aboard.events] == [20 * MINUTE]
    assert found(aboard).kind == "pump long"


def test_a_pump_that_ran_and_then_fails_is_told_as_a_rise_past_its_mark() -> None:
    runs, stops = teeth(lambda _: 5.0), 5 * DAY_H
    aboard = lived(record(pump_lph=1000), stops, runs, 1 / 6)
    assert found(aboard).kind == "pump runs"
    aboard.live(8, {"bilge-level": noisy(lambda h: 0.05 + (h - stops) * 0.0125)}, 1 / 6)
    assert found(aboard).kind == "rise"


def test_a_dry_bilge_with_a_pump_is_left_alone() -> None:
    assert lived(record(pump_lph=1000), 60 * DAY_H, noisy(0.02)).events == []


@pytest.mark.parametrize(
    ("battery", "volts", "does", "later"),
    [
        ({"charger": True}, 13.6, "holds", None),
        ({}, 12.7, "holds", True),
        ({}, 11.2, "no power", False),
        ({}, None, "not known", False),
    ],
)
def test_time_to_harm_counts_on_the_pump_only_while_its_battery_runs_it(
    battery: dict[str, Any], volts: float | None, does: str, later: bool | None
) -> None:
    level = noisy(lambda h: 0.02 + max(h - 30, 0.0) * 0.02)
    others: dict[str, At] = {} if volts is None else {"house_volts": lambda _: volts}
    aboard = lived(record(pump_lph=1000, dip_table=DIP, starter_m=0.3, battery=battery), 34, level, **others)
    bare = lived(record(dip_table=DIP, starter_m=0.3), 34, noisy(lambda h: 0.02 + max(h - 30, 0.0) * 0.02))
    with_pump, without = found(aboard), found(bare)
    assert with_pump.facts["pump"] == does
    assert with_pump.harm is not None
    assert without.harm is not None
    assert with_pump.harm.low_s == without.harm.low_s  # at the soonest it does not run
    if later is None:
        assert with_pump.harm.high_s is None
    else:
        assert ((with_pump.harm.high_s or 0) > (without.harm.high_s or 0)) is later
    assert with_pump.priority == without.priority
    assert "None" not in f"{words(aboard)}"


def test_more_than_the_pump_takes_out_is_told() -> None:
    at = record(pump_lph=4, dip_table=DIP, starter_m=0.3, battery={"charger": True})
    aboard = lived(at, 34, noisy(lambda h: 0.02 + max(h - 30, 0.0) * 0.02), house_volts=lambda _: 13.6)
    assert found(aboard).facts["pump"] == "loses"


# -- thaw -------------------------------------------------------------------------------------------------------------


def cold_until(hour: float) -> At:
    return lambda h: -4.0 if 24 < h < hour else 4.0


def test_after_a_thaw_of_something_wet_a_small_rise_is_enough_and_the_split_comes_first() -> None:
    level = lambda: noisy(lambda h: 0.02 + max(h - 60, 0.0) * 0.004, 2)  # noqa: E731 - one for each boat
    thawed = lived(record(wet=True), 72, level(), 1 / 6, galley=cold_until(58))
    mild = lived(record(wet=True), 72, level(), 1 / 6, galley=lambda _: 4.0)
    assert thawed.opened_h()[0] < mild.opened_h()[0]
    finding = found(thawed)
    assert finding.causes[0] == "thaw_burst"
    assert "look_for_split" in finding.first
    assert "thawed" in words(thawed).what
    assert found(mild).causes[0] != "thaw_burst"


def test_the_close_watch_after_a_thaw_ends_after_three_days() -> None:
    aboard = lived(record(wet=True), 58 + 73, noisy(0.02), galley=cold_until(58))
    aboard.live(2, {"bilge-level": noisy(0.3)})
    assert found(aboard).facts["thawed_ms"] is None


@pytest.mark.parametrize("seed", range(4))
def test_noise_is_no_rise_in_the_close_watch_either(seed: int) -> None:
    # By calculation (rising.RISING) below 0.003 a winter that is one close watch at ten minutes; here 30 days of it.
    rule, state, level = Bilge(record(wet=True)), BilgeState(), noisy(0.02, seed)
    for step in range(30 * 144):
        at = LAID_UP_MS + step * 10 * MINUTE
        state.thawed_ms = at
        rule.see(state, Reading("tern", "bilge-level", at, at, at, level(0) or 0.0, flag=Flag.PASS))
        memory = state.bilges["bilge"]
        assert (memory.fast, memory.slow) == (None, None)


# -- bung out ---------------------------------------------------------------------------------------------------------


def ashore_open() -> Vessel:
    return record(afloat=False).model_copy(update={"mode": boat(mode="ashore bung out").mode})


def test_with_the_bung_out_no_rise_proves_nothing_and_that_is_a_word_and_no_alert() -> None:
    aboard = lived(ashore_open(), 8 * DAY_H, noisy(lambda h: 0.02 + h * 0.0003))
    finding = found(aboard)
    assert (finding.kind, finding.sure) == ("bung out", Sure.NOT_KNOWN)
    assert aboard.events == []
    assert "proves nothing" in words(aboard).what


def test_the_word_on_the_bung_never_holds_a_high_alarm_open() -> None:
    aboard = lived(ashore_open(), 24, noisy(0.02))
    aboard.live(3, {"bilge-level": noisy(0.3)})
    assert found(aboard).kind == "high"
    aboard.live(6, {"bilge-level": noisy(0.02)})
    assert [alert.returned_ms is not None for alert in aboard.watch.open_alerts()] == [True]
    aboard.live(30, {"bilge-level": noisy(0.02)})
    assert found(aboard).kind == "bung out"


# -- manners ----------------------------------------------------------------------------------------------------------


def test_the_state_of_a_pumped_and_frozen_winter_is_bounded_and_comes_back() -> None:
    at = record(wet=True, pump_lph=1000, pump_sensor="pump-lead", dip_table=DIP, temperature_sensor="engine-space")
    degc = spells(1, 3000)
    others: dict[str, At] = {
        "galley": lambda h: degc[int(h)] - 5.0,
        "engine_space": lambda h: degc[int(h)],
        "pump_lead": lambda h: float(h % 5 < 1),
        "house_volts": lambda _: 12.6,
    }
    aboard = lived(at, 40 * DAY_H, teeth(lambda _: 6.0), **others)
    assert round_trips(aboard.state, BilgeState)
    sensors = {name.replace("_", "-"): value for name, value in others.items()} | {"bilge-level": noisy(0.05)}
    once = json_bytes(aboard.live(40 * DAY_H, sensors).state, BilgeState)
    assert json_bytes(aboard.live(40 * DAY_H, sensors).state, BilgeState) < 1.1 * once < 40_000


def test_the_next_look_is_when_a_pumps_runs_have_passed() -> None:
    aboard = lived(record(pump_lph=1000), 5 * DAY_H, teeth(lambda _: 5.0))
    rule = Bilge(aboard.record)
    now, last = aboard.now_ms, [f.kind for f in rule.judge(aboard.state, aboard.now_ms)]
    due = rule.next_look(aboard.state, now)
    for minute in range(10, 3 * 24 * 60, 10):
        now = aboard.now_ms + minute * MINUTE
        kinds = [f.kind for f in rule.judge(aboard.state, now)]
        if kinds != last:
            assert due is not None
            assert now - 10 * MINUTE < due <= now
        if due is not None and due <= now:
            due = rule.next_look(aboard.state, now)
        last = kinds
    assert now > aboard.now_ms + 2 * DAY
