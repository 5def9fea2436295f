"""The watch over one vessel: readings, clocks, records and commands in; alerts and their events out.

Pure: a fold over the vessel's inputs in journal order. No clock, no I/O, no randomness. Ticks fall on whole
event-time minutes and are made before the first input past them, so that how inputs are batched changes nothing. A
tick at which no rule could answer otherwise is skipped: a rule is judged at the first tick after it was given a
reading, at the time it named itself, and at once on switches and on a level at its high mark.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any

from monitor.alerting import Track, acknowledge, follow, next_change, settle
from monitor.model.alert import Alert, AlertEvent
from monitor.model.equipment import Sensor
from monitor.model.finding import Finding
from monitor.model.inputs import Acknowledge, CalendarVersion, Clock, Deaf, ForecastVersion, Input, RecordVersion
from monitor.model.quantity import SPANS, Quantity
from monitor.model.reading import Reading
from monitor.model.scale import Flag, Sure
from monitor.model.surroundings import Forecast, Surroundings, YardCalendar
from monitor.model.vessel import Vessel
from monitor.quality import SensorQuality, assess
from monitor.rules.book import RULES
from monitor.rules.rule import MINUTE_MS, Rule, earliest

AnyRule = Rule[Any]


@dataclass(slots=True)
class WatchState:
    """Everything the watch knows of one vessel beside her record. Bounded: it does not grow with the winter.

    Attributes:
        now_ms: the highest time seen; it never falls.
        ticked_ms: the last whole minute whose tick has been made.
        newest: newest event time by sensor.
        quality: state of the quality tests by sensor.
        rules: state by rule name.
        due: when each rule is judged next, None where only a reading can change its answer.
        tracks: findings on their way to alerts, by rule and subject.
        unknown: what each rule cannot say, for the page.
        surroundings: what is known of the yard.
    """

    now_ms: int
    ticked_ms: int
    newest: dict[str, int] = field(default_factory=dict)
    quality: dict[str, SensorQuality] = field(default_factory=dict)
    rules: dict[str, Any] = field(default_factory=dict)
    due: dict[str, int | None] = field(default_factory=dict)
    tracks: dict[str, dict[str, Track]] = field(default_factory=dict)
    unknown: dict[str, list[Finding]] = field(default_factory=dict)
    surroundings: Surroundings = field(default_factory=Surroundings)


@dataclass(slots=True)
class Outcome:
    """What folding one input brought about.

    Attributes:
        events: what happened to alerts, in order.
        alerts: the alerts that changed in anything, figures included, by id.
        settled: readings stored before whose flag has become final.
    """

    events: list[AlertEvent] = field(default_factory=list)
    alerts: dict[str, Alert] = field(default_factory=dict)
    settled: list[Reading] = field(default_factory=list)


class Watch:
    """One vessel's watch, from the first version of her record on."""

    def __init__(self, record: Vessel, at_ms: int, rules: Sequence[type[AnyRule]] = RULES) -> None:
        self.state = WatchState(now_ms=at_ms, ticked_ms=at_ms // MINUTE_MS * MINUTE_MS)
        self._rule_types = rules
        self._bind(record)
        for rule in self.rules:
            self.state.rules[rule.name] = rule.state_type()
            self._make_due(rule)

    def _bind(self, record: Vessel) -> None:
        self.record = record
        self.laid_up_ms = round(record.laid_up.timestamp() * 1000)
        self.rules: tuple[AnyRule, ...] = tuple(make(record) for make in self._rule_types)
        self._sensors = {s.id: s for s in record.sensors}
        self._listeners = {s.id: tuple(r for r in self.rules if s.id in r.sensors) for s in record.sensors}
        self._high_m = {b.level_sensor: b.high_m for b in record.bilges if b.level_sensor is not None}
        self._due_ms = self._earliest_due()
        self._surround()

    def _surround(self) -> None:
        for rule in self.rules:
            rule.surroundings = self.state.surroundings

    def fold(self, item: Input) -> Outcome:
        """Fold one input. Inputs of other vessels must not be given."""
        outcome = Outcome()
        if type(item) is Reading:
            self._fold_reading(item, outcome)
        elif type(item) is Clock:
            self._advance(item.at_ms + 1, outcome)
            self.state.now_ms = max(self.state.now_ms, item.at_ms)
        elif type(item) is RecordVersion:
            self._fold_record(item, outcome)
        elif type(item) is Acknowledge:
            self._fold_acknowledge(item, outcome)
        elif type(item) is Deaf:
            self._fold_deaf(item)
        elif type(item) is CalendarVersion:
            self._fold_surroundings({"calendar": item.calendar}, item.at_ms, outcome)
        elif type(item) is ForecastVersion:
            self._fold_surroundings({"forecast": item.forecast}, item.at_ms, outcome)
        return outcome

    def resume(self, state: WatchState) -> None:
        """Go on from a state that was kept."""
        self.state = state
        self._due_ms = self._earliest_due()
        self._surround()

    def adopt(self, other: "Watch", open_alerts: list[Alert]) -> None:
        """Take over the rule states of another watch, with the alerts of those rules as they stand in the journal."""
        for rule in other.rules:
            self.state.rules[rule.name] = other.state.rules[rule.name]
            mine = [alert for alert in open_alerts if alert.rule == rule.name]
            self.state.tracks[rule.name] = {alert.subject: Track.of(alert) for alert in mine}
        for rule in self.rules:
            self._make_due(rule)

    def open_alerts(self) -> list[Alert]:
        """Give the open alerts, in the order their keys were first found."""
        return [t.alert for t in self._all_tracks() if t.alert is not None]

    def _all_tracks(self) -> Iterator[Track]:
        for tracks in self.state.tracks.values():
            yield from tracks.values()

    def _fold_reading(self, reading: Reading, outcome: Outcome) -> None:
        sensor = self._sensors.get(reading.sensor)
        if sensor is None:
            return  # stored before the record dropped the sensor: nothing aboard answers to it now
        urgent = self._is_urgent(sensor, reading)
        if not reading.news and not urgent:
            return
        newest = self.state.newest.get(reading.sensor)
        if newest is not None and reading.event_ms < newest:
            self._fold_late(sensor, reading)
            return
        self._advance(reading.event_ms, outcome)
        state = self.state
        state.newest[reading.sensor] = reading.event_ms
        state.now_ms = max(state.now_ms, reading.event_ms)
        quality = state.quality.get(reading.sensor)
        if quality is None:
            quality = state.quality[reading.sensor] = SensorQuality()
        settled = assess(quality, sensor, reading)
        at_once = not settled or settled[-1] is not reading
        if at_once:
            self._give(reading, settled=False, urgent=urgent)
        for final in settled:
            self._give(final, settled=True, urgent=urgent)
        if at_once:
            outcome.settled += settled
        if urgent:
            for rule in self._listeners[reading.sensor]:
                self._judge(rule, state.now_ms, outcome)

    def _give(self, reading: Reading, *, settled: bool, urgent: bool) -> None:
        for rule in self._listeners[reading.sensor]:
            timely = settled or urgent or rule.hears_at_once
            if timely and (rule.hears_all or reading.flag is Flag.PASS):
                rule.see(self.state.rules[rule.name], reading)
                self._make_due(rule)

    def _fold_late(self, sensor: Sensor, reading: Reading) -> None:
        reading.late = True
        span = SPANS[sensor.quantity]
        if not span.low <= reading.value <= span.high:
            reading.flag = Flag.FAIL
            return
        for rule in self._listeners[reading.sensor]:
            rule.see_late(self.state.rules[rule.name], reading)
            self._make_due(rule)

    def _fold_record(self, version: RecordVersion, outcome: Outcome) -> None:
        self._advance(version.at_ms, outcome)
        self.state.now_ms = max(self.state.now_ms, version.at_ms)
        self._bind(version.vessel)
        for rule in self.rules:
            self._make_due(rule)

    def _fold_surroundings(self, change: dict[str, YardCalendar | Forecast], at_ms: int, outcome: Outcome) -> None:
        self._advance(at_ms, outcome)
        self.state.now_ms = max(self.state.now_ms, at_ms)
        self.state.surroundings = self.state.surroundings.model_copy(update=change)
        self._surround()
        for rule in self.rules:
            self._make_due(rule)

    def _fold_acknowledge(self, command: Acknowledge, outcome: Outcome) -> None:
        self._advance(command.at_ms, outcome)
        self.state.now_ms = max(self.state.now_ms, command.at_ms)
        for track in self._all_tracks():
            alert = track.alert
            if alert is not None and alert.id == command.alert:
                outcome.events += acknowledge(track, self.state.now_ms, command.actor, command.note)
                outcome.alerts[alert.id] = alert

    def _fold_deaf(self, deaf: Deaf) -> None:
        # Told before the backlog is folded, so that the ticks of the deaf time blame no sensor for it. It moves no
        # clock: what was queued meanwhile is still to be judged at its own times.
        for rule in self.rules:
            rule.deaf(self.state.rules[rule.name], deaf.from_ms, deaf.to_ms)
            self._make_due(rule)

    def _is_urgent(self, sensor: Sensor, reading: Reading) -> bool:
        if sensor.quantity.is_switch:
            return True
        high = self._high_m.get(sensor.id) if sensor.quantity is Quantity.LEVEL else None
        return high is not None and reading.value >= high

    def _advance(self, to_ms: int, outcome: Outcome) -> None:
        """Make every tick before ``to_ms`` at which a rule is due."""
        due = self._due_ms
        while due is not None and due < to_ms:
            for rule in self.rules:
                if self.state.due.get(rule.name) == due:
                    self._judge(rule, due, outcome)
            due = self._due_ms
        self.state.ticked_ms = max(self.state.ticked_ms, (to_ms - 1) // MINUTE_MS * MINUTE_MS)

    def _make_due(self, rule: AnyRule) -> None:
        due = self._next_tick(self.state.now_ms)
        known = self.state.due.get(rule.name)
        if known is None or due < known:
            self.state.due[rule.name] = due
            if self._due_ms is None or due < self._due_ms:
                self._due_ms = due

    def _next_tick(self, at_ms: int) -> int:
        return max(-(-at_ms // MINUTE_MS) * MINUTE_MS, self.state.ticked_ms + MINUTE_MS)

    def _earliest_due(self) -> int | None:
        return min((d for d in self.state.due.values() if d is not None), default=None)

    def _judge(self, rule: AnyRule, now_ms: int, outcome: Outcome) -> None:
        state = self.state
        state.ticked_ms = max(state.ticked_ms, now_ms // MINUTE_MS * MINUTE_MS)
        rule_state = state.rules[rule.name]
        findings = rule.judge(rule_state, now_ms)
        state.unknown[rule.name] = [f for f in findings if f.sure is Sure.NOT_KNOWN]
        said = {f.subject: f for f in findings}
        gone = [subject for subject in state.tracks.setdefault(rule.name, {}) if subject not in said]
        changes = [self._follow(rule.name, subject, said.get(subject), now_ms, outcome) for subject in [*said, *gone]]
        due = earliest([rule.next_look(rule_state, now_ms), *changes])
        state.due[rule.name] = None if due is None else self._next_tick(max(due, now_ms + 1))
        self._due_ms = self._earliest_due()

    def _follow(self, rule: str, subject: str, finding: Finding | None, now_ms: int, outcome: Outcome) -> int | None:
        """Take a subject's finding into its delays and its alert; say when the delays next change something."""
        tracks = self.state.tracks[rule]
        track = tracks.get(subject)
        if finding is not None and finding.sure is Sure.NOT_KNOWN:
            # No data opens no alert of its own (silence says why) and never clears one: its delays stand still.
            return None
        if track is None:
            track = tracks[subject] = Track()
        alert = track.alert
        before = None if alert is None else alert.finding
        covers = _standing_covers(track)
        follow(track, finding, now_ms)
        self._uncover(covers - _standing_covers(track))
        if alert is None and self._is_covered(f"{rule}/{subject}"):
            return next_change(track)  # a consequence of what is told already
        events = settle(track, self.record.id, rule, subject, now_ms)
        alert = track.alert or alert
        if alert is not None and (events or alert.finding != before):
            outcome.alerts[alert.id] = alert
        outcome.events += events
        if track.alert is None and track.standing is None and not track.rising:
            del tracks[subject]
        return next_change(track)

    def _is_covered(self, key: str) -> bool:
        return any(key in _standing_covers(track) for track in self._all_tracks())

    def _uncover(self, keys: set[str]) -> None:
        """Have the rules judged again whose findings are no longer somebody else's consequences."""
        freed = {key.partition("/")[0] for key in keys}
        for rule in self.rules:
            if rule.name in freed:
                self._make_due(rule)


def _standing_covers(track: Track) -> set[str]:
    """Give the keys that a track's finding takes under it while it stands."""
    return set() if track.standing is None or track.finding is None else set(track.finding.covers)
