"""A whole winter as one ordered stream of clock messages and packs, as the yard's gateways would send them."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from operator import itemgetter
from typing import Any, Self

from monitor.model.parcel import ClockMessage
from monitor.model.surroundings import YardCalendar
from monitor.model.vessel import Vessel
from simulator.boat import Boat
from simulator.boat_plan import usual_plan
from simulator.forecast import Forecasts
from simulator.gateway import PackReading
from simulator.ground import Ground
from simulator.harbour import Harbour
from simulator.hours import HOUR_MS, Weather
from simulator.outside import Outside
from simulator.plan import WinterPlan
from simulator.truth import TruthLog
from simulator.yard import CADENCE_S, yard_plan, yard_vessels

HOUR_S = 3_600


@dataclass(frozen=True, slots=True)
class Pack:
    """What one gateway sends at one time.

    Attributes:
        vessel: vessel id.
        at_ms: when it is sent, ms UTC.
        readings: sensor, unit, stated time (ms UTC) and value of each; a switch is 1.0 or 0.0.
        retained: whether the broker hands it out as what it kept from before.
    """

    vessel: str
    at_ms: int
    readings: list[PackReading]
    retained: bool = False


@dataclass(frozen=True, slots=True)
class ForecastIssued:
    """A forecast reaches the yard.

    Attributes:
        at_ms: when, ms UTC.
        hours: outside air foretold, as (time ms UTC, degC).
    """

    at_ms: int
    hours: list[tuple[int, float]]


@dataclass(frozen=True, slots=True)
class RecordChanged:
    """Somebody writes a new version of a record.

    Attributes:
        at_ms: when, ms UTC.
        record: the new version.
    """

    at_ms: int
    record: Vessel


Message = ClockMessage | Pack | ForecastIssued | RecordChanged


class Winter:
    """One yard's winter, which can be streamed again and again with the same result.

    Attributes:
        plan: the winter's document, with every fault it has.
        vessels: the lay-up records of those who are watched.
        cadence_s: seconds between a gateway's packs.
        seed: the seed it was asked for by; all chance is drawn by the plan's.
    """

    def __init__(
        self,
        plan: WinterPlan,
        vessels: Sequence[Vessel],
        cadence_s: int | None = None,
        *,
        watched: Sequence[str] = (),
        weather: Weather | None = None,
        seed: int | None = None,
    ) -> None:
        """Make one.

        Args:
            plan: the winter's document.
            vessels: the lay-up records of all boats that it names.
            cadence_s: seconds between packs, where it is not to be the plan's.
            watched: ids of those who are watched; the others only lie beside them. Empty for all.
            weather: the weather, where it is known already.
            seed: the seed that was asked for, where the plan's was made of it.
        """
        cadence_s = plan.cadence_s if cadence_s is None else cadence_s
        if not 60 <= cadence_s <= HOUR_S or HOUR_S % cadence_s:
            raise ValueError(f"cadence_s is {cadence_s}; it must divide an hour and lie in 60 to {HOUR_S} s")
        self.plan = plan.fitting(vessels, plan.name)
        self.vessels = tuple(v for v in vessels if not watched or v.id in watched)
        self.cadence_s = cadence_s
        self.seed = plan.seed if seed is None else seed
        self._all = tuple(vessels)
        self._weather = weather

    @property
    def calendar(self) -> YardCalendar:
        """The yard's calendar."""
        return self.plan.calendar

    @property
    def has_forecast(self) -> bool:
        """Whether the yard gets forecasts."""
        return self.plan.forecast is not None

    @property
    def weather(self) -> Weather:
        """The weather, loaded when it is first asked for."""
        if self._weather is None:
            self._weather = self.plan.weather.load(self.plan.begins, self.plan.ends, self.plan.seed)
        return self._weather

    def alone(self, number: int) -> Self:
        """Give the winter with one vessel watched: she says just what she says among the others.

        Args:
            number: her place in `vessels`.
        """
        mine = self.vessels[number].id
        faults = tuple(f for f in self.plan.faults if f.vessel == mine)
        needed = {mine, *(other for f in faults if (other := f.other_vessel) is not None)}
        plan = self.plan.model_copy(
            update={"faults": faults, "boats": tuple(b for b in self.plan.boats if b.vessel in needed)}
        )
        records = [v for v in self._all if v.id in needed]
        return type(self)(plan, records, self.cadence_s, watched=[mine], weather=self.weather, seed=self.seed)

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

    def stream(self, log: TruthLog | None = None) -> Iterator[Message]:
        """Give the winter's messages in the order of their time.

        Every time is announced by one clock message, which what is sent at that time follows. Between the packs of the
        cadence stand those of switches that moved, at their own minute.

        Args:
            log: where the truth is noted as the winter goes on, None where nobody asks.
        """
        plan, weather = self.plan, self.weather
        harbour, ground = Harbour.before(weather), Ground.before(weather)
        at_ms = plan.begins_ms
        outside = Outside.of(weather.at(at_ms), harbour.water_degc, ground.ground_degc)
        boats = self._boats(outside, TruthLog() if log is None else log)
        yard = _Yard([boats[v.id] for v in self.vessels], list(boats.values()))
        forecasts = None if plan.forecast is None else plan.forecast.of(weather, plan.seed)
        yield from yard.tick(at_ms, forecasts)
        step_ms = self.cadence_s * 1000
        for now_ms in range(at_ms + step_ms, plan.ends_ms + 1, step_ms):
            hour = weather.at(now_ms)
            harbour.step(self.cadence_s, hour.outside_degc)
            ground.step(self.cadence_s, hour.outside_degc)
            yard.step(Outside.of(hour, harbour.water_degc, ground.ground_degc))
            yield from yard.tick(now_ms, forecasts)

    def _boats(self, outside: Outside, log: TruthLog) -> dict[str, Boat]:
        plans = {p.vessel: p for p in self.plan.boats}
        watched = {v.id for v in self.vessels}
        boats = {
            v.id: Boat(
                v,
                plans.get(v.id) or usual_plan(v),
                outside,
                self.plan.seed,
                log if v.id in watched else TruthLog(),
            )
            for v in self._all
        }
        for boat in boats.values():
            boat.neighbours = boats
        for fault in self.plan.faults:
            for happening in fault.happenings():
                boats[fault.vessel].will_happen(happening)
        return boats


class _Yard:
    """The boats under way: those who are watched, and all who lie there."""

    def __init__(self, watched: Sequence[Boat], boats: Sequence[Boat]) -> None:
        self._watched = watched
        self._boats = boats

    def step(self, outside: Outside) -> None:
        """Take all boats on."""
        for boat in self._boats:
            boat.step(outside)

    def tick(self, now_ms: int, forecasts: Forecasts | None) -> Iterator[Message]:
        """Say the time, and what has come to the broker by then, what came before it at its own time."""
        before: list[tuple[int, int, Pack]] = []
        now: list[Message] = []
        for n, boat in enumerate(self._watched):
            vessel = boat.record.id
            for at_ms, readings, retained in boat.send():
                pack = Pack(vessel, at_ms, readings, retained)
                if at_ms < now_ms:
                    before.append((at_ms, n, pack))
                else:
                    now.append(pack)
            if boat.new_record is not None:
                now.append(RecordChanged(now_ms, boat.new_record))
                boat.new_record = None
        before.sort(key=itemgetter(0, 1))
        said_ms = -1
        for at_ms, _, pack in before:
            if at_ms != said_ms:
                yield ClockMessage(at_ms)
                said_ms = at_ms
            yield pack
        yield ClockMessage(now_ms)
        if forecasts is not None and now_ms % (forecasts.every_h * HOUR_MS) == 0:
            yield ForecastIssued(now_ms, forecasts.issued(now_ms))
        yield from now


def yard_winter(cadence_s: int = CADENCE_S) -> Winter:
    """Give the invented yard's winter."""
    return Winter(yard_plan(), yard_vessels(cadence_s), cadence_s)
