"""What people do: with one alert, or aboard so that all of the vessel's are put aside; and how that ends by itself."""

from monitor.alerting import BY_WATCH, Doer, act, come_back, refusal, refused_end, suppress
from monitor.judging.alerts import Alerts
from monitor.judging.own_word import LIMITS, OWN, risen_aboard
from monitor.model.finding import Finding
from monitor.model.inputs import AlertCommand, Confirm, EndSuppression, Suppress
from monitor.model.scale import AlertState
from monitor.model.vessel import Vessel
from monitor.rules.rule import MINUTE_MS, earliest
from monitor.watch_state import LevelBefore, Outcome, Suppression, WatchState


class PutAside:
    """What is put aside of one vessel, by whom and until when.

    Attributes:
        due_ms: the whole minute at which something comes back by itself, None where nothing does.
    """

    def __init__(self, state: WatchState, record: Vessel, alerts: Alerts) -> None:
        self._state = state
        self._alerts = alerts
        self._bilges = {bilge.id: bilge for bilge in record.bilges}
        self.due_ms = self._find_due()

    def refusal(self, command: AlertCommand | Suppress | EndSuppression) -> str:
        """Say in words why this cannot be done now; empty where it can."""
        now_ms = max(self._state.now_ms, command.at_ms)
        if isinstance(command, EndSuppression):
            return "" if self._state.suppression is not None else "nothing is said to be done aboard now"
        if isinstance(command, Suppress):
            if not command.actor.strip():
                return "nobody is named who does it: give a name"
            return refused_end(command.until_ms, now_ms, "suppress_most")
        alert = next((a for a in self._alerts.open_alerts() if a.id == command.alert), None)
        if alert is None:
            return f"no open alert {command.alert!r} on {command.vessel}: it has ended, or never was"
        return refusal(alert, command, now_ms)

    def do(self, command: AlertCommand | Suppress | EndSuppression, outcome: Outcome) -> None:
        """Do what somebody asked for. What is refused does nothing, so that folding it again cannot fail either."""
        if self.refusal(command):
            return
        now_ms = max(self._state.now_ms, command.at_ms)
        if isinstance(command, Suppress):
            self._suppress(command, now_ms, outcome)
        elif isinstance(command, EndSuppression):
            self._end(now_ms, Doer(command.actor), outcome)
        else:
            self._act(command, now_ms, outcome)
        self.due_ms = self._find_due()

    def look(self, now_ms: int, outcome: Outcome) -> None:
        """Bring back what comes back by itself by now."""
        suppression = self._state.suppression
        if suppression is not None and suppression.until_ms <= now_ms:
            self._end(now_ms, BY_WATCH, outcome)
        for track in self._alerts.tracks():
            alert = track.alert
            if alert is None or alert.state is not AlertState.SHELVED or (alert.aside_until_ms or 0) > now_ms:
                continue
            outcome.events.append(come_back(track, alert, now_ms, self._alerts.aside))
            outcome.alerts[alert.id] = alert
        self.due_ms = self._find_due()

    def hear_level(self, sensor: str, at_ms: int, level_m: float, now_ms: int, outcome: Outcome) -> None:
        """Hold a believed level against the one before something was done aboard.

        Args:
            sensor: the level's sensor.
            at_ms: event time of the level.
            level_m: the level, m.
            now_ms: event time now.
            outcome: what it brings about.
        """
        for bilge, before in list(self._state.levels_before.items()):
            if bilge in self._bilges and self._bilges[bilge].level_sensor == sensor:
                self._compare(bilge, before, at_ms, level_m)
                self._say(bilge, now_ms, outcome)

    def own_word(self, bilge: str) -> Finding | None:
        """Say that there is more water in a bilge than before, None where there is not."""
        before = self._state.levels_before.get(bilge)
        if before is None or before.found_m is None or bilge not in self._bilges:
            return None
        return risen_aboard(self._bilges[bilge], before, before.found_m)

    def forget_gone(self, outcome: Outcome) -> None:
        """Let go of bilges that the record no longer has."""
        for bilge in [bilge for bilge in self._state.levels_before if bilge not in self._bilges]:
            del self._state.levels_before[bilge]
            self._say(bilge, self._state.now_ms, outcome)

    def _act(self, command: AlertCommand, now_ms: int, outcome: Outcome) -> None:
        for track in list(self._alerts.tracks()):
            alert = track.alert
            if alert is None or alert.id != command.alert:
                continue
            outcome.events += act(track, command, now_ms, self._alerts.aside)
            outcome.alerts[alert.id] = alert
            if isinstance(command, Confirm) and alert.rule == OWN and alert.subject in self._state.levels_before:
                # Somebody has looked into that bilge: it is held against nothing any more.
                del self._state.levels_before[alert.subject]
                self._say(alert.subject, now_ms, outcome)

    def _suppress(self, command: Suppress, now_ms: int, outcome: Outcome) -> None:
        before = self._state.suppression
        made = Suppression(command.reason, command.actor, now_ms, command.until_ms, command.note)
        if before is None:
            made.levels_m = self._levels_m()
        else:
            made.since_ms, made.levels_m = before.since_ms, before.levels_m
        self._state.suppression = made
        for track in self._alerts.tracks():
            events = suppress(track, made.aside, now_ms)
            if track.alert is not None and events:
                outcome.events += events
                outcome.alerts[track.alert.id] = track.alert

    def _end(self, now_ms: int, doer: Doer, outcome: Outcome) -> None:
        suppression = self._state.suppression
        self._state.suppression = None
        for track in self._alerts.tracks():
            alert = track.alert
            if alert is not None and alert.state is AlertState.SUPPRESSED:
                outcome.events.append(come_back(track, alert, now_ms, None, doer))
                outcome.alerts[alert.id] = alert
        if suppression is None:
            return
        now_m = self._levels_m()
        for bilge, level_m in suppression.levels_m.items():
            if bilge not in self._bilges:
                continue
            kept = self._state.levels_before
            before = kept.setdefault(bilge, LevelBefore(level_m, suppression.since_ms, now_ms))
            before.until_ms = now_ms
            if bilge in now_m:
                # A level heard since it ended is still waited for: what stands there now may not have been heard yet.
                self._compare(bilge, before, now_ms - 1, now_m[bilge])
            self._say(bilge, now_ms, outcome)

    def _compare(self, bilge: str, before: LevelBefore, at_ms: int, level_m: float) -> None:
        risen_m = level_m - before.level_m
        if before.found_m is None and risen_m < LIMITS["risen"]:
            if at_ms >= before.until_ms:
                del self._state.levels_before[bilge]
        elif before.found_m is not None and risen_m <= LIMITS["back"]:
            del self._state.levels_before[bilge]
        else:
            before.found_m, before.found_ms = level_m, at_ms

    def _say(self, bilge: str, now_ms: int, outcome: Outcome) -> None:
        if self.own_word(bilge) is not None or bilge in self._state.tracks.get(OWN, {}):
            self._alerts.follow(OWN, bilge, self.own_word(bilge), now_ms, outcome)

    def _levels_m(self) -> dict[str, float]:
        """Give the level last believed in each bilge."""
        sensors = {bilge.id: bilge.level_sensor for bilge in self._bilges.values()}
        quality = self._state.quality
        believed = {b: quality[s].believed for b, s in sensors.items() if s is not None and s in quality}
        return {bilge: level_m for bilge, level_m in believed.items() if level_m is not None}

    def _find_due(self) -> int | None:
        suppression = self._state.suppression
        ends = [a.aside_until_ms for a in self._alerts.open_alerts() if a.state is AlertState.SHELVED]
        due = earliest([*ends, None if suppression is None else suppression.until_ms])
        return None if due is None else -(-due // MINUTE_MS) * MINUTE_MS
