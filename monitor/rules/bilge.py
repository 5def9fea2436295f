"""Bilge: is there water in her, is it rising, and how long until it does harm?

Three witnesses are heard for each bilge: the float switch, the level at its high mark, and the level's rise over hours
and days. Doubt never silences water: a high level that is not believed yet, or a float switch that a believable level
contradicts, is *water or bad sensor: go and look*. No data never clears a finding here, and silence after a rise is an
alarm. What a rise means depends on the record: where she lies, which seacocks were left open, whether the drain bung is
out (then no rise proves nothing, and only high water counts), whether a pump takes out what comes in, and whether
something left wet has just thawed: then a small rise is enough.
"""

from collections.abc import Iterator
from itertools import chain

from monitor.model.equipment import Bilge as BilgeRecord
from monitor.model.finding import Finding
from monitor.model.reading import Reading, Seen
from monitor.model.scale import Flag
from monitor.model.vessel import Mode, Vessel
from monitor.rules import bilge_findings as say
from monitor.rules.bilge_hearing import forget_trend, hear_float, hear_late, hear_level, hear_temperature
from monitor.rules.bilge_limits import LIMITS
from monitor.rules.bilge_memory import BilgeMemory, BilgeState
from monitor.rules.bilge_outlook import newest_level, time_to_harm
from monitor.rules.bilge_over import note_said, over, over_at
from monitor.rules.bilge_patience import (
    contradiction_ends_at,
    float_silent_at,
    is_silent_from,
    level_silent_at,
    level_unbelieved_at,
)
from monitor.rules.bilge_pump import grade, hear_pump, is_tooth, runs_of, too_long_from_ms, turns_of_pump
from monitor.rules.bilge_pump_findings import pump_long, pump_runs
from monitor.rules.bilge_relief import PumpSupply, relief
from monitor.rules.bilge_say import Case
from monitor.rules.compartment import Compartment
from monitor.rules.frost_point import system_point
from monitor.rules.inflow import inflow_of
from monitor.rules.rule import HOUR_MS, SECOND_MS, Changes, Rule

_LIES = {
    Mode.AFLOAT_LAID_UP: "afloat",
    Mode.FIRST_24_H_AFLOAT: "afloat",
    Mode.ASHORE_BUNG_IN: "ashore",
    Mode.ASHORE_BUNG_OUT: "ashore",
    Mode.MOVING: "lifted",
    Mode.IN_SLINGS: "lifted",
}
RISE_COUNTS = frozenset({Mode.AFLOAT_LAID_UP, Mode.FIRST_24_H_AFLOAT, Mode.ASHORE_BUNG_IN})
"""Where she lies still and nobody works in her bilges, so that a rise of the level is water that comes in."""
_THAW_WATCH_MS = LIMITS.ms("thaw_watch")


class Bilge(Rule[BilgeState]):
    """Float switch, high water and rise of every bilge in the record."""

    name = "bilge"
    version = 3
    state_type = BilgeState
    hears_all = True
    hears_at_once = True
    limits = LIMITS

    def __init__(self, record: Vessel) -> None:
        super().__init__(record)
        self.places = tuple(Compartment.of(record, bilge) for bilge in record.bilges)
        self.by_level = self._linked("level_sensor")
        self.by_float = self._linked("float_sensor")
        self.by_temperature = self._linked("temperature_sensor")
        self.by_pump = self._linked("pump_sensor")
        self.freezables = freezables_by_sensor(record)
        self.supply = PumpSupply.of(record)
        self.volts_sensor = None if self.supply is None else self.supply.battery.voltage_sensor
        volts = () if self.volts_sensor is None else (self.volts_sensor,)
        by = (self.by_level, self.by_float, self.by_temperature, self.by_pump, self.freezables)
        self.sensors = frozenset(chain(*by, volts))
        self.lies = _LIES.get(record.mode, "")

    def see(self, state: BilgeState, reading: Reading) -> Changes:
        """Take a level, a float switch, a pump, a temperature, or the volts of the pump's battery."""
        sensor, at = reading.sensor, reading.event_ms
        changes = self._see_water(state, reading)
        if reading.flag is not Flag.PASS:
            return changes
        for place in self.by_temperature.get(sensor, ()):
            hear_temperature(self._memory(state, place.bilge), reading)
        for place in self.by_pump.get(sensor, ()):
            hear_pump(self._memory(state, place.bilge).pump, at, runs=reading.value > 0.0)
            changes = Changes.ANYTHING
        for system, freeze_degc in self.freezables.get(sensor, ()):
            state.exposures.note(system, at, reading.value, freeze_degc)
            thawed_ms = state.exposures.systems[system].thawed_ms or 0
            if thawed_ms > state.thawed_ms:
                state.thawed_ms, changes = thawed_ms, Changes.ANYTHING
        if sensor == self.volts_sensor:
            state.volts = Seen(sensor, at, reading.value)
            if changes is Changes.NOTHING and not all(memory.is_still for memory in state.bilges.values()):
                changes = Changes.WHAT_IS_SAID
        return changes

    def _see_water(self, state: BilgeState, reading: Reading) -> Changes:
        sensor, changes = reading.sensor, Changes.NOTHING
        for place in self.by_level.get(sensor, ()):
            memory = self._memory(state, place.bilge)
            at_ms, before = reading.event_ms, memory.level
            closely = at_ms < state.thawed_ms + _THAW_WATCH_MS and state.thawed_ms > 0
            hear_level(memory, place, reading, closely=closely)
            if not memory.is_still:
                changes = Changes.ANYTHING
            elif before is None or before.at_ms // HOUR_MS != at_ms // HOUR_MS:
                # That nobody knew may end, and what is told of an open bung goes by a level of this hour.
                changes = Changes.WHAT_IS_SAID if changes is Changes.NOTHING else changes
        for place in self.by_float.get(sensor, ()):
            memory = self._memory(state, place.bilge)
            hear_float(memory, place, reading)
            if not memory.is_still:
                changes = Changes.ANYTHING
            elif changes is Changes.NOTHING:
                changes = Changes.WHAT_IS_SAID
        return changes

    def see_late(self, state: BilgeState, reading: Reading) -> None:
        """Note high water, and a freeze, that nobody heard of at its time."""
        if reading.flag is Flag.FAIL:
            return
        for system, freeze_degc in self.freezables.get(reading.sensor, ()):
            state.exposures.note_late(system, reading.event_ms, reading.value, freeze_degc)
            late = state.exposures.systems[system].unheard
            state.thawed_ms = max(state.thawed_ms, 0 if late is None else late.to_ms)
        for place in (*self.by_level.get(reading.sensor, ()), *self.by_float.get(reading.sensor, ())):
            hear_late(self._memory(state, place.bilge), place, reading)

    def deaf(self, state: BilgeState, from_ms: int, to_ms: int) -> None:  # noqa: ARG002 - only its end counts
        """Learn that the agent was deaf: no sensor is silent for that."""
        state.deaf_to_ms = max(state.deaf_to_ms, to_ms)

    def judge(self, state: BilgeState, now_ms: int) -> list[Finding]:
        """Give each bilge the worst that its witnesses say."""
        found = []
        for place in self.places:
            memory = self._memory(state, place.bilge)
            thawed_ms = state.thawed_ms if 0 < state.thawed_ms <= now_ms < state.thawed_ms + _THAW_WATCH_MS else None
            case = Case(self.record, place, memory, now_ms, state.deaf_to_ms, thawed_ms)
            said = list(self._witnesses(state, case, now_ms))
            if said:
                memory.spoke_ms = now_ms
                found.append(max(said, key=lambda f: f.priority))
                note_said(memory, found[-1])
            elif self._knows_nothing(state, place, now_ms):
                found.append(say.not_known(case))
            elif (gone := over(case)) is not None:
                found.append(gone)
            elif self.record.mode is Mode.ASHORE_BUNG_OUT and now_ms >= _bung_waits_to(memory):
                # A word that holds open alerts open: it comes only when none of this bilge can be left.
                found.append(say.bung_out(case))
        return found

    def next_look(self, state: BilgeState, now_ms: int) -> int | None:
        """Look again when silence counts, a contradiction or late word grows old, harm comes near or a pump runs."""
        return min((at for at in self._turns(state, now_ms) if at > now_ms), default=None)

    def _linked(self, link: str) -> dict[str, list[Compartment]]:
        found: dict[str, list[Compartment]] = {}
        for place in self.places:
            sensor = getattr(place.bilge, link)
            if sensor is not None:
                found.setdefault(sensor, []).append(place)
        return found

    def _memory(self, state: BilgeState, bilge: BilgeRecord) -> BilgeMemory:
        memory = state.bilges.get(bilge.id)
        if memory is None:
            memory = state.bilges[bilge.id] = BilgeMemory()
        if self.lies and memory.lies != self.lies:
            if memory.lies:
                forget_trend(memory)
            memory.lies = self.lies
        return memory

    def _witnesses(self, state: BilgeState, case: Case, now_ms: int) -> Iterator[Finding]:
        """Give what can be said of a bilge, the weightier first where the priority is equal."""
        memory, place = case.memory, case.place
        silent = memory.heard.last_ms is not None and now_ms >= level_silent_at(memory, place, state.deaf_to_ms)
        pump = self._pump(case, now_ms)
        level = memory.level
        # Between two runs of a pump the water rises; while the pump is told of, only a rise past its mark is news.
        rises = pump is None or silent or level is None or not is_tooth(memory.pump, place, level.value)
        for finding in (
            self._float(case, now_ms),
            self._high(case, now_ms, silent=silent),
            self._rise(state, case, now_ms) if rises else None,
            pump,
            self._missed(case, now_ms),
        ):
            if finding is not None:
                yield finding

    def _float(self, case: Case, now_ms: int) -> Finding | None:
        memory, place = case.memory, case.place
        up_ms = memory.float_up_ms
        if up_ms is None:
            if memory.float_doubt_ms is None:
                return None
            return say.float_in_doubt(case, "float not plain", memory.float_doubt_ms)
        if self._contradicted(memory, place, up_ms, now_ms):
            return say.float_in_doubt(case, "level is low", up_ms)
        return say.float_up(case, up_ms, time_to_harm(memory, place, newest_level(memory), now_ms))

    def _contradicted(self, memory: BilgeMemory, place: Compartment, up_ms: int, now_ms: int) -> bool:
        level, blocks = memory.level, memory.hours.blocks
        if place.bilge.zero_wanted:
            return False  # since she was moved nobody knows what level stands for no water
        if level is None or level.value >= self.limits["contradicts_below"] * place.bilge.high_m:
            return False
        if level.at_ms < up_ms or now_ms >= contradiction_ends_at(memory, place):
            return False
        if memory.high is not None or (memory.doubt is not None and memory.doubt.at_ms > level.at_ms):
            return False
        # A level that has not moved by a hair for hours may be stuck, and cannot speak against a float.
        return any(block.value != blocks[0].value for block in blocks)

    def _high(self, case: Case, now_ms: int, *, silent: bool) -> Finding | None:
        memory, place = case.memory, case.place
        high, doubt = memory.high, memory.doubt
        if high is not None:
            # A level between the mark and its deadband is newer than the last one over the mark.
            newest = newest_level(memory) or high
            harm = time_to_harm(memory, place, newest, now_ms)
            return say.silent_after(case, "high", newest, harm) if silent else say.high(case, newest, harm)
        if doubt is None:
            return None
        if silent and doubt.at_ms == memory.heard.last_ms:
            return say.silent_after(case, "high", doubt, None)
        return say.level_in_doubt(case, doubt)

    def _rise(self, state: BilgeState, case: Case, now_ms: int) -> Finding | None:
        memory, place = case.memory, case.place
        rise, level = memory.fast or memory.slow, memory.level
        if rise is None or level is None or self.record.mode not in RISE_COUNTS:
            memory.urgent = False
            return None
        inflow = inflow_of(place.bilge, place.table, level.value, rise)
        harm = time_to_harm(memory, place, level, now_ms)
        within_s = self.limits.ms(self._alarm_within(memory, thawed=case.thawed_ms is not None)) / SECOND_MS
        memory.urgent = harm is not None and harm.low_s < within_s
        if now_ms >= level_unbelieved_at(memory, place, state.deaf_to_ms):
            return say.silent_after(case, "rise", level, harm)
        running = memory.pump.on_since_ms is not None
        held = relief(place, self.supply, state.volts, inflow, harm, running=running, now_ms=now_ms)
        return say.rising(case, rise, inflow, held)

    def _alarm_within(self, memory: BilgeMemory, *, thawed: bool) -> str:
        if thawed:
            return "alarm_after_thaw"
        return "alarm_kept_to" if memory.urgent else "alarm_within"

    def _pump(self, case: Case, now_ms: int) -> Finding | None:
        pump, place = case.memory.pump, case.place
        if not place.has_pump or self.record.mode not in RISE_COUNTS:
            return None
        long_ms = too_long_from_ms(pump)
        if long_ms is not None and pump.on_since_ms is not None and now_ms >= long_ms:
            return pump_long(case, pump.on_since_ms, now_ms)
        runs = runs_of(pump, place, now_ms)
        priority = None if runs is None else grade(runs, place)
        return None if runs is None or priority is None else pump_runs(case, runs, priority)

    def _missed(self, case: Case, now_ms: int) -> Finding | None:
        memory = case.memory
        missed = memory.missed
        if missed is None:
            return None
        if missed.told_ms is None:
            missed.told_ms = now_ms
        if now_ms - missed.told_ms >= self.limits.ms("unheard_stands"):
            memory.missed = None
            return None
        return say.was_high_unheard(case, missed)

    def _knows_nothing(self, state: BilgeState, place: Compartment, now_ms: int) -> bool:
        memory = self._memory(state, place.bilge)
        return now_ms >= level_unbelieved_at(memory, place, state.deaf_to_ms) and now_ms >= float_silent_at(
            memory, place, state.deaf_to_ms
        )

    def _turns(self, state: BilgeState, now_ms: int) -> Iterator[int]:
        """Give the times at which what is said could change with no new reading."""
        if state.thawed_ms:
            yield state.thawed_ms + _THAW_WATCH_MS
        for place in self.places:
            memory = state.bilges.get(place.bilge.id)
            if memory is None:
                continue
            if memory.is_still:
                # Readings that change nothing are not judged after, and may teach a shorter patience.
                yield is_silent_from(memory, state.deaf_to_ms)
            yield level_silent_at(memory, place, state.deaf_to_ms)
            yield level_unbelieved_at(memory, place, state.deaf_to_ms)
            yield float_silent_at(memory, place, state.deaf_to_ms)
            if memory.float_up_ms is not None:
                yield contradiction_ends_at(memory, place)
            missed = memory.missed
            if missed is not None and missed.told_ms is not None:
                yield missed.told_ms + self.limits.ms("unheard_stands")
            over_ms = over_at(memory)
            if over_ms is not None:
                yield over_ms
            if self.record.mode is Mode.ASHORE_BUNG_OUT:
                yield _bung_waits_to(memory)
            yield from self._turns_of_rise(memory, place)
            yield from turns_of_pump(memory.pump, now_ms)

    def _turns_of_rise(self, memory: BilgeMemory, place: Compartment) -> Iterator[int]:
        level, rise = memory.level, memory.fast or memory.slow
        if level is None or rise is None or memory.urgent:
            return
        harm = inflow_of(place.bilge, place.table, level.value, rise).harm
        if harm is not None:
            reached_ms = level.at_ms + int(harm.low_s * SECOND_MS) + SECOND_MS
            yield reached_ms - self.limits.ms("alarm_within")
            yield reached_ms - self.limits.ms("alarm_after_thaw")


def freezables_by_sensor(record: Vessel) -> dict[str, list[tuple[str, float]]]:
    """Give the liquid systems that could split, as (id, freezing point degC), by the thermometer that speaks of them.

    A system that was drained and probed holds nothing that could.
    """
    found: dict[str, list[tuple[str, float]]] = {}
    for system in record.liquid_systems:
        point, sensor = system_point(system), system.sensor or record.outside_sensor
        if point is not None and sensor is not None:
            found.setdefault(sensor, []).append((system.id, point[1]))
    return found


def _bung_waits_to(memory: BilgeMemory) -> int:
    return 0 if memory.spoke_ms is None else memory.spoke_ms + LIMITS.ms("bung_out_waits")
