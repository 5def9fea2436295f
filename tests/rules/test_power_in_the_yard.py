"""Shore power lost in the simulator's own winters, under all rules: told at once, and once."""

from datetime import datetime, timedelta
from typing import Any

import pytest

from monitor.model.alert import Alert, AlertEvent
from monitor.model.inputs import Clock
from monitor.model.parcel import ClockMessage
from monitor.model.reading import Reading
from monitor.model.scale import Priority
from monitor.model.vessel import Vessel
from monitor.watch import Watch
from simulator.plan import WinterPlan
from simulator.weather_plan import GeneratedWeather
from simulator.winter import Winter
from simulator.yard import yard_plan, yard_vessels

HOUR_MS = 3_600_000
FED = ("oat-harvest", "thistledown", "morning-loaf", "second-kettle")


def darkened(vessel: str, begins: datetime, days: int, *, weather: int | None, mains: bool) -> tuple[Winter, Vessel]:
    """A winter around one loss of power aboard one boat, which has a mains sensor or none."""
    plan = yard_plan()
    ends = begins + timedelta(days=days)
    fault: dict[str, Any] = {"kind": "shore power lost", "vessel": vessel, "subject": "mains", "begins": begins}
    document = plan.model_dump(exclude={"faults", "ends", "weather"}) | {
        "faults": [fault],
        "ends": ends,
        "weather": plan.weather if weather is None else GeneratedWeather(source="generated", seed=weather),
    }
    boats = tuple(v for v in yard_vessels() if v.id == vessel)
    named = {"boats": tuple(b for b in plan.boats if b.vessel == vessel)}
    winter = Winter(WinterPlan.model_validate(document | named), boats)
    seen = boats[0]
    if not mains:
        sensors = tuple(s for s in seen.sensors if s.id != seen.shore_power.mains_sensor)
        power = seen.shore_power.model_copy(update={"mains_sensor": None})
        seen = seen.model_copy(update={"sensors": sensors, "shore_power": power})
    return winter, seen


def told(winter: Winter, record: Vessel) -> tuple[list[AlertEvent], dict[str, Alert]]:
    watch = Watch(record, winter.plan.begins_ms)
    events: list[AlertEvent] = []
    alerts: dict[str, Alert] = {}
    for message in winter.stream():
        if isinstance(message, ClockMessage):
            outcomes = [watch.fold(Clock(message.at_ms))]
        else:
            rows = [Reading(record.id, s, at, at, at, v) for s, _, at, v in message.readings]
            outcomes = [watch.fold(reading) for reading in rows]
        for outcome in outcomes:
            events += outcome.events
            alerts |= outcome.alerts
    return events, alerts


@pytest.mark.slow
@pytest.mark.parametrize("weather", [None, 1, 2])
@pytest.mark.parametrize("vessel", FED)
def test_with_a_mains_sensor_it_is_told_within_minutes_and_charger_and_damp_open_nothing(
    vessel: str, weather: int | None
) -> None:
    begins = datetime.fromisoformat("2013-12-10T04:00:00Z")
    winter, record = darkened(vessel, begins, 8, weather=weather, mains=True)
    events, alerts = told(winter, record)
    lost_ms = winter.plan.faults[0].begins_ms
    opened = {a.rule: a.opened_ms - lost_ms for a in alerts.values() if a.opened_ms >= lost_ms}
    assert 0 < opened.pop("power") <= 5 * 60_000
    assert set(opened) <= {"frost", "maintenance"}
    before = [e for e in events if e.at_ms < lost_ms and e.priority >= Priority.WARNING]
    assert before == []


@pytest.mark.slow
@pytest.mark.parametrize("weather", [None, 1, 2])
@pytest.mark.parametrize("hour", [3, 9, 20])
def test_without_a_mains_sensor_it_is_told_by_what_stopped_together_or_by_the_battery_watch(
    weather: int | None, hour: int
) -> None:
    begins = datetime.fromisoformat(f"2013-12-13T{hour:02}:00:00Z")
    winter, record = darkened("thistledown", begins, 4, weather=weather, mains=False)
    _, alerts = told(winter, record)
    lost_ms = winter.plan.faults[0].begins_ms
    by_rule = {a.rule: a.opened_ms - lost_ms for a in alerts.values() if a.rule in {"power", "battery"}}
    assert by_rule
    assert all(0 < after <= 6 * HOUR_MS for after in by_rule.values()), by_rule


@pytest.mark.slow
@pytest.mark.parametrize("weather", [None, 1, 2, 3])
@pytest.mark.parametrize("vessel", FED)
def test_a_winter_with_power_there_says_nothing_of_power(vessel: str, weather: int | None) -> None:
    begins = datetime.fromisoformat("2014-03-30T04:00:00Z")
    winter, record = darkened(vessel, begins, 1, weather=weather, mains=False)
    _, alerts = told(winter, record)
    assert [a for a in alerts.values() if a.rule == "power" and a.opened_ms < winter.plan.faults[0].begins_ms] == []
