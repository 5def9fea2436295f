"""What telling costs as an event of the fleet grows: time an alert, at four sizes, which must not rise with the size.

A frost night: every boat's alert opens within some seconds, the yard and all owners are told, and somebody takes all of
it, in one batch and, at the smaller sizes, in a batch a boat.
"""

import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from telling.yard_told import Told

from monitor.model.alert import AlertChange
from monitor.model.batch import Batch
from monitor.model.scale import Priority

SIZES = (500, 1_000, 2_000, 4_000)
ONE_BY_ONE_UP_TO = 1_000


@dataclass(frozen=True, slots=True)
class Cost:
    """What a night over so many boats cost, in seconds: opening, telling, taking; and the state's size in bytes."""

    boats: int
    opened_s: float
    told_s: float
    taken_s: float
    taken_one_by_one_s: float | None
    state_bytes: int


def nights() -> Iterator[Cost]:
    """Give the cost of a night at each size."""
    for boats in SIZES:
        told = Told(boats=boats)
        opened_s = _feed(told, [_joined(_events(told, 0, AlertChange.OPENED, "watch"))])
        began = time.perf_counter()
        told.clock(60)
        told_s = time.perf_counter() - began
        kept = told.kept
        taken = _events(told, 61, AlertChange.ACKNOWLEDGED, "Anna")
        taken_s = _feed(told, [_joined(taken)])
        state_bytes, one_by_one_s = len(told.kept or ""), None
        if boats <= ONE_BY_ONE_UP_TO:
            told.telling = told.made(kept)
            one_by_one_s = _feed(told, taken)
        yield Cost(boats, opened_s, told_s, taken_s, one_by_one_s, state_bytes)


def lines() -> Iterator[str]:
    """Give what nights cost, in words."""
    yield "telling, a frost night over the fleet, time an alert:"
    for cost in nights():
        opened, told, taken = (f"{s / cost.boats * 1e6:4.0f} us" for s in (cost.opened_s, cost.told_s, cost.taken_s))
        one = cost.taken_one_by_one_s
        alone = "" if one is None else f", {one / cost.boats * 1e3:.1f} ms where each is a batch of its own"
        kept = f"{cost.state_bytes / cost.boats:.0f} bytes kept"
        yield f"         {cost.boats:5,} boats: {opened} opened, {told} told, {taken} taken{alone}; {kept}"


def _events(told: Told, at_min: float, change: AlertChange, actor: str) -> list[Batch]:
    batches = []
    for number in range(1, len(told.vessels) + 1):
        told.seq += 1
        about = ("frost/heads", Priority.WARNING, f"boat-{number}", 30.0, actor)
        batches.append(told.batch_of(at_min + number / 60_000, change, *about, water=False, state=None))
    return batches


def _joined(batches: list[Batch]) -> Batch:
    alerts = {key: alert for batch in batches for key, alert in batch.alerts.items()}
    return Batch(events=[event for batch in batches for event in batch.events], alerts=alerts)


def _feed(told: Told, batches: list[Batch]) -> float:
    began = time.perf_counter()
    for batch in batches:
        told.feed(batch)
    return time.perf_counter() - began
