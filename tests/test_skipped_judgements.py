"""What is not judged is left out because it would change nothing.

A watch that judges after every reading says the same. The boats live through invented weeks with everything that a
winter has: cold and warm spells, a charger that goes, water that comes, sensors that stop and spike. The weather is
noise from a seed, so that no rule is tested by its own formula.
"""

from math import pi, sin
from random import Random
from typing import Any

import pytest
from boats import DAY, LAID_UP_MS, MINUTE, boat, sensor

from monitor.model.alert import AlertEvent
from monitor.model.inputs import Clock
from monitor.model.reading import Reading
from monitor.model.vessel import Vessel
from monitor.rules.book import RULES
from monitor.rules.rule import Rule
from monitor.watch import Watch

STEP = 10 * MINUTE
DAYS = 24
QUIET = {"outside", "engine-space", "bilge-level", "bilge-float", "house-volts", "mains", "cabin", "cabin-humidity"}


def eager(rule: type[Rule[Any]]) -> type[Rule[Any]]:
    """The same rule, which never says that a reading changes nothing."""

    def see(self: Any, state: Any, reading: Reading) -> None:
        rule.see(self, state, reading)

    return type(f"Eager{rule.__name__}", (rule,), {"see": see})


def ashore() -> Vessel:
    systems = boat().model_dump(include={"liquid_systems"})["liquid_systems"]
    wet = {"id": "fresh-water", "name": "Fresh water", "kind": "fresh water", "state": "wet", "liquid": "fresh water"}
    return boat(**aboard(), liquid_systems=[*systems, wet])


def afloat() -> Vessel:
    power = {"on": True, "mains_sensor": "mains"}
    batteries = boat().model_dump(include={"batteries"})["batteries"]
    charged = [battery | {"charger": True} for battery in batteries]
    return boat(**aboard(), mode="afloat laid up", plot=None, berth="A1", shore_power=power, batteries=charged)


def aboard() -> dict[str, Any]:
    """What both have aboard beside the boat of the tests."""
    known = boat().model_dump(include={"sensors"})["sensors"]
    more = [sensor("cabin", "temperature"), sensor("cabin-humidity", "humidity"), sensor("mains", "mains")]
    space = {"id": "cabin", "name": "Cabin", "humidity_sensor": "cabin-humidity", "temperature_sensor": "cabin"}
    sensors = [s | {"interval_s": 600, "accuracy": None} for s in (*known, *more)]
    return {"sensors": [{k: v for k, v in s.items() if v is not None} for s in sensors], "spaces": [space]}


def weeks(seed: int) -> list[list[tuple[str, float]]]:
    """Every ten minutes' pack of some weeks."""
    draw = Random(seed)
    spells = [draw.uniform(-8.0, 9.0) for _ in range(DAYS + 2)]
    silent = [(draw.choice(sorted(QUIET)), draw.uniform(2, DAYS), draw.uniform(0.05, 1.5)) for _ in range(5)]
    flood, dead, cut = draw.uniform(5, DAYS), draw.uniform(5, DAYS), draw.uniform(5, DAYS)
    engine, cabin, volts, level = 8.0, 8.0, 13.5, 0.01
    packs = []
    for step in range(DAYS * 144):
        day = step / 144
        whole = int(day)
        mean = spells[whole] + (spells[whole + 1] - spells[whole]) * (day - whole)
        outside = mean + 4.0 * sin(2 * pi * (day - 0.4)) + draw.gauss(0.0, 0.1)
        engine += (outside + 1.0 - engine) / 60
        cabin += (outside + 0.5 - cabin) / 30
        off = cut < day < cut + 0.6
        volts += ((12.75 if off or dead < day < dead + 2 else 13.5) - volts) / 12
        level = min(level + (0.0006 if flood < day < flood + 1.2 else 0.0), 0.2) if day < flood + 2 else 0.01
        pack = {
            "outside": round(outside, 1),
            "engine-space": round(engine + draw.gauss(0.0, 0.05), 1),
            "cabin": round(cabin + draw.gauss(0.0, 0.05), 1),
            "cabin-humidity": round(min(78.0 - 1.5 * (cabin - outside) + draw.gauss(0.0, 1.0), 100.0), 1),
            "house-volts": round(volts + draw.gauss(0.0, 0.01), 2),
            "bilge-level": round(level + draw.gauss(0.0, 0.001) + (0.06 if draw.random() < 0.001 else 0.0), 3),
            "bilge-float": float(level > 0.09),
            "mains": float(not off),
        }
        gone = {name for name, from_day, days in silent if from_day < day < from_day + days}
        packs.append([(name, value) for name, value in pack.items() if name not in gone])
    return packs


def told(record: Vessel, packs: list[list[tuple[str, float]]], rules: Any) -> list[tuple[Any, ...]]:
    """Fold the packs, and give what happened to alerts."""
    watch = Watch(record, LAID_UP_MS, rules)
    names: dict[str, tuple[str, str]] = {}
    events: list[AlertEvent] = []
    for step, pack in enumerate(packs):
        at_ms = LAID_UP_MS + step * STEP
        for item in (Clock(at_ms), *(Reading(record.id, name, at_ms, at_ms, at_ms, value) for name, value in pack)):
            outcome = watch.fold(item)
            names |= {alert.id: (alert.rule, alert.subject) for alert in outcome.alerts.values()}
            events += outcome.events
    return [(*names[e.alert], e.change.value, e.priority.word, (e.at_ms - LAID_UP_MS) / DAY) for e in events]


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize("record", [ashore(), afloat()], ids=["ashore", "afloat"])
def test_a_watch_that_judges_after_every_reading_says_the_same_at_the_same_minute(record: Vessel, seed: int) -> None:
    packs = weeks(seed)
    whole = told(record, packs, [eager(rule) for rule in RULES])
    assert told(record, packs, RULES) == whole
    assert len({event[0] for event in whole}) >= 3  # several rules had something to say


def test_most_readings_of_a_quiet_boat_are_not_judged_after() -> None:
    judged = 0

    def counted(rule: type[Rule[Any]]) -> type[Rule[Any]]:
        def judge(self: Any, state: Any, now_ms: int) -> Any:
            nonlocal judged
            judged += 1
            return rule.judge(self, state, now_ms)

        return type(f"Counted{rule.__name__}", (rule,), {"judge": judge})

    still = {"outside": 9.0, "engine-space": 10.0, "cabin": 10.0, "cabin-humidity": 70.0, "house-volts": 13.5}
    still |= {"bilge-level": 0.01, "bilge-float": 0.0, "mains": 1.0}
    noise, steps = Random(1), int(5 * DAY / STEP)
    packs = [[(name, v + noise.choice((0.0, 0.1)) * (v > 5.0)) for name, v in still.items()] for _ in range(steps)]
    told(afloat(), packs, [counted(rule) for rule in RULES])
    assert judged < steps * len(RULES) / 4  # about once an hour each, not six times
