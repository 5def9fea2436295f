"""Telling: goes through a batch in order, lets timers fire at their own times, and follows every call."""

from collections.abc import Callable, Iterable, Iterator
from heapq import merge
from itertools import groupby

from monitor.model.alert import Alert, AlertEvent
from monitor.model.batch import Batch
from monitor.model.inputs import Aboard, Clock, EndSuppression, Suppress
from monitor.model.people import ChannelKind, Ladder
from monitor.model.roster import Roster
from monitor.model.surroundings import YardCalendar
from monitor.model.vessel import Vessel
from monitor.telling import duty, events, gathering
from monitor.telling.firing import due_ms, fire
from monitor.telling.index import Index
from monitor.telling.keeping import Keeper, read_state
from monitor.telling.ladder import next_step_ms
from monitor.telling.membership import join
from monitor.telling.scene import Scene
from monitor.telling.showing import shown
from monitor.telling.standing import Standing, harm_at
from monitor.telling.state import SomebodyAboard, State
from monitor.telling.timers import Timers
from monitor.telling.times import next_at
from monitor.telling.written import Written

Item = Clock | Suppress | EndSuppression | AlertEvent
EVERY_KIND = frozenset(ChannelKind)


class Telling:
    """Plans the notices of one yard.

    Args:
        roster: everybody who may be told.
        ladder: when who is told.
        calendar: the yard's, for its time zone.
        state_text: where the last one stood, as it was put into a batch; None at the first start.
        sendable: the channels that there are senders for; what could go by others only is not planned.
    """

    def __init__(
        self,
        roster: Roster,
        ladder: Ladder,
        calendar: YardCalendar,
        state_text: str | None = None,
        *,
        sendable: frozenset[ChannelKind] = EVERY_KIND,
    ) -> None:
        self._roster, self._ladder, self._zone, self._sendable = roster, ladder, calendar.zone, sendable
        self._state = State() if state_text is None else read_state(state_text)
        self._index, self._timers = Index(self._state), Timers()
        self._keeper = Keeper()
        self._walks: dict[str, tuple[Vessel | None, object]] = {}
        self.troubles: list[str] = []  # calls that failed, for whoever made this to log
        self._changed = self._adopted = False
        self._fresh = True  # nothing is known yet of when calls are due

    def adopt(self, alerts: Iterable[Alert]) -> None:
        """Take in what is open where there is no state to go on from; what nobody has seen is told anew."""
        self._adopted = self._changed = self._fresh = True
        for alert in sorted(alerts, key=lambda one: (one.opened_ms, one.id)):
            before = self._state.alerts.get(alert.id)
            if before is not None:
                self._index.remove(before)
            if not alert.is_open:
                call = None if before is None else self._state.calls.get(before.call)
                if call is not None and not self._index.members(call):
                    self._index.close(call)
                continue
            kept = _adopted(alert, "" if before is None else before.call)
            self._index.add(kept)
            if kept.is_told:
                kept.told = not kept.wants_somebody
                join(self._index, kept, self._ladder, alert.opened_ms)
        self._index.take_left()

    def take(self, batch: Batch, record: Callable[[str], Vessel | None]) -> None:
        """Put into a batch what is to be told of it.

        Args:
            batch: what is about to be committed; its notices, calls and telling are filled.
            record: gives a vessel's valid record.
        """
        people = (self._roster, self._ladder, self._zone)
        scene = Scene(self._index, self._timers, *people, record, Written(self._sendable), self._walks)
        if self._fresh:
            self._fresh = False
            for call in self._state.calls.values():
                self._timers.put(call, due_ms(scene, call))
        for _, group in groupby(_in_order(batch), key=lambda one: one[0][0]):
            for _, at_ms, item in group:
                self._advance(scene, at_ms)
                self._take(scene, item, batch.alerts)
            # What is to be told at once goes with all that one input brought about, wherever the batch is cut.
            self._advance(scene, self._state.now_ms or 0)
        if batch.wall_ms is not None:
            self._advance(scene, batch.wall_ms)
        self._look_at_held(scene, batch)
        batch.notices += scene.written.notices
        self._hand_over(scene, batch)

    def next_told_ms(self, call: str) -> int | None:
        """Give when somebody is told of a call again if nobody has it by then (event time); None where nobody is."""
        found = self._state.calls.get(call)
        return None if found is None else next_step_ms(self._ladder, found)

    def trace(self, call: str) -> list[tuple[int, str, str, str]]:
        """Give why people were told of an open call, or not: time, who, what, reason; the latest last."""
        found = self._state.calls.get(call)
        return [] if found is None else [(t.at_ms, t.who, t.what, t.reason) for t in found.trace]

    def _take(self, scene: Scene, item: Item, alerts: dict[str, Alert]) -> None:
        if isinstance(item, AlertEvent):
            if item.alert in alerts or item.alert in self._state.alerts:
                self._changed = True
            events.take(scene, item, alerts)
        elif isinstance(item, Suppress) and item.reason is Aboard.PEOPLE:
            now_ms, aboard = self._state.now_ms or item.at_ms, self._state.aboard
            self._state.aboard = {vessel: who for vessel, who in aboard.items() if who.until_ms > now_ms}
            self._state.aboard[item.vessel] = SomebodyAboard(item.actor, item.until_ms)
            self._changed = True
        elif isinstance(item, EndSuppression) and self._state.aboard.pop(item.vessel, None) is not None:
            self._changed = True

    def _look_at_held(self, scene: Scene, batch: Batch) -> None:
        """Look again at what quiet hours hold, where harm has come closer: that alone is no event."""
        now_ms = self._state.now_ms
        if now_ms is None:
            return
        of_event = {event.alert: event.finding for _, _, event in batch.events}
        for key, alert in batch.alerts.items():
            if of_event.get(key) is alert.finding:
                continue  # it was looked at as of its own time
            kept = self._state.alerts.get(key)
            call = None if kept is None else self._state.calls.get(kept.call)
            if kept is not None and call is not None and alert.finding.harm is not None and call.held:
                with self._index.changing(kept):
                    kept.harm_ms = harm_at(alert.finding, now_ms)
                if kept.wants_somebody and not kept.told:
                    scene.timers.lower(call, gathering.told_ms(self._ladder, call, kept))
                if duty.break_hold(scene, call, kept, now_ms):
                    self._changed = True
                    scene.timers.lower(call, now_ms)
        self._advance(scene, now_ms)

    def _advance(self, scene: Scene, to_ms: int) -> None:
        """Let every timer fire that lies before a time or at it, each at its own; time never falls."""
        state = self._state
        if state.digest_ms is None:
            state.digest_ms = next_at(to_ms, self._ladder.digest_at, self._zone)
            state.digested_ms = to_ms
            self._changed = True
        if self._adopted:
            self._adopted = False
            for alert in state.alerts.values():
                if alert.wants_somebody and not alert.told:
                    alert.retry_ms = to_ms  # now that the time is known
            for call in state.calls.values():
                scene.index.touch(call)
                scene.timers.put(call, due_ms(scene, call))
        self._changed = fire(scene, to_ms, self.troubles) or self._changed
        state.now_ms = max(state.now_ms or 0, to_ms)

    def _hand_over(self, scene: Scene, batch: Batch) -> None:
        state = self._state
        ended, state.ended = state.ended, []
        for call in ended:
            batch.calls[call.id] = shown(scene, call)
        for key in scene.touched & set(state.calls):
            batch.calls[key] = shown(scene, state.calls[key])
        if self._changed:
            batch.telling = self._keeper.write(self._index)
            self._changed = False


def _adopted(alert: Alert, call: str) -> Standing:
    return Standing(
        id=alert.id,
        vessel=alert.vessel,
        rule=alert.rule,
        subject=alert.subject,
        state=alert.state,
        priority=alert.priority,
        opened_ms=alert.opened_ms,
        water=alert.finding.always_told,
        call=call,
        told=True,
        ever_told=True,
        told_at=alert.priority,
        since_ms=alert.opened_ms,
        arrived_ms=alert.opened_ms,
        seen_by=alert.has_it or alert.acknowledged_by,
        aside_by=alert.aside_by,
        aside_until_ms=alert.aside_until_ms,
    )


def _in_order(batch: Batch) -> Iterator[tuple[tuple[int, int], int, Item]]:
    """Give what telling goes by in the order of its seq and place, each with its event time."""
    inputs = (
        ((seq, -1), item.at_ms, item)
        for seq, item in batch.inputs
        if isinstance(item, (Clock, Suppress, EndSuppression))
    )
    happened = (((seq, place), event.at_ms, event) for seq, place, event in batch.events)
    yield from merge(inputs, happened, key=lambda one: one[0])
