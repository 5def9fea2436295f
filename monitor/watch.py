"""The watch over one vessel: readings, clocks, records, commands and surroundings in; alerts and their events out.

Pure: a fold over the vessel's inputs in journal order. No clock, no I/O, no randomness. How inputs are batched changes
nothing.
"""

from collections.abc import Sequence
from math import inf, nextafter
from typing import Any

from monitor.alerting import Track
from monitor.judging import Judging
from monitor.model.alert import Alert
from monitor.model.equipment import Sensor
from monitor.model.finding import Finding
from monitor.model.inputs import (
    AlertCommand,
    CalendarVersion,
    Clock,
    Confirm,
    Deaf,
    EndSuppression,
    ForecastVersion,
    Input,
    RecordVersion,
    Suppress,
    VisitReport,
)
from monitor.model.quantity import SPANS, Quantity
from monitor.model.reading import Reading
from monitor.model.scale import Flag
from monitor.model.surroundings import Forecast, YardCalendar
from monitor.model.vessel import Vessel
from monitor.quality import SensorQuality, SensorTests, assess, expected_of
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
        self._judging = Judging(self.state, record, self.rules)
        tests = expected_of(record)
        high_m = {b.level_sensor: b.high_m for b in record.bilges}
        self._aboard = {
            s.id: _Aboard(s, tests[s.id], tuple(r for r in self.rules if s.id in r.sensors), high_m.get(s.id))
            for s in record.sensors
        }

    def fold(self, item: Input, outcome: Outcome | None = None) -> Outcome:
        """Fold one input. Inputs of other vessels must not be given.

        Args:
            item: the input.
            outcome: an empty outcome that may be used, as one made for every input costs; a new one where None.

        Returns:
            What it brought about.
        """
        if outcome is None:
            outcome = Outcome()
        if type(item) is Reading:
            self.hear(item, outcome)
        elif type(item) is Clock:
            self._judging.advance(item.at_ms + 1, outcome)
            self.state.now_ms = max(self.state.now_ms, item.at_ms)
        elif type(item) is RecordVersion:
            # It moves no clock, nor does what people do: what was queued while we were away is still to be judged at
            # its own times.
            self._bind(item.vessel)
            self._judging.put_aside.forget_gone(outcome)
            self._judging.judge_soon()
        elif type(item) is VisitReport:
            self._judging.visited(item)
        elif type(item) is Deaf:
            self._fold_deaf(item)
        elif type(item) is CalendarVersion:
            self._fold_surroundings({"calendar": item.calendar})
        elif type(item) is ForecastVersion:
            self._fold_surroundings({"forecast": item.forecast})
        elif isinstance(item, AlertCommand | Suppress | EndSuppression):
            self._fold_act(item, outcome)
        return outcome

    def hear(self, reading: Reading, outcome: Outcome) -> None:
        """Fold a reading of hers, as `fold` does.

        Args:
            reading: the reading; its flag, and whether it is late, are set.
            outcome: is added to.
        """
        sensor = reading.sensor
        aboard = self._aboard.get(sensor)
        if aboard is None:
            return  # stored before the record dropped the sensor: nothing aboard answers to it now
        water = reading.value >= aboard.water_from
        if not reading.news:
            if water:
                self._fold_doubtful_water(aboard, reading, outcome)
            return
        newest = self.state.newest.get(sensor)
        if newest is not None and reading.event_ms < newest:
            if not water or reading.arrived_ms - reading.event_ms > FRESH_MS:
                self._fold_late(aboard, reading)
                return
            # Its sensor, or we, were ahead before: it is news all the same, and water is not told late.
            reading.event_ms = newest
        self._fold_news(aboard, reading, outcome, water=water)

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
        self._bind(self.record)  # with what comes back by itself among them
        self._judging.judge_soon()

    def open_alerts(self) -> list[Alert]:
        """Give the open alerts, in the order their keys were first found."""
        return self._judging.alerts.open_alerts()

    def refusal(self, command: AlertCommand | Suppress | EndSuppression) -> str:
        """Say in words why a command cannot be carried out now; empty where it can."""
        return self._judging.put_aside.refusal(command)

    def not_known(self) -> list[Finding]:
        """Give what the rules cannot say now."""
        return [finding for found in self.state.unknown.values() for finding in found]

    def says_water(self, sensor_id: str, value: float) -> bool:
        """Whether a value of a sensor says that there is water: a float that is up, a level at its high mark."""
        aboard = self._aboard.get(sensor_id)
        return aboard is not None and value >= aboard.water_from

    def _fold_act(self, act: AlertCommand | Suppress | EndSuppression, outcome: Outcome) -> None:
        self._judging.put_aside.do(act, outcome)
        if isinstance(act, Confirm):
            self._judging.visited(act.as_visit())

    def _fold_news(self, aboard: "_Aboard", reading: Reading, outcome: Outcome, *, water: bool) -> None:
        state, judging, sensor, event_ms = self.state, self._judging, reading.sensor, reading.event_ms
        quality = state.quality.get(sensor)
        if quality is None:
            quality = state.quality[sensor] = SensorQuality()
        at_once = water or (aboard.is_switch and quality.last != reading.value)
        judging.advance(event_ms, outcome)
        behind = event_ms < state.ticked_ms - BEHIND_MS
        state.newest[sensor] = event_ms
        if event_ms > state.now_ms:  # noqa: PLR1730 - asked for every reading, and max is a call
            state.now_ms = event_ms
        settled = assess(quality, aboard.tests, reading)
        if not settled or settled[-1] is not reading:
            self._give(aboard, reading, settled=False, at_once=at_once)
        for final in settled:
            if final.flag is Flag.PASS:
                judging.give(aboard.rules, final)
                if state.levels_before:
                    judging.put_aside.hear_level(sensor, final.event_ms, final.value, state.now_ms, outcome)
            else:
                self._give(aboard, final, settled=True, at_once=at_once)
            if final is not reading:
                outcome.settled.append(final)
        if behind and reading.flag is not Flag.FAIL:
            judging.give_late(aboard.rules, reading)
        if at_once:
            self._judge_now(aboard, outcome)

    def _fold_doubtful_water(self, aboard: "_Aboard", reading: Reading, outcome: Outcome) -> None:
        """Take water that may be old as water now, without taking it for a sign that its sensor is heard now."""
        reading.event_ms = self.state.now_ms
        self._judging.give([rule for rule in aboard.rules if rule.hears_all], reading)
        self._judge_now(aboard, outcome)

    def _fold_late(self, aboard: "_Aboard", reading: Reading) -> None:
        reading.late = True
        span = SPANS[aboard.quantity]
        if not span.low <= reading.value <= span.high:
            reading.flag = Flag.FAIL
            return
        self._judging.give_late(aboard.rules, reading)

    def _give(self, aboard: "_Aboard", reading: Reading, *, settled: bool, at_once: bool) -> None:
        believed, timely = reading.flag is Flag.PASS, settled or at_once
        rules = [r for r in aboard.rules if (timely or r.hears_at_once) and (r.hears_all or believed)]
        self._judging.give(rules, reading)

    def _judge_now(self, aboard: "_Aboard", outcome: Outcome) -> None:
        for rule in aboard.rules:
            self._judging.judge(rule, self.state.now_ms, outcome)

    def _fold_surroundings(self, change: dict[str, YardCalendar | Forecast]) -> None:
        self.state.surroundings = self.state.surroundings.model_copy(update=change)
        self._judging.judge_soon()

    def _fold_deaf(self, deaf: Deaf) -> None:
        # Told before the backlog is folded, so that the ticks of the deaf time blame no sensor for it. It moves no
        # clock: what was queued meanwhile is still to be judged at its own times.
        for rule in self.rules:
            rule.deaf(self.state.rules[rule.name], deaf.from_ms, deaf.to_ms)
            self._judging.make_due(rule)


class _Aboard:
    """A sensor of the record with all that its readings meet: its tests, its listeners, and from what on it is water.

    Attributes:
        quantity: what it measures.
        tests: its quality tests.
        rules: the rules that listen to it, in the order in which they are judged.
        is_switch: whether it has two values, and is news at once when it moves.
        water_from: the least value that says that there is water; infinite where none does.
    """

    __slots__ = ("is_switch", "quantity", "rules", "tests", "water_from")

    def __init__(self, sensor: Sensor, tests: SensorTests, rules: tuple[Rule[Any], ...], high_m: float | None) -> None:
        self.quantity, self.tests, self.rules = sensor.quantity, tests, rules
        self.is_switch = sensor.quantity.is_switch
        self.water_from = inf
        if sensor.quantity is Quantity.FLOAT_SWITCH:
            self.water_from = _LEAST_UP
        elif sensor.quantity is Quantity.LEVEL and high_m is not None:
            self.water_from = high_m


_LEAST_UP = nextafter(0.0, 1.0)
