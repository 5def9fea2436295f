"""A whole winter as one ordered stream of clock messages and packs, as the yard's gateways would send them."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from monitor.model.parcel import ClockMessage
from monitor.model.quantity import SPANS, Quantity
from monitor.model.vessel import Vessel
from simulator.boat import Boat, BoatPlan, Outside, PackReading
from simulator.harbour import Harbour
from simulator.plan import WinterPlan
from simulator.yard import CADENCE_S, yard_plan, yard_vessels

_SWITCH_UNIT = SPANS[Quantity.FLOAT_SWITCH].unit
HOUR_S = 3_600


@dataclass(frozen=True, slots=True)
class Pack:
    """What one gateway sends at one time.

    Attributes:
        vessel: vessel id.
        at_ms: when it is sent, ms UTC.
        readings: sensor, unit, stated time (ms UTC) and value of each; a switch is 1.0 or 0.0.
    """

    vessel: str
    at_ms: int
    readings: list[PackReading]


Message = ClockMessage | Pack


class Winter:
    """One yard's winter, which can be streamed again and again with the same result.

    Attributes:
        plan: the winter's document.
        vessels: the lay-up records.
        cadence_s: seconds between a gateway's packs.
    """

    def __init__(self, plan: WinterPlan, vessels: Sequence[Vessel], cadence_s: int = CADENCE_S) -> None:
        if not 60 <= cadence_s <= HOUR_S or HOUR_S % cadence_s:
            raise ValueError(f"cadence_s is {cadence_s}; it must divide an hour and lie in 60 to {HOUR_S} s")
        self.plan = plan.fitting(vessels, plan.name)
        self.vessels = tuple(vessels)
        self.cadence_s = cadence_s

    @property
    def days(self) -> int:
        """How many days it has, the last one counted whole."""
        return self.day_of(self.plan.ends_ms)

    def day_of(self, at_ms: int) -> int:
        """Give the day of the winter that a time lies in; the first is 1."""
        return (at_ms - self.plan.begins_ms) // 86_400_000 + 1

    def truth(self) -> dict[str, list[dict[str, Any]]]:
        """Give what befalls each vessel, for a report; boats that are fine have an empty list."""
        found: dict[str, list[dict[str, Any]]] = {v.id: [] for v in self.vessels}
        for fault in self.plan.faults:
            found[fault.vessel].append(fault.truth())
        return found

    def stream(self) -> Iterator[Message]:
        """Give the winter's messages in the order of their time.

        Every time is announced by one clock message, which the packs of that time follow. Between the packs of the
        cadence stand those of switches that moved, at their own minute.
        """
        weather = self.plan.weather.load(self.plan.begins, self.plan.ends)
        harbour = Harbour()
        at_ms = self.plan.begins_ms
        outside = Outside.of(weather.at(at_ms), harbour.water_degc)
        boats = self._boats(outside)
        yield from _tick(at_ms, boats)
        step_ms = self.cadence_s * 1000
        for now_ms in range(at_ms + step_ms, self.plan.ends_ms + 1, step_ms):
            hour = weather.at(now_ms)
            harbour.step(self.cadence_s, hour.outside_degc)
            outside = Outside.of(hour, harbour.water_degc)
            moved = {
                (at, n, sensor): value
                for n, boat in enumerate(boats)
                for at, sensor, value in boat.step(outside)
                # What moved at the very time of the pack is said by the pack.
                if at < now_ms
            }
            for (at, n, sensor), value in sorted(moved.items()):
                yield ClockMessage(at)
                yield Pack(boats[n].record.id, at, [(sensor, _SWITCH_UNIT, at, value)])
            yield from _tick(now_ms, boats)

    def _boats(self, outside: Outside) -> list[Boat]:
        plans = {p.vessel: p for p in self.plan.boats}
        boats = {v.id: Boat(v, plans.get(v.id, BoatPlan(vessel=v.id)), outside, self.plan.seed) for v in self.vessels}
        for fault in self.plan.faults:
            for happening in fault.happenings():
                boats[fault.vessel].will_happen(happening)
        return list(boats.values())


def _tick(at_ms: int, boats: Sequence[Boat]) -> Iterator[Message]:
    yield ClockMessage(at_ms)
    for boat in boats:
        readings = boat.readings()
        if readings:
            yield Pack(boat.record.id, at_ms, readings)


def yard_winter(cadence_s: int = CADENCE_S) -> Winter:
    """Give the invented yard's winter."""
    return Winter(yard_plan(), yard_vessels(cadence_s), cadence_s)
