"""Silence: which sensor is not heard, or says nothing that can be believed, and is the whole boat silent?

A sensor is expected at its own cadence, which is learned. Its silence is measured against the newest word of any other
sensor aboard, so that a silent gateway is one finding and never one a sensor. How long a boat may be silent goes by how
soon she could come to harm unseen: afloat, ashore, and with frost coming. The agent's own deafness is no sensor's
silence. A sensor that keeps one value beyond its own habit is stuck, one that keeps failing its tests is failing: both
leave what depends on them unwatched, and no data must never look normal. A low cell, two thermometers that differ and
volts that jump are told before they do.
"""

from collections.abc import Iterator

from monitor.model.equipment import Sensor
from monitor.model.finding import Finding
from monitor.model.quantity import Quantity
from monitor.model.reading import Reading
from monitor.model.scale import Flag, Priority
from monitor.model.vessel import Mode, Vessel
from monitor.rules import silence_findings as say
from monitor.rules.cadence import usual_gap_ms
from monitor.rules.rule import SECOND_MS, Changes, Rule
from monitor.rules.silence_frost import frost_limit, hear_outside
from monitor.rules.silence_grade import (
    QUICK,
    Hazards,
    gateway_priority,
    new_sensor_to_ms,
    new_to_ms,
    since_ms,
    turns_of_sensor,
)
from monitor.rules.silence_limits import LIMITS
from monitor.rules.silence_memory import (
    MOST_COUNTED,
    Back,
    Heard,
    SilenceState,
    note_cell,
    note_jump,
    note_quality,
    note_time,
)
from monitor.rules.silence_pairs import Together


class Silence(Rule[SilenceState]):
    """Sensors and gateways that are not heard, stuck or failing."""

    name = "silence"
    version = 4
    state_type = SilenceState
    hears_all = True
    hears_at_once = True
    limits = LIMITS

    def __init__(self, record: Vessel) -> None:
        super().__init__(record)
        self.known = {s.id: s for s in record.sensors}
        self.sensors = frozenset(self.known)
        self.recorded_ms = {s.id: s.interval_s * SECOND_MS for s in record.sensors}
        self.hazards = Hazards(record)
        self.together = Together(record)
        self.switches = {s.id for s in record.sensors if s.quantity.is_switch}
        volts = {s.id for s in record.sensors if s.quantity is Quantity.VOLTAGE}
        self.nominal_v = {b.voltage_sensor: b.nominal_v for b in record.batteries if b.voltage_sensor in volts}
        cells = {s.id for s in record.sensors if s.quantity is Quantity.CELL}
        self.compared = {*self.nominal_v, *cells, *self.together.sensors, record.outside_sensor}
        limit = "gateway_afloat" if record.mode in QUICK else "gateway_ashore"
        self.least_patience_ms = min(self.limits.ms(limit), self.limits.ms("gateway_frost_now"))

    def see(self, state: SilenceState, reading: Reading) -> Changes:
        """Take that a sensor spoke, and how believable it was."""
        if not reading.news:
            return Changes.NOTHING  # water that may be old: it says nothing of whether its sensor is heard now
        sensor, at = reading.sensor, reading.event_ms
        heard = state.sensors.get(sensor)
        first = heard is None
        if heard is None:
            heard = state.sensors[sensor] = Heard(since_ms=at)
        last_ms = heard.cadence.last_ms
        state.came_ms = state.came_ms or reading.arrived_ms
        if last_ms is None or at > last_ms:
            note_time(heard, at, self.recorded_ms[sensor], state.deaf_to_ms, learns=sensor not in self.switches)
            if state.gateway_from_ms is not None:
                state.gateway_from_ms, state.gateway_back = None, Back(state.newest_ms)
            if state.newest_ms is None or at > state.newest_ms:
                state.newest_ms = at
            if reading.clock_fault:
                heard.clock_faults = min(heard.clock_faults + 1, MOST_COUNTED)
        before, before_ms = heard.value, heard.flagged_ms
        if note_quality(heard, reading) and sensor in self.compared and reading.flag is not Flag.FAIL:
            self._compare(state, heard, reading, before, before_ms)
        newest, from_ms = state.newest_ms, state.silent_from_ms
        # A sensor that lags far behind the others may itself be the next to be silent.
        another = newest is None or newest >= from_ms or at < from_ms - _SENSOR_LEAST_MS
        if (
            first
            or another
            or heard.is_told_of
            or (sensor in self.together.sensors and self.together.differ(state.places))
        ):
            return Changes.ANYTHING
        return Changes.WHAT_IS_SAID

    def _compare(
        self, state: SilenceState, heard: Heard, reading: Reading, before: float | None, before_ms: int
    ) -> None:
        """Hold a reading against what else is known: the one before it, other sensors, a cell's best."""
        sensor = reading.sensor
        if sensor in self.nominal_v:
            note_jump(heard, before, before_ms, reading, self.nominal_v[sensor])
        elif reading.flag is Flag.PASS:
            if self.known[sensor].quantity is Quantity.CELL:
                note_cell(heard, before, reading.value)
                return
            if sensor in self.together.sensors:
                self.together.hear(state.places, reading)
            if sensor == self.record.outside_sensor:
                hear_outside(state.outside, reading)

    def see_late(self, state: SilenceState, reading: Reading) -> None:
        """Count a reading that came after a newer one."""
        heard = state.sensors.get(reading.sensor)
        if heard is not None:
            heard.late = min(heard.late + 1, MOST_COUNTED)

    def deaf(self, state: SilenceState, from_ms: int, to_ms: int) -> None:  # noqa: ARG002 - only its end counts
        """Learn that the agent was deaf: what was found silent before stays so, nobody else is to blame."""
        state.deaf_to_ms = max(state.deaf_to_ms, to_ms)

    def judge(self, state: SilenceState, now_ms: int) -> list[Finding]:
        """Say who is silent, stuck, failing, or soon may be. A silent gateway takes its sensors under it.

        What was found of a sensor before stands on beneath a silent gateway: nothing was heard that would clear it.
        """
        self._expect(state, now_ms)
        if self.record.mode is Mode.IN_COMMISSION or not self.known:
            return []
        found = self._judge_sensors(state, now_ms)
        gateway = self._judge_gateway(state, now_ms)
        return found if gateway is None else [gateway, *found]

    def next_look(self, state: SilenceState, now_ms: int) -> int | None:
        """Look again when silence counts or weighs more, when a jump is old, and when what is heard again is over."""
        if state.first_ms is None or not self.known:
            return now_ms + 1
        turns = [at for heard in state.sensors.values() for at in turns_of_sensor(state, heard)]
        new_ms = new_to_ms(state)
        if state.gateway_from_ms is None:
            # Readings that change nothing are not judged after, though outside air may have cut the patience short.
            base = self._gateway_base_ms(state)
            soonest = base + self.least_patience_ms
            turns.append(soonest if soonest > now_ms else base + self._gateway_patience_ms(state, base))
            turns[-1] = max(turns[-1], now_ms + 1)
            if state.gateway_back is not None and state.gateway_back.told_ms is not None:
                turns.append(state.gateway_back.told_ms + self.limits.ms("gateway_off"))
        else:
            turns += [] if new_ms is None else [new_ms]
            turns.append(max(state.gateway_from_ms, new_ms or 0) + self.limits.ms("gateway_alarm"))
        return min((at for at in turns if at > now_ms), default=None)

    def _judge_gateway(self, state: SilenceState, now_ms: int) -> Finding | None:
        """Say that nothing is heard from her, or for as long as her alert stands that she is heard again."""
        if state.gateway_from_ms is None:
            base = self._gateway_base_ms(state)
            if now_ms < base + self._gateway_patience_ms(state, base):
                back = state.gateway_back
                if back is None or not back.is_told_at(now_ms, self.limits.ms("gateway_off")):
                    state.gateway_back = None
                    return None
                patience_ms = self._gateway_patience_ms(state, base)
                return say.gateway(self.record, state, Priority.WARNING, patience_ms, None, now_ms)
            state.gateway_from_ms, state.gateway_back = base, None
        from_ms = state.gateway_from_ms
        frost = self._frost_limit(state, from_ms)
        priority = gateway_priority(
            self.record.mode,
            from_ms=from_ms,
            new_to_ms=new_to_ms(state),
            frost=self._frost_is_known(state, from_ms),
            now_ms=now_ms,
        )
        patience_ms = self._gateway_patience_ms(state, from_ms)
        return say.gateway(self.record, state, priority, patience_ms, frost, now_ms)

    def _expect(self, state: SilenceState, now_ms: int) -> None:
        if state.first_ms is None:
            state.first_ms = now_ms
        if state.sensors.keys() != self.known.keys():
            kept = {i: state.sensors.get(i) or Heard(since_ms=now_ms) for i in self.known}
            state.sensors.clear()
            state.sensors.update(kept)

    def _gateway_base_ms(self, state: SilenceState) -> int:
        newest = state.first_ms if state.newest_ms is None else state.newest_ms
        # A first backlog is old when it comes: she was not silent for what lies before it came in.
        return max(newest or 0, state.deaf_to_ms, state.came_ms)

    def _gateway_patience_ms(self, state: SilenceState, base_ms: int) -> int:
        """Give how long the vessel may be silent: by her mode, by frost, and by the fastest sensor that was alive."""
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
        limit_ms = self.limits.ms("gateway_afloat" if self.record.mode in QUICK else "gateway_ashore")
        frost = self._frost_limit(state, base_ms)
        if frost is not None:
            limit_ms = min(limit_ms, self.limits.ms(frost))
        return int(max(limit_ms, self.limits["gateway_cadences"] * pace))

    def _frost_limit(self, state: SilenceState, base_ms: int) -> str | None:
        return frost_limit(self.record, state.outside, self.surroundings.forecast, base_ms)

    def _frost_is_known(self, state: SilenceState, from_ms: int) -> bool:
        forecast = self.surroundings.forecast
        return frost_limit(self.record, state.outside, forecast, from_ms, supposes=False) is not None

    def _judge_sensors(self, state: SilenceState, now_ms: int) -> list[Finding]:
        found = [finding for i, heard in state.sensors.items() for finding in self._of_sensor(state, i, heard, now_ms)]
        state.silent_from_ms = self._silent_from_ms(state)
        subjects = {finding.subject for finding in found}
        found += [
            say.disagree(self.record, odd, state.places.said)
            for odd in self.together.odd(state.places)
            if odd.sensor.id not in subjects
        ]
        return found

    def _silent_from_ms(self, state: SilenceState) -> int:
        if state.newest_ms is None:
            return 0
        ends = [state.newest_ms + _SENSOR_LEAST_MS]
        for sensor, heard in state.sensors.items():
            if not heard.silent:
                ends.append(since_ms(state, heard) + int(self._sensor_patience_ms(heard, sensor)))
        return min(ends)

    def _listen(self, state: SilenceState, sensor_id: str, heard: Heard, now_ms: int) -> None:
        """Note whether a sensor is silent by now, and whether it is still to be told that one is heard again."""
        newest = state.newest_ms
        if newest is not None and not heard.silent:
            # Against the newest word of the others: while all are quiet together, none is singled out.
            silent_ms = newest - since_ms(state, heard)
            if silent_ms >= _SENSOR_LEAST_MS:
                heard.silent = silent_ms >= self._sensor_patience_ms(heard, sensor_id)
        if heard.silent or (heard.back is not None and not heard.back.is_told_at(now_ms, _SENSOR_OFF_MS)):
            heard.back = None

    def _of_sensor(self, state: SilenceState, sensor_id: str, heard: Heard, now_ms: int) -> Iterator[Finding]:
        """Give the weightiest that can be said of a sensor."""
        self._listen(state, sensor_id, heard, now_ms)
        if not (heard.silent or heard.is_told_of):
            return
        sensor, record = self.known[sensor_id], self.record
        priority = self._priority(state, sensor, heard, now_ms)
        if heard.silent:
            patience_ms = self._sensor_patience_ms(heard, sensor_id)
            yield say.silent(record, sensor, heard, priority, patience_ms, now_ms)
        elif heard.fails:
            yield say.failing(record, sensor, heard, priority, now_ms)
        elif heard.stuck:
            yield say.stuck(record, sensor, heard, priority, now_ms)
        elif heard.doubtful:
            yield say.doubtful(record, sensor, heard, priority, now_ms)
        elif heard.back is not None:
            patience_ms = self._sensor_patience_ms(heard, sensor_id)
            yield say.silent(record, sensor, heard, priority, patience_ms, now_ms)
        elif heard.jump is not None and now_ms < heard.jump.at_ms + self.limits.ms("jump_stands"):
            yield say.jumped(record, sensor, heard, heard.jump, self.nominal_v.get(sensor_id, 0.0))
        elif heard.cell is not None and heard.cell.low:
            yield say.low_cell(record, sensor, heard, heard.cell)

    def _priority(self, state: SilenceState, sensor: Sensor, heard: Heard, now_ms: int) -> Priority:
        is_new = heard.cadence.last_ms is None and now_ms < new_sensor_to_ms(state, heard)
        frost = is_new and self._frost_is_known(state, heard.since_ms)
        return self.hazards.priority(sensor, is_new=is_new, frost=frost)

    def _sensor_patience_ms(self, heard: Heard, sensor: str) -> float:
        usual = usual_gap_ms(heard.cadence, self.recorded_ms[sensor])
        return max(_SENSOR_CADENCES * usual, _SENSOR_LEAST_MS)


_ALIVE = LIMITS["alive_cadences"]
_SENSOR_LEAST_MS, _SENSOR_CADENCES = LIMITS.ms("sensor_least"), LIMITS["sensor_cadences"]
_SENSOR_OFF_MS = LIMITS.ms("sensor_off")
