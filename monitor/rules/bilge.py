"""Bilge: is there water in her, is it rising, and how long until it does harm?

Three witnesses are heard for each bilge: the float switch, the level at its high mark, and the level's rise over hours
and days. Doubt never silences water: a high level that is not believed yet, or a float switch that a believable level
contradicts, is *water or bad sensor: go and look*. No data never clears a finding here, and silence after a rise is an
alarm. What a rise means depends on the record: where she lies, which seacocks were left open, whether the drain bung is
out (then no rise proves nothing, and only high water counts).
"""

from collections.abc import Iterator

from monitor.model.equipment import Bilge as BilgeRecord
from monitor.model.finding import Finding, TimeToHarm
from monitor.model.reading import Reading, Seen
from monitor.model.scale import Flag
from monitor.model.vessel import Mode, Vessel
from monitor.rules import bilge_findings as say
from monitor.rules.bilge_hearing import forget_trend, hear_float, hear_late, hear_level, hear_temperature
from monitor.rules.bilge_limits import LIMITS
from monitor.rules.bilge_memory import BilgeMemory, BilgeState
from monitor.rules.bilge_patience import (
    contradiction_ends_at,
    float_silent_at,
    level_silent_at,
    level_unbelieved_at,
)
from monitor.rules.compartment import Compartment
from monitor.rules.inflow import inflow_of
from monitor.rules.rule import SECOND_MS, Rule

_LIES = {
    Mode.AFLOAT_LAID_UP: "afloat",
    Mode.FIRST_24_H_AFLOAT: "afloat",
    Mode.ASHORE_BUNG_IN: "ashore",
    Mode.ASHORE_BUNG_OUT: "ashore",
    Mode.MOVING: "lifted",
    Mode.IN_SLINGS: "lifted",
}
_RISE_COUNTS = frozenset({Mode.AFLOAT_LAID_UP, Mode.FIRST_24_H_AFLOAT, Mode.ASHORE_BUNG_IN})
_HOUR_S = 3_600.0


class Bilge(Rule[BilgeState]):
    """Float switch, high water and rise of every bilge in the record."""

    name = "bilge"
    version = 1
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
        self.sensors = frozenset({*self.by_level, *self.by_float, *self.by_temperature})
        self.lies = _LIES.get(record.mode, "")

    def see(self, state: BilgeState, reading: Reading) -> None:
        """Take a level, a float switch or a bilge's temperature."""
        sensor = reading.sensor
        for place in self.by_level.get(sensor, ()):
            hear_level(self._memory(state, place.bilge), place, reading)
        for place in self.by_float.get(sensor, ()):
            hear_float(self._memory(state, place.bilge), place, reading)
        if reading.flag is Flag.PASS:
            for place in self.by_temperature.get(sensor, ()):
                hear_temperature(self._memory(state, place.bilge), reading)

    def see_late(self, state: BilgeState, reading: Reading) -> None:
        """Note high water that nobody heard of at its time."""
        if reading.flag is Flag.FAIL:
            return
        for place in (*self.by_level.get(reading.sensor, ()), *self.by_float.get(reading.sensor, ())):
            hear_late(self._memory(state, place.bilge), place, reading)

    def deaf(self, state: BilgeState, from_ms: int, to_ms: int) -> None:  # noqa: ARG002 - only its end counts
        """Learn that the agent was deaf: no sensor is silent for that."""
        state.deaf_to_ms = max(state.deaf_to_ms, to_ms)

    def judge(self, state: BilgeState, now_ms: int) -> list[Finding]:
        """Give each bilge the worst that its witnesses say."""
        found = []
        for place in self.places:
            said = list(self._witnesses(state, place, now_ms))
            if said:
                found.append(max(said, key=lambda f: f.priority))
            elif self._knows_nothing(state, place, now_ms):
                found.append(say.not_known(self.record, place, self._memory(state, place.bilge)))
        return found

    def next_look(self, state: BilgeState, now_ms: int) -> int | None:
        """Look again when a silence counts, a contradiction grows old, harm comes near or a late word has stood."""
        return min((at for at in self._turns(state) if at > now_ms), default=None)

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

    def _witnesses(self, state: BilgeState, place: Compartment, now_ms: int) -> Iterator[Finding]:
        """Give what can be said of a bilge, the weightier first where the priority is equal."""
        memory = self._memory(state, place.bilge)
        silent = memory.heard.last_ms is not None and now_ms >= level_silent_at(memory, place, state.deaf_to_ms)
        for finding in (
            self._float(memory, place, now_ms),
            self._high(memory, place, now_ms, silent=silent),
            self._rise(state, memory, place, now_ms),
            self._missed(memory, place, now_ms),
        ):
            if finding is not None:
                yield finding

    def _float(self, memory: BilgeMemory, place: Compartment, now_ms: int) -> Finding | None:
        up_ms = memory.float_up_ms
        if up_ms is None:
            if memory.float_doubt_ms is None:
                return None
            return say.float_in_doubt(self.record, place, memory, "float not plain", memory.float_doubt_ms)
        if self._contradicted(memory, place, up_ms, now_ms):
            return say.float_in_doubt(self.record, place, memory, "level is low", up_ms)
        return say.float_up(self.record, place, memory, up_ms, _harm(memory, place, memory.high, now_ms))

    def _contradicted(self, memory: BilgeMemory, place: Compartment, up_ms: int, now_ms: int) -> bool:
        level, blocks = memory.level, memory.hours.blocks
        if level is None or level.value >= self.limits["contradicts_below"] * place.bilge.high_m:
            return False
        if level.at_ms < up_ms or now_ms >= contradiction_ends_at(memory, place):
            return False
        if memory.high is not None or (memory.doubt is not None and memory.doubt.at_ms > level.at_ms):
            return False
        # A level that has not moved by a hair for hours may be stuck, and cannot speak against a float.
        return any(block.value != blocks[0].value for block in blocks)

    def _high(self, memory: BilgeMemory, place: Compartment, now_ms: int, *, silent: bool) -> Finding | None:
        high, doubt = memory.high, memory.doubt
        if high is not None:
            # A level between the mark and its deadband is newer than the last one over the mark.
            newest = memory.level if memory.level is not None and memory.level.at_ms > high.at_ms else high
            harm = _harm(memory, place, newest, now_ms)
            if silent:
                return say.silent_after(self.record, place, memory, "high", newest, harm)
            return say.high(self.record, place, memory, newest, harm)
        if doubt is None:
            return None
        if silent and doubt.at_ms == memory.heard.last_ms:
            return say.silent_after(self.record, place, memory, "high", doubt, None)
        return say.level_in_doubt(self.record, place, memory, doubt)

    def _rise(self, state: BilgeState, memory: BilgeMemory, place: Compartment, now_ms: int) -> Finding | None:
        rise, level = memory.fast or memory.slow, memory.level
        if rise is None or level is None or self.record.mode not in _RISE_COUNTS:
            memory.urgent = False
            return None
        inflow = inflow_of(place.bilge, place.table, level.value, rise)
        harm = _harm(memory, place, level, now_ms)
        limit_h = self.limits["alarm_kept_to" if memory.urgent else "alarm_within"]
        memory.urgent = harm is not None and harm.low_s < limit_h * _HOUR_S
        if now_ms >= level_unbelieved_at(memory, place, state.deaf_to_ms):
            return say.silent_after(self.record, place, memory, "rise", level, harm)
        return say.rising(self.record, place, memory, rise, inflow, harm)

    def _missed(self, memory: BilgeMemory, place: Compartment, now_ms: int) -> Finding | None:
        missed = memory.missed
        if missed is None:
            return None
        if missed.told_ms is None:
            missed.told_ms = now_ms
        if now_ms - missed.told_ms >= self.limits.ms("unheard_stands"):
            memory.missed = None
            return None
        return say.was_high_unheard(self.record, place, memory, missed)

    def _knows_nothing(self, state: BilgeState, place: Compartment, now_ms: int) -> bool:
        memory = self._memory(state, place.bilge)
        return now_ms >= level_unbelieved_at(memory, place, state.deaf_to_ms) and now_ms >= float_silent_at(
            memory, place, state.deaf_to_ms
        )

    def _turns(self, state: BilgeState) -> Iterator[int]:
        """Give the times at which what is said could change with no new reading."""
        for place in self.places:
            memory = state.bilges.get(place.bilge.id)
            if memory is None:
                continue
            yield level_silent_at(memory, place, state.deaf_to_ms)
            yield level_unbelieved_at(memory, place, state.deaf_to_ms)
            yield float_silent_at(memory, place, state.deaf_to_ms)
            if memory.float_up_ms is not None:
                yield contradiction_ends_at(memory, place)
            missed, level, rise = memory.missed, memory.level, memory.fast or memory.slow
            if missed is not None and missed.told_ms is not None:
                yield missed.told_ms + self.limits.ms("unheard_stands")
            if level is not None and rise is not None and not memory.urgent:
                harm = inflow_of(place.bilge, place.table, level.value, rise).harm
                if harm is not None:
                    yield level.at_ms + int(harm.low_s * SECOND_MS) - self.limits.ms("alarm_within") + SECOND_MS


def _harm(memory: BilgeMemory, place: Compartment, level: Seen | None, now_ms: int) -> TimeToHarm | None:
    """Give the time from now until water at this level, and rising as it did, reaches what it harms."""
    heights = place.bilge.harm_heights
    if level is None:
        return None
    if level.value >= (heights[0][1] if heights else place.bilge.high_m):
        return TimeToHarm(0.0, None) if heights else None  # high water alone is no harm yet
    rise = memory.fast or memory.slow
    harm = None if rise is None else inflow_of(place.bilge, place.table, level.value, rise).harm
    if harm is None:
        return None
    gone_s = (now_ms - level.at_ms) / SECOND_MS
    latest = None if harm.high_s is None else max(harm.high_s - gone_s, 0.0)
    return TimeToHarm(max(harm.low_s - gone_s, 0.0), latest)
