"""When rules are judged, and what becomes of what they say: ticks, delays, alerts, consequences, and rules that fail.

Ticks fall on whole event-time minutes and are made before the first input past them. A tick at which no rule could
answer otherwise is skipped: a rule is judged at the first tick after it was given something that may change what it
says, and at the time it named itself. A rule that raises an error is an error of ours and no reason to leave a yard
unwatched: the input that it fell over is passed by, the others go on, and an alert says that she is not wholly watched.
"""

from collections.abc import Sequence
from typing import Any

from monitor.judging.alerts import Alerts
from monitor.judging.own_word import OWN, STUMBLE_STANDS_MS, stumbled
from monitor.judging.put_aside import PutAside
from monitor.model.finding import Finding
from monitor.model.inputs import VisitReport
from monitor.model.reading import Reading
from monitor.model.scale import Sure
from monitor.model.vessel import Vessel
from monitor.rules.rule import MINUTE_MS, Changes, Rule, earliest
from monitor.watch_state import Outcome, Stumble, WatchState

AnyRule = Rule[Any]

_NOTHING, _WHAT_IS_SAID = Changes.NOTHING, Changes.WHAT_IS_SAID


class Judging:
    """The rules over one vessel, their times, and the alerts that come of their findings.

    Attributes:
        rules: the rules, in the order in which they are judged.
        alerts: what came of their findings.
        put_aside: what people have put aside of that.
    """

    def __init__(self, state: WatchState, record: Vessel, rules: Sequence[AnyRule]) -> None:
        self.rules = tuple(rules)
        self._state = state
        self._names = {rule.name for rule in rules}
        self.alerts = Alerts(state, record.id, self._free)
        self.put_aside = PutAside(state, record, self.alerts)
        self._due_ms = self._earliest_due()
        self._quiet = {name for name in self._names if self._is_quiet(name)}
        self._has_strays = self._find_strays()
        self._advanced_ms: int | None = None
        for rule in rules:
            rule.surroundings = state.surroundings

    def judge_soon(self) -> None:
        """Have every rule judged at the next tick, by what is known of the yard now."""
        self._has_strays = self._find_strays()
        for rule in self.rules:
            rule.surroundings = self._state.surroundings
            self.make_due(rule)

    def give(self, rules: Sequence[AnyRule], reading: Reading) -> None:
        """Give rules a reading; those are judged at the next tick whose word it may change."""
        states, quiet = self._state.rules, self._quiet
        for rule in rules:
            name = rule.name
            try:
                changes = rule.see(states[name], reading)
            except Exception as error:  # noqa: BLE001 - whatever it was, the yard stays watched and the alert says so
                self._stumble(rule, error, self._state.now_ms)
                changes = None
            if changes is _NOTHING or (changes is _WHAT_IS_SAID and name in quiet):
                continue
            self.make_due(rule)

    def give_late(self, rules: Sequence[AnyRule], reading: Reading) -> None:
        """Give rules a reading that came after a newer one of its sensor."""
        for rule in rules:
            try:
                rule.see_late(self._state.rules[rule.name], reading)
            except Exception as error:  # noqa: BLE001 - as in give
                self._stumble(rule, error, self._state.now_ms)
            self.make_due(rule)

    def advance(self, to_ms: int, outcome: Outcome) -> None:
        """Make every tick before ``to_ms`` at which a rule is due."""
        if self._has_strays:
            self._retire(outcome)
        elif to_ms == self._advanced_ms:
            return  # the readings of one pack: what they made due lies past them
        self._advanced_ms = to_ms
        state, due = self._state, self._due_ms if self.put_aside.due_ms is None else self._next_due()
        while due is not None and due < to_ms:
            if self.put_aside.due_ms == due:
                state.ticked_ms = max(state.ticked_ms, due)
                self.put_aside.look(due, outcome)
            for rule in self.rules:
                if state.due.get(rule.name) == due:
                    self.judge(rule, due, outcome)
            due = self._next_due()
        ticked_ms = (to_ms - 1) // MINUTE_MS * MINUTE_MS
        if ticked_ms > state.ticked_ms:  # noqa: PLR1730 - asked for every reading, and max is a call
            state.ticked_ms = ticked_ms

    def visited(self, report: VisitReport) -> None:
        """Tell the rules that somebody was aboard."""
        for rule in self.rules:
            try:
                rule.visited(self._state.rules[rule.name], report.at_ms, report.visit)
            except Exception as error:  # noqa: BLE001 - as in give
                self._stumble(rule, error, self._state.now_ms)
            self.make_due(rule)

    def make_due(self, rule: AnyRule) -> None:
        """Have a rule judged at the next tick."""
        due = self._next_tick(self._state.now_ms)
        known = self._state.due.get(rule.name)
        if known is None or due < known:
            self._state.due[rule.name] = due
            if self._due_ms is None or due < self._due_ms:
                self._due_ms = due

    def judge(self, rule: AnyRule, now_ms: int, outcome: Outcome) -> None:
        """Judge a rule now, and follow what it says and what it no longer says."""
        state, name = self._state, rule.name
        state.ticked_ms = max(state.ticked_ms, now_ms // MINUTE_MS * MINUTE_MS)
        rule_state = state.rules[name]
        changes: list[int | None] = []
        try:
            findings = rule.judge(rule_state, now_ms)
            changes.append(rule.next_look(rule_state, now_ms))
        except Exception as error:  # noqa: BLE001 - as in give
            self._stumble(rule, error, now_ms)
        else:
            unknown = [f for f in findings if f.sure is Sure.NOT_KNOWN]
            if unknown != state.unknown.get(name, []):
                outcome.unknown = True
            state.unknown[name] = unknown
            tracks = state.tracks.setdefault(name, {})
            if findings or tracks:
                said = {f.subject: f for f in findings}
                gone = [subject for subject in tracks if subject not in said]
                changes += [self.alerts.follow(name, s, said.get(s), now_ms, outcome) for s in [*said, *gone]]
        if state.stumbles or state.tracks.get(OWN):
            changes.append(self.alerts.follow(OWN, name, self._own_word(name, now_ms), now_ms, outcome))
            stumble = state.stumbles.get(name)
            changes.append(None if stumble is None else stumble.at_ms + STUMBLE_STANDS_MS)
        due = earliest(changes)
        state.due[name] = None if due is None else self._next_tick(max(due, now_ms + 1))
        self._due_ms = self._earliest_due()
        if self._is_quiet(name):
            self._quiet.add(name)
        else:
            self._quiet.discard(name)

    def _free(self, names: set[str]) -> None:
        """Have the rules judged again whose findings are no longer somebody else's consequences."""
        for rule in self.rules:
            if rule.name in names:
                self.make_due(rule)

    def _is_quiet(self, name: str) -> bool:
        """Say whether a rule last said nothing at all: by the state alone, so that a start changes nothing."""
        state = self._state
        if state.unknown.get(name) or name in state.stumbles:
            return False
        return all(track.finding is None for track in state.tracks.get(name, {}).values())

    def _find_strays(self) -> bool:
        return any(name not in self._names and name != OWN for name in self._state.tracks)

    def _retire(self, outcome: Outcome) -> None:
        """Let go of what rules left behind that this program no longer has."""
        state = self._state
        for name in [name for name in state.tracks if name not in self._names and name != OWN]:
            for subject, track in list(state.tracks[name].items()):
                track.off_delay_ms = 0
                self.alerts.follow(name, subject, None, state.now_ms, outcome)
            if not state.tracks[name]:
                del state.tracks[name]
        self._has_strays = self._find_strays()

    def _stumble(self, rule: AnyRule, error: Exception, at_ms: int) -> None:
        self._state.stumbles[rule.name] = Stumble(at_ms, f"{type(error).__name__}: {error}"[:200])

    def _own_word(self, name: str, now_ms: int) -> Finding | None:
        """Give the watch's own word on a rule, or on the bilge of the same name: water comes first."""
        stumble = self._state.stumbles.get(name)
        if stumble is not None and now_ms - stumble.at_ms >= STUMBLE_STANDS_MS:
            del self._state.stumbles[name]
            stumble = None
        return self.put_aside.own_word(name) or (None if stumble is None else stumbled(name, stumble))

    def _next_tick(self, at_ms: int) -> int:
        tick_ms, next_ms = -(-at_ms // MINUTE_MS) * MINUTE_MS, self._state.ticked_ms + MINUTE_MS
        return tick_ms if tick_ms > next_ms else next_ms  # noqa: FURB136 - asked for most readings

    def _earliest_due(self) -> int | None:
        due = self._state.due
        times = [due[name] for name in self._names if name in due]
        return min([time for time in times if time is not None], default=None)

    def _next_due(self) -> int | None:
        back_ms = self.put_aside.due_ms
        return self._due_ms if back_ms is None else earliest([self._due_ms, back_ms])
