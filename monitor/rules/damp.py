"""Damp: does the coldest surface dry again, is mould coming, and does anything still dry her?

The coldest surface lies between outside air and the space's own (the record's surface factor); where it is below the
dew point of the air inside, it is wet, and before that damp enough for mould, whose index is carried through the
winter. Unheated boats stand damp all winter, so only wet hours that fill half a week count, and a band of humidity is
held only where the record says that a dehumidifier was left running. Of what is true of a space the worst is told.
"""

from dataclasses import dataclass, field
from math import ceil

from monitor.model.equipment import Dehumidifier, Space
from monitor.model.finding import Finding
from monitor.model.reading import Reading, Seen
from monitor.model.vessel import Vessel
from monitor.rules.damp_drying import Drying, DryingHour, dry_hour
from monitor.rules.damp_findings import (
    RULE,
    Air,
    condensing,
    heated,
    humid,
    mouldy,
    not_known,
    stopped,
    unknown_drying,
)
from monitor.rules.damp_heat import Heating, heat_hour
from monitor.rules.damp_hours import Hours, begin_hour, hear, mean
from monitor.rules.damp_limits import LIMITS
from monitor.rules.damp_mould import Growth, grow
from monitor.rules.damp_over import note_said, over, subjects
from monitor.rules.damp_surface import Surface, air_hour, wet_hour
from monitor.rules.last_word import LastWord
from monitor.rules.mains import mains_of
from monitor.rules.rule import HOUR_MS, Changes, Rule, earliest

_STALE_INTERVALS = 3
# One reading stands for this many of its own intervals at most.
_STANDS_FOR_INTERVALS = 1.5
_AFTER_CUT_H = round(LIMITS["after_cut"])


@dataclass(slots=True)
class DampState:
    """What the rule keeps: the hour under way, each space by its id, the dehumidifier, the mains sensor's word.

    ``told`` is what was told last, by subject, until its alert has had time to clear.
    """

    hours: Hours = field(default_factory=Hours)
    surfaces: dict[str, Surface] = field(default_factory=dict)
    growths: dict[str, Growth] = field(default_factory=dict)
    heatings: dict[str, Heating] = field(default_factory=dict)
    drying: Drying = field(default_factory=Drying)
    mains: Seen | None = None
    told: dict[str, LastWord] = field(default_factory=dict)


class Damp(Rule[DampState]):
    """Condensation and mould on the coldest surface of every space, heat that dries nothing, and the dehumidifier."""

    name = RULE
    version = 4
    state_type = DampState
    limits = LIMITS

    def __init__(self, record: Vessel) -> None:
        super().__init__(record)
        self.machine = _running(record)
        self.mains_sensor = record.shore_power.mains_sensor if self.machine is not None else None
        wanted = {s.humidity_sensor for s in record.spaces} | {s.temperature_sensor for s in record.spaces}
        self.air_sensors = frozenset(wanted | ({record.outside_sensor} if record.outside_sensor else set()))
        self.sensors = self.air_sensors | ({self.mains_sensor} if self.mains_sensor else set())
        intervals = {s.id: s.interval_s * 1000 for s in record.sensors}
        self.stale_ms = {
            s: max(LIMITS.ms("stale"), round(_STALE_INTERVALS * intervals.get(s, 0))) for s in self.air_sensors
        }
        self.stands_for_h = {
            s: max(1, ceil(_STANDS_FOR_INTERVALS * intervals.get(s, 0) / HOUR_MS)) for s in self.air_sensors
        }

    def see(self, state: DampState, reading: Reading) -> Changes:
        """Take a humidity, a temperature or the mains in. What is true changes by the hour that is over.

        So do the figures of what is told.
        """
        if reading.sensor == self.mains_sensor:
            before, state.mains = mains_of(state.mains), Seen(reading.sensor, reading.event_ms, reading.value)
            return Changes.NOTHING if mains_of(state.mains) is before else Changes.WHAT_IS_SAID
        at_ms, hours = reading.event_ms, state.hours
        hour, heard = at_ms // HOUR_MS, hours.sensors.get(reading.sensor)
        unheard = heard is None or at_ms - heard.at_ms > self.stale_ms[reading.sensor]
        changes = Changes.ANYTHING if unheard else Changes.NOTHING
        if hours.hour is None:
            hours.hour = hour
        elif hour > hours.hour:
            changes = Changes.ANYTHING
            if self.record.mode.is_laid_up:
                self._close(state, hours.hour, hour - hours.hour)
            else:
                _forget(state)
            begin_hour(hours, hour)
        hear(hours, reading.sensor, at_ms, reading.value)
        return changes

    def judge(self, state: DampState, now_ms: int) -> list[Finding]:
        """Say the worst that is true of each space, and whether the dehumidifier dries its own."""
        if not self.record.mode.is_laid_up:
            return []
        found = []
        for space in self.record.spaces:
            air = self._air(state, space, now_ms)
            machine = self.machine if self.machine is not None and self.machine.space == space.id else None
            true = self._true(state, air, machine)
            note_said(state.told, true)
            said = {f.subject for f in true}
            gone = [over(state.told, s, air, now_ms) for s in subjects(air, dried=machine is not None) if s not in said]
            found += [*true, *(f for f in gone if f is not None)]
        return found

    def next_look(self, state: DampState, now_ms: int) -> int | None:
        """Look again when a reading grows too old to go by."""
        if not self.record.mode.is_laid_up:
            return None
        sensors = state.hours.sensors
        ends = [sensors[s].at_ms + stale_ms + 1 for s, stale_ms in self.stale_ms.items() if s in sensors]
        ends += [word.ends_ms for word in state.told.values() if word.ends_ms is not None]
        return earliest([end for end in ends if end > now_ms])

    def _true(self, state: DampState, air: Air, machine: Dehumidifier | None) -> list[Finding]:
        """Give what is true of a space; ``machine`` dries it, None where none was left running there."""
        found = []
        if machine is not None:
            if not air.heard:
                found.append(unknown_drying(air))
            elif state.drying.stopped:
                # Damp air and wet surfaces follow from it: one alert for one situation, and none of them is over.
                state.told.pop(air.space.id, None)
                return [stopped(air, state.drying, machine, mains_of(state.mains))]
        worst = self._worst(state, air, machine)
        return found if worst is None else [*found, worst]

    def _worst(self, state: DampState, air: Air, machine: Dehumidifier | None) -> Finding | None:
        """Give the finding of the highest priority on a space; of equals the one that explains the others."""
        drying = state.drying
        damp = humid(air, drying, machine) if machine is not None and air.heard and drying.humid is not None else None
        if not air.heard or not air.outside_heard:
            return damp or not_known(air)
        heating, growth = state.heatings.get(air.space.id), air.growth
        true = [
            heated(air, heating, machine) if heating is not None and heating.undried else None,
            mouldy(air, growth.held) if growth.held is not None else None,
            damp,
            condensing(air) if air.surface.wet else None,
        ]
        return max((f for f in true if f is not None), key=lambda f: f.priority, default=None)

    def _close(self, state: DampState, hour: int, passed: int) -> None:
        """Count the hour that is over, in every space whose humidity was heard in it."""
        hours, outside = state.hours, self.record.outside_sensor
        outside_degc = None if outside is None else mean(hours, outside, self.stale_ms[outside])
        for space in self.record.spaces:
            heard = hours.sensors.get(space.humidity_sensor)
            degc = mean(hours, space.temperature_sensor, self.stale_ms[space.temperature_sensor])
            if heard is None or not heard.count or degc is None:
                continue
            rh = heard.total / heard.count
            stood = min(passed, self.stands_for_h[space.humidity_sensor])
            pulled = False
            if outside_degc is not None:
                air = air_hour(hour, stood, rh, degc, outside_degc, space.surface_factor)
                wet_hour(state.surfaces.setdefault(space.id, Surface()), air)
                grow(state.growths.setdefault(space.id, Growth()), air, space.mould_class)
                heat_hour(state.heatings.setdefault(space.id, Heating()), air)
                # So much less water than outside air can hold, that something must be drying it.
                pulled = air.inside_g < LIMITS["pulled"] * air.outside_most_g
            if self.machine is not None and self.machine.space == space.id and not self._rested_by_plan(hour):
                dry_hour(state.drying, DryingHour(hour, stood, rh, pulled), self.machine.hold_below_rh)

    def _rested_by_plan(self, hour: int) -> bool:
        """Whether the yard's power was off on purpose in an hour, or shortly before, while the air dries again."""
        calendar = self.surroundings.calendar
        return calendar.plans_cuts and any(
            calendar.is_planned_cut((hour - back) * HOUR_MS) for back in range(-1, _AFTER_CUT_H + 1)
        )

    def _air(self, state: DampState, space: Space, now_ms: int) -> Air:
        outside = self.record.outside_sensor
        return Air(
            space=space,
            surface=state.surfaces.get(space.id) or Surface(),
            growth=state.growths.get(space.id) or Growth(),
            rh=state.hours.sensors.get(space.humidity_sensor),
            degc=state.hours.sensors.get(space.temperature_sensor),
            outside=None if outside is None else state.hours.sensors.get(outside),
            heard=all(self._is_fresh(state, s, now_ms) for s in (space.humidity_sensor, space.temperature_sensor)),
            outside_recorded=outside is not None,
            outside_heard=outside is not None and self._is_fresh(state, outside, now_ms),
        )

    def _is_fresh(self, state: DampState, sensor: str, now_ms: int) -> bool:
        heard = state.hours.sensors.get(sensor)
        return heard is not None and now_ms - heard.at_ms <= self.stale_ms[sensor]


def _running(record: Vessel) -> Dehumidifier | None:
    machine = record.dehumidifier
    return machine if machine is not None and machine.running else None


def _forget(state: DampState) -> None:
    # Hatches stood open while somebody was aboard: counting begins again. The learnt level is kept, and so is mould.
    state.surfaces.clear()
    state.heatings.clear()
    state.told.clear()
    state.drying = Drying(held=state.drying.held)
