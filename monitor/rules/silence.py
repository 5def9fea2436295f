"""Silence: which sensor is not heard, or says nothing that can be believed, and is the whole boat silent?

A sensor is expected at its own cadence, which is learned. Its silence is measured against the newest word of any other
sensor aboard, so that a silent gateway is one finding and never one a sensor. The agent's own deafness is no sensor's
silence. A sensor that keeps one value beyond its own habit is stuck, one that keeps failing its tests is failing: both
leave what depends on them unwatched, and no data must never look normal.
"""

from monitor.model.equipment import Bilge, LiquidSystem, Sensor, SystemState
from monitor.model.finding import Finding
from monitor.model.reading import Reading
from monitor.model.scale import Priority
from monitor.model.vessel import Mode, Vessel
from monitor.rules import silence_findings as say
from monitor.rules.cadence import usual_gap_ms
from monitor.rules.rule import SECOND_MS, Limit, Limits, Rule
from monitor.rules.silence_memory import Heard, SilenceState, note_quality, note_time

_OURS = "common practice, no source"
_QUICK = frozenset({Mode.AFLOAT_LAID_UP, Mode.FIRST_24_H_AFLOAT})


class Silence(Rule[SilenceState]):
    """Sensors and gateways that are not heard, stuck or failing."""

    name = "silence"
    version = 1
    state_type = SilenceState
    hears_all = True
    hears_at_once = True
    limits = Limits(
        Limit("gateway_afloat", 1.0, "h", "DESIGN.md", "a weeping hose fills a bilge in hours", "go and look"),
        Limit("gateway_ashore", 12.0, "h", "DESIGN.md", "seen on the next morning's round", "look on the round"),
        Limit("gateway_cadences", 3.0, "cadences", _OURS, "one lost message is ordinary", "-"),
        Limit("gateway_alarm", 24.0, "h", _OURS, "afloat and a whole day unseen: somebody must have been there", "go"),
        Limit("sensor_cadences", 6.0, "cadences", _OURS, "a weak radio loses several in a row", "-"),
        Limit("sensor_least", 3.0, "h", _OURS, "one sensor of many: the others still watch", "change its cell"),
        Limit("alive_cadences", 3.0, "cadences", _OURS, "which sensors set the pace of the gateway", "-"),
        Limit("hole", 3.0, "cadences", _OURS, "one lost message is ordinary, two in a row are not", "-"),
        Limit("stuck_after", 3.0, "readings", "invented", "a spike is suspect once; a flat line goes on", "shake it"),
        Limit("failing_at", 5.0, "weight", "invented", "three failed in a row, or half of some ten", "check its wire"),
        Limit("sensor_off", 1.0, "h", _OURS, "a bad radio comes and goes", "-"),
        Limit("stuck_off", 24.0, "h", _OURS, "one changed digit does not clear a sensor", "-"),
        Limit("gateway_off", 1.0, "h", _OURS, "a bad link comes and goes", "-"),
    )

    def __init__(self, record: Vessel) -> None:
        super().__init__(record)
        self.known = {s.id: s for s in record.sensors}
        self.sensors = frozenset(self.known)
        self.recorded_ms = {s.id: s.interval_s * SECOND_MS for s in record.sensors}
        self.hazards = frozenset(_hazards(record))

    def see(self, state: SilenceState, reading: Reading) -> None:
        """Take that a sensor spoke, and how believable it was."""
        if not reading.news:
            return  # water that may be old: it says nothing of whether its sensor is heard now
        sensor, at = self.known[reading.sensor], reading.event_ms
        heard = state.sensors.get(sensor.id)
        if heard is None:
            heard = state.sensors[sensor.id] = Heard(since_ms=at)
        if heard.cadence.last_ms is None or at > heard.cadence.last_ms:
            learns = not sensor.quantity.is_switch
            note_time(heard, at, self.recorded_ms[sensor.id], state.deaf_to_ms, _HOLE, learns=learns)
            state.gateway_from_ms = None
            state.newest_ms = at if state.newest_ms is None else max(state.newest_ms, at)
        note_quality(heard, reading, _STUCK_AFTER, _FAILING_AT)

    def deaf(self, state: SilenceState, from_ms: int, to_ms: int) -> None:  # noqa: ARG002 - only its end counts
        """Learn that the agent was deaf: what was found silent before stays so, nobody else is to blame."""
        state.deaf_to_ms = max(state.deaf_to_ms, to_ms)

    def judge(self, state: SilenceState, now_ms: int) -> list[Finding]:
        """Say who is silent, stuck or failing. A silent gateway takes its sensors under it."""
        self._expect(state, now_ms)
        if self.record.mode is Mode.IN_COMMISSION or not self.known:
            return []
        patience_ms = self._gateway_patience_ms(state)
        if state.gateway_from_ms is None:
            base = self._gateway_base_ms(state)
            if now_ms < base + patience_ms:
                return self._judge_sensors(state, now_ms)
            state.gateway_from_ms = base
        day_gone = now_ms - state.gateway_from_ms >= self.limits.ms("gateway_alarm")
        priority = Priority.ALARM if day_gone and self.record.mode in _QUICK else Priority.WARNING
        return [say.gateway(self.record, state, priority, patience_ms, now_ms, self.limits)]

    def next_look(self, state: SilenceState, now_ms: int) -> int | None:
        """Look again when the gateway's silence counts, and when it has lasted a day afloat."""
        if state.first_ms is None or not self.known:
            return now_ms + 1
        if state.gateway_from_ms is None:
            return max(self._gateway_base_ms(state) + self._gateway_patience_ms(state), now_ms + 1)
        day_gone = state.gateway_from_ms + self.limits.ms("gateway_alarm")
        return day_gone if day_gone > now_ms else None

    def _expect(self, state: SilenceState, now_ms: int) -> None:
        if state.first_ms is None:
            state.first_ms = now_ms
        if state.sensors.keys() != self.known.keys():
            kept = {i: state.sensors.get(i) or Heard(since_ms=now_ms) for i in self.known}
            state.sensors.clear()
            state.sensors.update(kept)

    def _gateway_base_ms(self, state: SilenceState) -> int:
        newest = state.first_ms if state.newest_ms is None else state.newest_ms
        return max(newest or 0, state.deaf_to_ms)

    def _gateway_patience_ms(self, state: SilenceState) -> int:
        """Give how long the vessel may be silent: by her mode, and by the fastest sensor that was alive last."""
        newest = state.newest_ms
        pace = None
        for sensor, heard in state.sensors.items():
            last = heard.cadence.last_ms
            if last is None or newest is None:
                continue
            usual = heard.cadence.usual_ms or self.recorded_ms.get(sensor, 0.0)
            if newest - last <= _ALIVE * usual and (pace is None or usual < pace):
                pace = usual
        if pace is None:
            pace = min(self.recorded_ms.values())
        return int(max(self.limits.ms(self._gateway_limit), self.limits["gateway_cadences"] * pace))

    @property
    def _gateway_limit(self) -> str:
        return "gateway_afloat" if self.record.mode in _QUICK else "gateway_ashore"

    def _judge_sensors(self, state: SilenceState, now_ms: int) -> list[Finding]:
        found: list[Finding] = []
        newest = state.newest_ms
        for sensor, heard in state.sensors.items():
            if newest is not None and not heard.silent:
                # Against the newest word of the others: while all are quiet together, none is singled out.
                last = heard.cadence.last_ms
                since = max(heard.since_ms if last is None else last, state.deaf_to_ms)
                if newest - since >= _SENSOR_LEAST_MS:
                    heard.silent = newest - since >= self._sensor_patience_ms(heard, sensor)
            if heard.silent or heard.stuck or heard.fails:
                found.append(self._say(self.known[sensor], heard, now_ms))
        return found

    def _sensor_patience_ms(self, heard: Heard, sensor: str) -> float:
        usual = usual_gap_ms(heard.cadence, self.recorded_ms[sensor])
        return max(_SENSOR_CADENCES * usual, _SENSOR_LEAST_MS)

    def _say(self, sensor: Sensor, heard: Heard, now_ms: int) -> Finding:
        unattended = self.record.mode.is_laid_up or self.record.mode in _QUICK
        priority = Priority.WARNING if unattended and sensor.id in self.hazards else Priority.CAUTION
        if heard.silent:
            patience = self._sensor_patience_ms(heard, sensor.id)
            return say.silent(self.record, sensor, heard, priority, patience, now_ms, self.limits)
        if heard.fails:
            return say.failing(self.record, sensor, heard, priority, now_ms, self.limits)
        return say.stuck(self.record, sensor, heard, priority, now_ms, self.limits)


_HOLE, _ALIVE = Silence.limits["hole"], Silence.limits["alive_cadences"]
_STUCK_AFTER, _FAILING_AT = int(Silence.limits["stuck_after"]), int(Silence.limits["failing_at"])
_SENSOR_LEAST_MS, _SENSOR_CADENCES = Silence.limits.ms("sensor_least"), Silence.limits["sensor_cadences"]


def _hazards(record: Vessel) -> set[str]:
    """Give the sensors that frost or water would go unseen without."""
    found: set[str | None] = {_probe(record, s) for s in record.liquid_systems if _can_freeze(s)}
    if record.mode is not Mode.ASHORE_BUNG_OUT:
        for bilge in record.bilges:
            found |= _bilge_sensors(bilge)
    return {sensor for sensor in found if sensor is not None}


def _probe(record: Vessel, system: LiquidSystem) -> str | None:
    return system.sensor or record.outside_sensor


def _can_freeze(system: LiquidSystem) -> bool:
    return system.state is not SystemState.DRAINED or not all(drain.probed for drain in system.drains)


def _bilge_sensors(bilge: Bilge) -> set[str | None]:
    return {bilge.level_sensor, bilge.float_sensor}
