"""Twelve boats through generated winters: these rules tell what befalls them, and let every other boat be."""

from collections import defaultdict

import pytest

from monitor.model.alert import Alert
from monitor.model.inputs import Clock
from monitor.model.parcel import ClockMessage
from monitor.model.reading import Reading
from monitor.model.scale import Priority
from monitor.rules.damp import Damp
from monitor.rules.maintenance import Maintenance
from monitor.rules.power import Power
from monitor.watch import Watch
from simulator.weather_plan import GeneratedWeather
from simulator.winter import Winter
from simulator.yard import yard_plan, yard_vessels


def alerts(seed: int) -> dict[str, list[Alert]]:
    plan = yard_plan()
    weather = GeneratedWeather(source="generated", seed=seed)
    winter = Winter(plan.model_copy(update={"seed": plan.seed + seed, "weather": weather}), yard_vessels())
    boats = {v.id: Watch(v, winter.plan.begins_ms, (Power, Damp, Maintenance)) for v in winter.vessels}
    found: dict[str, Alert] = {}
    for message in winter.stream():
        if isinstance(message, ClockMessage):
            outcomes = [boat.fold(Clock(message.at_ms)) for boat in boats.values()]
        else:
            rows = [Reading(message.vessel, s, at, at, at, v) for s, _, at, v in message.readings]
            outcomes = [boats[message.vessel].fold(reading) for reading in rows]
        for outcome in outcomes:
            found |= outcome.alerts
    by_rule = defaultdict(list)
    for alert in found.values():
        by_rule[alert.rule].append(alert)
    return by_rule


@pytest.mark.slow
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_only_the_boat_whose_dehumidifier_stops_is_damp_and_nothing_is_said_of_power(seed: int) -> None:
    told = alerts(seed)
    assert [(a.vessel, a.subject) for a in told["damp"] if a.highest >= Priority.WARNING] == [
        ("thistledown", "dehumidifier")
    ]
    assert told["power"] == []
    # Of the record only copper-wren's old coolant; the visits are those of another winter's thaws.
    assert {(a.vessel, a.subject) for a in told["maintenance"] if a.subject != "visit"} == {
        ("copper-wren", "closed-cooling")
    }
    assert {a.highest for a in told["maintenance"]} == {Priority.CAUTION}
    visits = [a.vessel for a in told["maintenance"] if a.subject == "visit"]
    assert all(visits.count(vessel) <= 6 for vessel in visits)
