"""When rules are judged, and what becomes of what they say: ticks, delays, alerts, consequences, and rules that fail.

Ticks fall on whole event-time minutes and are made before the first input past them. A tick at which no rule could
answer otherwise is skipped: a rule is judged at the first tick after it was given something that may change what it
says, and at the time it named itself. A rule that raises an error is an error of ours and no reason to leave a yard
unwatched: the input that it fell over is passed by, the others go on, and an alert says that she is not wholly watched.
"""

from collections.abc import Iterator, Sequence
from typing import Any

from monitor.alerting import Track, follow, next_change, settle
from monitor.model.alert import Alert
from monitor.model.finding import Figure, Finding
from monitor.model.reading import Reading
from monitor.model.scale import Priority, Sure
from monitor.rules.rule import DAY_MS, MINUTE_MS, Changes, Rule, earliest
from monitor.watch_state import Outcome, Stumble, WatchState

AnyRule = Rule[Any]

OWN = "watch"
"""The name under which the watch itself speaks, as rules do under theirs."""

STUMBLE_STANDS_MS = DAY_MS
_NOTHING, _WHAT_IS_SAID = Changes.NOTHING, Changes.WHAT_IS_SAID


class Judging:
    """The rules over one vessel, their times, and the alerts that come of their findings."""

    def __init__(self, state: WatchState, vessel: str, rules: Sequence[AnyRule]) -> None:
        self.rules = tuple(rules)
        self._state = state
        self._vessel = vessel
        self._names = {rule.name for rule in rules}
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
        state, due = self._state, self._due_ms
        while due is not None and due < to_ms:
            for rule in self.rules:
                if state.due.get(rule.name) == due:
                    self.judge(rule, due, outcome)
            due = self._due_ms
        state.ticked_ms = max(state.ticked_ms, (to_ms - 1) // MINUTE_MS * MINUTE_MS)

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
                changes += [self._follow(name, s, said.get(s), now_ms, outcome) for s in [*said, *gone]]
        if state.stumbles or state.tracks.get(OWN):
            changes.append(self._follow(OWN, name, self._own_word(rule, now_ms), now_ms, outcome))
            stumble = state.stumbles.get(name)
            changes.append(None if stumble is None else stumble.at_ms + STUMBLE_STANDS_MS)
        due = earliest(changes)
        state.due[name] = None if due is None else self._next_tick(max(due, now_ms + 1))
        self._due_ms = self._earliest_due()
        if self._is_quiet(name):
            self._quiet.add(name)
        else:
            self._quiet.discard(name)

    def tracks(self) -> Iterator[Track]:
        """Give every track."""
        for tracks in self._state.tracks.values():
            yield from tracks.values()

    def open_alerts(self) -> list[Alert]:
        """Give the open alerts, in the order their keys were first found."""
        return [track.alert for track in self.tracks() if track.alert is not None]

    def _follow(self, rule: str, subject: str, finding: Finding | None, now_ms: int, outcome: Outcome) -> int | None:
        """Take a subject's finding into its delays and its alert; say when the delays next change something."""
        tracks = self._state.tracks.setdefault(rule, {})
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
        if alert is None and self._is_covered(f"{rule}/{subject}", track.standing):
            return next_change(track)  # a consequence of what is told already
        events = settle(track, self._vessel, rule, subject, now_ms)
        alert = track.alert or alert
        if alert is not None and (events or alert.finding != before):
            outcome.alerts[alert.id] = alert
        outcome.events += events
        if track.alert is None and track.standing is None and not track.rising:
            del tracks[subject]
        return next_change(track)

    def _is_covered(self, key: str, standing: Priority | None) -> bool:
        """Say whether a finding is told by another's alert: one that is worse than its cover is not."""
        return standing is not None and any(
            track.standing is not None and track.standing >= standing and key in _standing_covers(track)
            for track in self.tracks()
        )

    def _uncover(self, keys: set[str]) -> None:
        """Have the rules judged again whose findings are no longer somebody else's consequences."""
        freed = {key.partition("/")[0] for key in keys}
        for rule in self.rules:
            if rule.name in freed:
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
                self._follow(name, subject, None, state.now_ms, outcome)
            if not state.tracks[name]:
                del state.tracks[name]
        self._has_strays = self._find_strays()

    def _stumble(self, rule: AnyRule, error: Exception, at_ms: int) -> None:
        self._state.stumbles[rule.name] = Stumble(at_ms, f"{type(error).__name__}: {error}"[:200])

    def _own_word(self, rule: AnyRule, now_ms: int) -> Finding | None:
        stumble = self._state.stumbles.get(rule.name)
        if stumble is None:
            return None
        if now_ms - stumble.at_ms >= STUMBLE_STANDS_MS:
            del self._state.stumbles[rule.name]
            return None
        return Finding(
            rule=OWN,
            subject=rule.name,
            kind="stumbled",
            priority=Priority.WARNING,
            figure=Figure(None, None, ""),
            harm=None,
            sure=Sure.CERTAIN,
            causes=("own_error", "odd_reading"),
            first=("look_aboard", "report_error"),
            never=(),
            facts={"rule": rule.name, "what": stumble.what, "at_ms": stumble.at_ms},
        )

    def _next_tick(self, at_ms: int) -> int:
        return max(-(-at_ms // MINUTE_MS) * MINUTE_MS, self._state.ticked_ms + MINUTE_MS)

    def _earliest_due(self) -> int | None:
        return earliest([self._state.due.get(name) for name in self._names])


def _standing_covers(track: Track) -> set[str]:
    """Give the keys that a track's finding takes under it while it stands."""
    return set() if track.standing is None or track.finding is None else set(track.finding.covers)
