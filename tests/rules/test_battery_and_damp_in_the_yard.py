"""The simulator's whole winter, whose physics are its own: what must be told is told in time, and no more."""

from itertools import chain

import pytest

from monitor.model.alert import AlertEvent
from monitor.model.inputs import Clock
from monitor.model.parcel import ClockMessage
from monitor.model.reading import Reading
from monitor.model.scale import Priority
from monitor.rules.battery import Batteries
from monitor.rules.damp import Damp
from monitor.watch import Watch
from simulator.winter import Winter
from simulator.yard import yard_plan, yard_vessels

HOUR_MS = 3_600_000
# By fault: the rule, and within how many hours it must be told.
TOLD_WITHIN_H = {
    "hidden load": ("battery", 8 * 24),
    "charger trips": ("battery", 6),
    "dehumidifier stops": ("damp", 48),
}


def winter(seed: int) -> Winter:
    plan = yard_plan()
    return Winter(plan.model_copy(update={"seed": plan.seed + seed}), yard_vessels())


def alerts(a_winter: Winter) -> list[tuple[str, AlertEvent]]:
    """The alert events of all boats, each with its rule."""
    boats = {v.id: Watch(v, a_winter.plan.begins_ms, (Batteries, Damp)) for v in a_winter.vessels}
    told: list[tuple[str, AlertEvent]] = []
    rules: dict[str, str] = {}
    for message in a_winter.stream():
        if isinstance(message, ClockMessage):
            outcomes = [b.fold(Clock(message.at_ms)) for b in boats.values()]
        else:
            boat = boats[message.vessel]
            outcomes = [
                boat.fold(Reading(message.vessel, sensor, at, at, at, value))
                for sensor, _, at, value in message.readings
            ]
        for outcome in outcomes:
            rules.update({a.id: a.rule for a in outcome.alerts.values()})
            told += [(rules[e.alert], e) for e in outcome.events]
    return told


@pytest.mark.slow
@pytest.mark.parametrize("seed", [0, 1, 2])
def test_each_fault_is_told_in_time_and_every_other_boat_is_left_alone(seed: int) -> None:
    a_winter = winter(seed)
    told = [(rule, e) for rule, e in alerts(a_winter) if e.priority >= Priority.WARNING]
    wanted = [f for f in a_winter.plan.faults if f.truth()["kind"] in TOLD_WITHIN_H]
    assert len(wanted) == len(TOLD_WITHIN_H)
    for fault in wanted:
        rule, within_h = TOLD_WITHIN_H[fault.truth()["kind"]]
        times = [e.at_ms - fault.begins_ms for r, e in told if r == rule and e.vessel == fault.vessel]
        assert times, fault
        assert 0 < times[0] <= within_h * HOUR_MS, fault
    assert {e.vessel for _, e in told} == {f.vessel for f in wanted}
    ids = {f.vessel: {e.alert for _, e in told if e.vessel == f.vessel} for f in wanted}
    assert len(set(chain(*ids.values()))) == len(wanted), "one alert for one situation"
