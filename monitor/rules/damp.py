"""Damp: does the coldest surface dry again, and does the dehumidifier still dry her?

The coldest surface lies between outside air and the space's own (the record's surface factor); where it is below the
dew point of the air inside, it is wet. Unheated boats stand damp all winter, so only wet hours that fill half a week
count, and a band of humidity is held only where the record says that a dehumidifier was left running.
"""

from dataclasses import dataclass, field
from math import ceil

from monitor.model.equipment import Dehumidifier, Space
from monitor.model.finding import Finding
from monitor.model.reading import Reading, Seen
from monitor.model.vessel import Vessel
from monitor.rules.damp_drying import Drying, DryingHour, dry_hour
from monitor.rules.damp_findings import RULE, Air, condensing, humid, not_known, stopped, unknown_drying
from monitor.rules.damp_hours import Hours, begin_hour, hear, mean
from monitor.rules.damp_limits import LIMITS
from monitor.rules.damp_surface import Surface, wet_hour
from monitor.rules.mains import mains_of
from monitor.rules.rule import HOUR_MS, Rule, earliest
from monitor.science.air import mixing_ratio

_STALE_INTERVALS = 3
# One reading stands for this many of its own intervals at most.
_STANDS_FOR_INTERVALS = 1.5
_LEAST_DEGC, _MOST_DEGC = -44.0, 60.0


@dataclass(slots=True)
class DampState:
    """What the rule keeps: the hour under way, each space's surface, the dehumidifier, and the mains sensor's word."""

    hours: Hours = field(default_factory=Hours)
    surfaces: dict[str, Surface] = field(default_factory=dict)
    drying: Drying = field(default_factory=Drying)
    mains: Seen | None = None


class Damp(Rule[DampState]):
    """Condensation on the coldest surface of every space, and the dehumidifier."""

    name = RULE
    version = 1
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

    def see(self, state: DampState, reading: Reading) -> None:
        """Take a humidity, a temperature or the mains in."""
        if reading.sensor == self.mains_sensor:
            state.mains = Seen(reading.sensor, reading.event_ms, reading.value)
            return
        hours, hour = state.hours, reading.event_ms // HOUR_MS
        if hours.hour is None:
            hours.hour = hour
        elif hour > hours.hour:
            if self.record.mode.is_laid_up:
                self._close(state, hours.hour, hour - hours.hour)
            else:
                _forget(state)
            begin_hour(hours, hour)
        hear(hours, reading.sensor, reading.event_ms, reading.value)

    def judge(self, state: DampState, now_ms: int) -> list[Finding]:
        """Say which spaces stay wet, and whether the dehumidifier dries its own."""
        if not self.record.mode.is_laid_up:
            return []
        found = []
        machine, mains = self.machine, mains_of(state.mains)
        for space in self.record.spaces:
            air = self._air(state, space, now_ms)
            dried = machine is not None and machine.space == space.id
            if machine is not None and dried:
                if not air.heard:
                    found.append(unknown_drying(air))
                elif state.drying.stopped:
                    # Damp air and wet surfaces follow from it: one alert for one situation.
                    found.append(stopped(air, state.drying, machine, mains))
                    continue
                elif state.drying.humid is not None:
                    found.append(humid(air, state.drying, machine))
                    continue
            if not air.heard or not air.outside_heard:
                found.append(not_known(air))
            elif air.surface.wet:
                found.append(condensing(air))
        return found

    def next_look(self, state: DampState, now_ms: int) -> int | None:
        """Look again when a reading grows too old to go by."""
        if not self.record.mode.is_laid_up:
            return None
        sensors = state.hours.sensors
        ends = [sensors[s].at_ms + stale_ms + 1 for s, stale_ms in self.stale_ms.items() if s in sensors]
        return earliest([end for end in ends if end > now_ms])

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
            if outside_degc is not None:
                surface = state.surfaces.setdefault(space.id, Surface())
                factor = space.surface_factor
                wet_hour(surface, hour, stood, rh=rh, degc=degc, outside_degc=outside_degc, factor=factor)
            if self.machine is not None and self.machine.space == space.id:
                pulled = outside_degc is not None and _is_pulled(degc, rh, outside_degc)
                dry_hour(state.drying, DryingHour(hour, stood, rh, pulled), self.machine.hold_below_rh)

    def _air(self, state: DampState, space: Space, now_ms: int) -> Air:
        outside = self.record.outside_sensor
        return Air(
            space=space,
            surface=state.surfaces.get(space.id) or Surface(),
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


def _is_pulled(degc: float, rh: float, outside_degc: float) -> bool:
    """Say whether the air holds so much less water than outside air can that something must be drying it."""
    inside = mixing_ratio(_within(degc), min(max(rh, 0.0), 100.0))
    return inside < LIMITS["pulled"] * mixing_ratio(_within(outside_degc), 100.0)


def _within(degc: float) -> float:
    return min(max(degc, _LEAST_DEGC), _MOST_DEGC)


def _forget(state: DampState) -> None:
    # Hatches stood open while somebody was aboard: counting begins again, and only the learnt level is kept.
    state.surfaces.clear()
    state.drying = Drying(held=state.drying.held)
