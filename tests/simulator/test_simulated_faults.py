"""Faults: each changes what it says and nothing else, and can be put right."""

import pytest

from monitor.model.parcel import ClockMessage
from simulator.plan import read_plan
from simulator.winter import Pack, Winter
from simulator.yard import yard_plan, yard_vessels

HOUR_MS = 3_600_000
BEGINS = "2013-11-03T05:00:00Z"
ENDS = "2013-11-06T05:00:00Z"
BEGINS_MS = 1_383_454_800_000  # 2013-11-03T05:00Z
ENDS_MS = BEGINS_MS + 72 * HOUR_MS

Said = dict[tuple[str, int], float]


def _week(fault: str) -> tuple[Said, list[ClockMessage | Pack]]:
    vessel = fault.split('vessel = "')[1].split('"', maxsplit=1)[0]
    text = (
        'name = "a week"\nseed = 5\nbegins = 2013-11-01T00:00:00Z\nends = 2013-11-08T00:00:00Z\n'
        f'weather = {{ source = "jfk-2013" }}\n[[faults]]\nbegins = {BEGINS}\nends = {ENDS}\n{fault}'
    )
    boats = tuple(b for b in yard_plan().boats if b.vessel == vessel)
    plan = read_plan(text, "week").model_copy(update={"boats": boats})
    messages = list(Winter(plan, [v for v in yard_vessels() if v.id == vessel]).stream())
    return {(s, at): v for m in messages if isinstance(m, Pack) for s, _, at, v in m.readings}, messages


def _all(said: Said, sensor: str, from_ms: int = 0, to_ms: int = 2**60) -> list[float]:
    return [v for (s, at), v in said.items() if s == sensor and from_ms <= at < to_ms]


def test_lost_shore_power_is_said_within_the_minute_and_stops_charger_and_dehumidifier() -> None:
    said, messages = _week('kind = "shore power lost"\nvessel = "oat-harvest"\nsubject = "mains"\n')
    assert (said["mains", BEGINS_MS], said["mains", BEGINS_MS + 60_000]) == (1.0, 0.0)
    assert (said["mains", ENDS_MS], said["mains", ENDS_MS + 60_000]) == (0.0, 1.0)
    between = {m.at_ms for m in messages if m.at_ms % HOUR_MS}
    assert between == {BEGINS_MS + 60_000, ENDS_MS + 60_000}
    assert max(_all(said, "battery-volts", BEGINS_MS + 24 * HOUR_MS, ENDS_MS)) < 12.95
    assert min(_all(said, "battery-volts", ENDS_MS + HOUR_MS)) > 13.4
    assert max(_all(said, "cabin-humidity", BEGINS_MS, ENDS_MS + HOUR_MS)) > 62
    assert _all(said, "cabin-humidity")[-1] < 60


def test_a_charger_that_tripped_and_was_set_going_charges_again() -> None:
    said, _ = _week('kind = "charger trips"\nvessel = "second-kettle"\nsubject = "house"\n')
    assert max(_all(said, "battery-volts", BEGINS_MS + 24 * HOUR_MS, ENDS_MS)) < 12.9
    assert min(_all(said, "battery-volts", ENDS_MS + 24 * HOUR_MS)) > 13.4
    assert set(_all(said, "mains")) == {1.0}


def test_a_gland_that_was_tightened_leaves_her_dry() -> None:
    said, _ = _week('kind = "gland drip"\nvessel = "nettlewing"\nsubject = "main-bilge"\ndrops_per_min = 60\n')
    # 60 drops of 0.05 mL a minute for three days are 13 litres, near 0.09 m in 1,500 h^2 litres.
    assert max(_all(said, "bilge-level", BEGINS_MS, ENDS_MS + HOUR_MS)) == pytest.approx(0.09, abs=0.012)
    assert max(_all(said, "bilge-level", ENDS_MS + HOUR_MS)) < 0.016


def test_a_hidden_load_that_was_found_takes_nothing_more() -> None:
    said, _ = _week('kind = "hidden load"\nvessel = "lantern-rose"\nsubject = "house"\nload_ma = 500\n')
    low = _all(said, "battery-volts", ENDS_MS)
    assert min(_all(said, "battery-volts", 0, BEGINS_MS)) > 12.5
    # 36 of 100 Ah are gone; what is left rests.
    assert max(low) < 12.45
    assert max(low) - min(low) < 0.12


def test_a_gateway_that_comes_back_is_heard_again_and_was_not_heard_between() -> None:
    said, _ = _week('kind = "gateway silent"\nvessel = "blue-harrow"\nsubject = "gateway"\n')
    times = {at for _, at in said}
    assert not [at for at in times if BEGINS_MS < at <= ENDS_MS]
    assert ENDS_MS + HOUR_MS in times


def test_a_silent_gateway_keeps_its_float_switch_to_itself() -> None:
    silent = 'kind = "gateway silent"\nvessel = "saltwhistle"\nsubject = "gateway"\n'
    leak = (
        f'[[faults]]\nbegins = {BEGINS}\nkind = "seacock passing, hose off"\nvessel = "saltwhistle"\n'
        'subject = "heads-intake"\nbilge = "main-bilge"\nbore_mm = 8\n'
    )
    said, _ = _week(silent + leak)
    floats = {at: v for (s, at), v in said.items() if s == "bilge-float"}
    assert not [at for at in floats if BEGINS_MS < at <= ENDS_MS]
    assert floats[ENDS_MS + HOUR_MS] == 1.0


def test_a_stuck_sensor_that_came_loose_moves_again() -> None:
    said, _ = _week('kind = "sensor sticks"\nvessel = "juniper-day"\nsubject = "cabin"\n')
    assert len(set(_all(said, "cabin", BEGINS_MS + HOUR_MS, ENDS_MS))) == 1
    assert len(set(_all(said, "cabin", ENDS_MS + HOUR_MS))) > 5


def test_a_fault_of_one_kind_leaves_the_other_sensors_as_they_were() -> None:
    stuck, _ = _week('kind = "sensor sticks"\nvessel = "juniper-day"\nsubject = "cabin"\n')
    silent, _ = _week('kind = "gateway silent"\nvessel = "juniper-day"\nsubject = "gateway"\n')
    before = {key: v for key, v in silent.items() if key[1] <= BEGINS_MS}
    assert before == {key: v for key, v in stuck.items() if key[1] <= BEGINS_MS}


def test_power_that_two_things_took_is_back_when_both_are_put_right() -> None:
    lost = 'kind = "shore power lost"\nvessel = "oat-harvest"\nsubject = "mains"\n'
    later = BEGINS.replace("03T05", "04T05"), ENDS.replace("06T05", "07T05")
    tripped = (
        f'[[faults]]\nbegins = {later[0]}\nends = {later[1]}\nkind = "residual-current breaker trips"\n'
        'vessel = "oat-harvest"\nsubject = "mains"\n'
    )
    said, _ = _week(lost + tripped)
    assert said["mains", ENDS_MS + HOUR_MS] == 0.0
    assert said["mains", ENDS_MS + 25 * HOUR_MS] == 1.0
