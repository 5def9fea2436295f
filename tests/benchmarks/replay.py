"""How long one vessel-winter takes at a reading every ten minutes: simulation, watch, and each rule's share.

On one core, with no broker and no journal. The watch is timed over a stream that stands ready, so that nothing of the
simulation is in it; the rules' shares come from a run of their own, since timing every call costs.
"""

import gc
import time
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from monitor.cli.outcome import CALENDAR
from monitor.fleet import Fleet, NothingStored
from monitor.model.inputs import RecordVersion
from monitor.model.parcel import ClockMessage, Parcel, RawReading
from monitor.rules.book import RULES
from monitor.rules.rule import Rule
from monitor.watch import Watch
from simulator.winter import Message, Pack, Winter, yard_winter

CADENCE_S = 600
BOATS = ("copper-wren", "second-kettle", "thistledown", "saltwhistle")
"""One whose frost rule is in reach half of the winter, and three with more aboard: charger, mains, float, machine."""

_HAND_OVER_EVERY = 5_000


@dataclass(frozen=True, slots=True)
class VesselWinter:
    """What one vessel's winter took, s: simulation, watch, and each rule's share of the watch."""

    vessel: str
    days: int
    readings: int
    simulation_s: float
    watch_s: float
    rules_s: dict[str, float]


def lines() -> Iterator[str]:
    """Measure each of the boats, in words."""
    yield f"replay, one vessel-winter at {CADENCE_S} s on one core:"
    for vessel in BOATS:
        took = vessel_winter(vessel)
        yield (
            f"         {took.watch_s:5.2f} s watch, {took.simulation_s:5.2f} s simulation:"
            f" {vessel}, {took.days} days, {took.readings:,} readings"
        )
        shares = sorted(took.rules_s.items(), key=lambda share: -share[1])
        yield "                 rules, timed: " + ", ".join(f"{name} {share:.2f} s" for name, share in shares)


def vessel_winter(vessel: str) -> VesselWinter:
    """Measure one vessel of the demo's yard by herself."""
    whole = yard_winter(CADENCE_S)
    faults = tuple(fault for fault in whole.plan.faults if fault.vessel == vessel)
    boats = tuple(boat for boat in whole.plan.boats if boat.vessel == vessel)
    plan = whole.plan.model_copy(update={"faults": faults, "boats": boats})
    winter = Winter(plan, [v for v in whole.vessels if v.id == vessel], CADENCE_S)
    began = time.perf_counter()
    messages = [m for m in winter.stream() if isinstance(m, (ClockMessage, Pack))]
    simulation_s = time.perf_counter() - began
    inputs = [_input(message) for message in messages]
    del messages
    gc.collect()
    gc.freeze()  # a stream that comes as it goes leaves the collector nothing to walk through again and again
    readings, watch_s = _watched(winter, inputs)
    shares: Counter[str] = Counter()
    _watched(winter, inputs, tuple(_timed(rule, shares) for rule in RULES))
    gc.unfreeze()
    return VesselWinter(vessel, winter.days, readings, simulation_s, watch_s, dict(shares))


def _input(message: Message) -> int | Parcel:
    if isinstance(message, Pack):
        raws = [RawReading(message.vessel, sensor, value, stated) for sensor, _, stated, value in message.readings]
        return Parcel(0, 0, 0, retained=False, topic="", readings=raws)
    return message.at_ms


def _watched(
    winter: Winter, inputs: Iterable[int | Parcel], rules: tuple[type[Rule[Any]], ...] = RULES
) -> tuple[int, float]:
    fleet = Fleet(NothingStored())
    fleet.calendar(CALENDAR, 0)
    readings, began = 0, time.perf_counter()
    for record in winter.vessels:
        fleet.command(RecordVersion(record, winter.plan.begins_ms, record.engineer))
        if rules is not RULES:
            fleet.watches[record.id] = Watch(record, winter.plan.begins_ms, rules)
    for item in inputs:
        if isinstance(item, Parcel):
            fleet.take(item, fleet.clock_ms, caught_up=True)
        else:
            fleet.clock(item)
        if fleet.filled >= _HAND_OVER_EVERY:
            readings += len(fleet.hand_over().readings)
    return readings + len(fleet.hand_over().readings), time.perf_counter() - began


def _timed(rule: type[Rule[Any]], shares: Counter[str]) -> type[Rule[Any]]:
    """Make a rule that counts the time it takes to see, to judge and to say when it looks again."""

    def timed(name: str) -> Any:
        whole = getattr(rule, name)

        def run(self: Any, state: Any, item: Any) -> Any:
            began = time.perf_counter()
            given = whole(self, state, item)
            shares[rule.name] += time.perf_counter() - began
            return given

        return run

    return type(rule.__name__, (rule,), {name: timed(name) for name in ("see", "judge", "next_look")})
