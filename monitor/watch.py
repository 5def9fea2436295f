"""The watch over one vessel: readings, clocks, records, commands and surroundings in; alerts and their events out.

Pure: a fold over the vessel's inputs in journal order. No clock, no I/O, no randomness. How inputs are batched changes
nothing.
"""

from collections.abc import Sequence
from typing import Any

from monitor.alerting import Track, acknowledge
from monitor.judging import Judging
from monitor.model.alert import Alert
from monitor.model.equipment import Sensor
from monitor.model.finding import Finding
from monitor.model.inputs import Acknowledge, CalendarVersion, Clock, Deaf, ForecastVersion, Input, RecordVersion
from monitor.model.quantity import SPANS, Quantity
from monitor.model.reading import Reading
from monitor.model.scale import Flag
from monitor.model.surroundings import Forecast, YardCalendar
from monitor.model.vessel import Vessel
from monitor.quality import SensorQuality, assess, expected_of
from monitor.rules.book import RULES
from monitor.rules.rule import MINUTE_MS, Rule
from monitor.watch_state import Outcome, WatchState

BEHIND_MS = 15 * MINUTE_MS
"""A reading folded so far behind a tick that was made is also judged as one that came late."""

FRESH_MS = 5 * MINUTE_MS
"""A reading that came so soon after its stated time is news, though its sensor's clock may have been ahead before."""


class Watch:
    """One vessel's watch, from the first version of her record on."""

    def __init__(self, record: Vessel, at_ms: int, rules: Sequence[type[Rule[Any]]] = RULES) -> None:
        self.state = WatchState(now_ms=at_ms, ticked_ms=at_ms // MINUTE_MS * MINUTE_MS)
        self.state.rules = {rule.name: rule.state_type() for rule in rules}
        self._rule_types = rules
        self._bind(record)
        self._judging.judge_soon()

    def _bind(self, record: Vessel) -> None:
        self.record = record
        self.laid_up_ms = round(record.laid_up.timestamp() * 1000)
        self.rules: tuple[Rule[Any], ...] = tuple(make(record) for make in self._rule_types)
        self._judging = Judging(self.state, record.id, self.rules)
        self._sensors = {s.id: s for s in record.sensors}
        self._tests = expected_of(record)
        self._listeners = {s.id: tuple(r for r in self.rules if s.id in r.sensors) for s in record.sensors}
        self._high_m = {b.level_sensor: b.high_m for b in record.bilges if b.level_sensor is not None}

    def fold(self, item: Input) -> Outcome:
        """Fold one input. Inputs of other vessels must not be given."""
        outcome = Outcome()
        if type(item) is Reading:
            self._fold_reading(item, outcome)
        elif type(item) is Clock:
            self._judging.advance(item.at_ms + 1, outcome)
            self.state.now_ms = max(self.state.now_ms, item.at_ms)
        elif type(item) is RecordVersion:
            # It moves no clock, nor does an acknowledgement: what was queued while we were away is still to be judged
            # at its own times.
            self._bind(item.vessel)
            self._judging.judge_soon()
        elif type(item) is Acknowledge:
            self._fold_acknowledge(item, outcome)
        elif type(item) is Deaf:
            self._fold_deaf(item)
        elif type(item) is CalendarVersion:
            self._fold_surroundings({"calendar": item.calendar})
        elif type(item) is ForecastVersion:
            self._fold_surroundings({"forecast": item.forecast})
        return outcome

    def resume(self, state: WatchState) -> None:
        """Go on from a state that was kept."""
        self.state = state
        self._bind(self.record)

    def adopt(self, other: "Watch", open_alerts: list[Alert]) -> None:
        """Take over the rule states of another watch, with the alerts of those rules as they stand in the journal.

        Other than these rules' alerts nothing is touched; a watch that adopts itself takes all its alerts anew.
        """
        for rule in other.rules:
            self.state.rules[rule.name] = other.state.rules[rule.name]
        names = set(self.state.tracks) if other is self else {rule.name for rule in other.rules}
        for name in names | ({alert.rule for alert in open_alerts} if other is self else set()):
            mine = [alert for alert in open_alerts if alert.rule == name]
            self.state.tracks[name] = {alert.subject: Track.of(alert) for alert in mine}
        self._judging.judge_soon()

    def open_alerts(self) -> list[Alert]:
        """Give the open alerts, in the order their keys were first found."""
        return self._judging.open_alerts()

    def not_known(self) -> list[Finding]:
        """Give what the rules cannot say now."""
        return [finding for found in self.state.unknown.values() for finding in found]

    def says_water(self, sensor_id: str, value: float) -> bool:
        """Whether a value of a sensor says that there is water: a float that is up, a level at its high mark."""
        sensor = self._sensors.get(sensor_id)
        if sensor is None:
            return False
        if sensor.quantity is Quantity.FLOAT_SWITCH:
            return value > 0
        high = self._high_m.get(sensor_id) if sensor.quantity is Quantity.LEVEL else None
        return high is not None and value >= high

    def _fold_reading(self, reading: Reading, outcome: Outcome) -> None:
        sensor = self._sensors.get(reading.sensor)
        if sensor is None:
            return  # stored before the record dropped the sensor: nothing aboard answers to it now
        water = self.says_water(reading.sensor, reading.value)
        if not reading.news:
            if water:
                self._fold_doubtful_water(reading, outcome)
            return
        newest = self.state.newest.get(reading.sensor)
        if newest is not None and reading.event_ms < newest:
            if not water or reading.arrived_ms - reading.event_ms > FRESH_MS:
                self._fold_late(sensor, reading)
                return
            # Its sensor, or we, were ahead before: it is news all the same, and water is not told late.
            reading.event_ms = newest
        moved = sensor.quantity.is_switch and self._last_value(reading.sensor) != reading.value
        self._fold_news(sensor, reading, outcome, at_once=water or moved)

    def _last_value(self, sensor_id: str) -> float | None:
        quality = self.state.quality.get(sensor_id)
        return None if quality is None else quality.last

    def _fold_news(self, sensor: Sensor, reading: Reading, outcome: Outcome, *, at_once: bool) -> None:
        state = self.state
        self._judging.advance(reading.event_ms, outcome)
        behind = reading.event_ms < state.ticked_ms - BEHIND_MS
        state.newest[reading.sensor] = reading.event_ms
        state.now_ms = max(state.now_ms, reading.event_ms)
        quality = state.quality.get(reading.sensor)
        if quality is None:
            quality = state.quality[reading.sensor] = SensorQuality()
        settled = assess(quality, self._tests[sensor.id], reading)
        waits = not settled or settled[-1] is not reading
        if waits:
            self._give(reading, settled=False, at_once=at_once)
        for final in settled:
            self._give(final, settled=True, at_once=at_once)
        outcome.settled += [final for final in settled if final is not reading]
        if behind and reading.flag is not Flag.FAIL:
            self._judging.give_late(self._listeners[reading.sensor], reading)
        if at_once:
            self._judge_now(reading.sensor, outcome)

    def _fold_doubtful_water(self, reading: Reading, outcome: Outcome) -> None:
        """Take water that may be old as water now, without taking it for a sign that its sensor is heard now."""
        reading.event_ms = self.state.now_ms
        self._judging.give([rule for rule in self._listeners[reading.sensor] if rule.hears_all], reading)
        self._judge_now(reading.sensor, outcome)

    def _fold_late(self, sensor: Sensor, reading: Reading) -> None:
        reading.late = True
        span = SPANS[sensor.quantity]
        if not span.low <= reading.value <= span.high:
            reading.flag = Flag.FAIL
            return
        self._judging.give_late(self._listeners[reading.sensor], reading)

    def _give(self, reading: Reading, *, settled: bool, at_once: bool) -> None:
        rules = self._listeners[reading.sensor]
        if reading.flag is not Flag.PASS or not (settled or at_once):
            believed, now = reading.flag is Flag.PASS, settled or at_once
            rules = tuple(r for r in rules if (now or r.hears_at_once) and (r.hears_all or believed))
        self._judging.give(rules, reading)

    def _judge_now(self, sensor_id: str, outcome: Outcome) -> None:
        for rule in self._listeners[sensor_id]:
            self._judging.judge(rule, self.state.now_ms, outcome)

    def _fold_surroundings(self, change: dict[str, YardCalendar | Forecast]) -> None:
        self.state.surroundings = self.state.surroundings.model_copy(update=change)
        self._judging.judge_soon()

    def _fold_acknowledge(self, command: Acknowledge, outcome: Outcome) -> None:
        at_ms = max(self.state.now_ms, command.at_ms)
        for track in self._judging.tracks():
            alert = track.alert
            if alert is not None and alert.id == command.alert:
                outcome.events += acknowledge(track, at_ms, command.actor, command.note)
                outcome.alerts[alert.id] = alert

    def _fold_deaf(self, deaf: Deaf) -> None:
        # Told before the backlog is folded, so that the ticks of the deaf time blame no sensor for it. It moves no
        # clock: what was queued meanwhile is still to be judged at its own times.
        for rule in self.rules:
            rule.deaf(self.state.rules[rule.name], deaf.from_ms, deaf.to_ms)
            self._judging.make_due(rule)
