"""Telling: goes through a batch in order, lets timers fire at their own times, and follows every call."""

from collections.abc import Callable, Iterable, Iterator
from heapq import merge
from itertools import groupby

from monitor.model.alert import Alert, AlertChange, AlertEvent
from monitor.model.batch import Batch
from monitor.model.call import Call
from monitor.model.inputs import Aboard, Clock, EndSuppression, Suppress
from monitor.model.notice import NoticeKind
from monitor.model.people import ChannelKind, Ladder
from monitor.model.roster import Roster
from monitor.model.scale import AlertState, Priority
from monitor.model.surroundings import YardCalendar
from monitor.model.vessel import Vessel
from monitor.telling import digest, duty, owners
from monitor.telling.limits import OVER_KEPT
from monitor.telling.membership import join, members
from monitor.telling.scene import Scene
from monitor.telling.state import OpenCall, SomebodyAboard, Standing, State, harm_at, read_state, write_state
from monitor.telling.times import next_at
from monitor.telling.written import Word, Written

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
        self.troubles: list[str] = []  # calls that failed, for whoever made this to log
        self._changed = self._adopted = False
        self._due_ms = self._next_due()

    def adopt(self, alerts: Iterable[Alert]) -> None:
        """Take in what is open where there is no state to go on from; what nobody has seen is told anew."""
        self._adopted = True
        for alert in sorted(alerts, key=lambda one: (one.opened_ms, one.id)):
            before = self._state.alerts.pop(alert.id, None)
            if not alert.is_open:
                call = None if before is None else self._state.calls.get(before.call)
                if call is not None and not members(self._state, call):
                    del self._state.calls[call.id]
                continue
            kept = Standing(
                id=alert.id,
                vessel=alert.vessel,
                rule=alert.rule,
                subject=alert.subject,
                state=alert.state,
                priority=alert.priority,
                opened_ms=alert.opened_ms,
                water=alert.finding.always_told,
                told=True,
                ever_told=True,
                arrived_ms=alert.opened_ms,
                seen_by=alert.has_it or alert.acknowledged_by,
                call="" if before is None else before.call,
            )
            self._state.alerts[alert.id] = kept
            if kept.is_told:
                kept.told = not kept.wants_somebody
                join(self._state, kept, self._ladder, alert.opened_ms)
        self._changed = True
        self._due_ms = self._next_due()

    def take(self, batch: Batch, record: Callable[[str], Vessel | None]) -> None:
        """Put into a batch what is to be told of it.

        Args:
            batch: what is about to be committed; its notices, calls and telling are filled.
            record: gives a vessel's valid record.
        """
        scene = Scene(self._state, self._roster, self._ladder, self._zone, record, Written(self._sendable))
        for _, group in groupby(_in_order(batch), key=lambda one: one[0][0]):
            for _, at_ms, item in group:
                self._advance(scene, at_ms)
                self._take(scene, item, batch.alerts)
            # What is to be told at once goes with all that one input brought about, wherever the batch is cut.
            self._advance(scene, self._state.now_ms or 0)
        if batch.wall_ms is not None:
            self._advance(scene, batch.wall_ms)
        self._look_at_held(scene, batch.alerts)
        batch.notices += scene.written.notices
        self._hand_over(scene, batch)

    def trace(self, call: str) -> list[tuple[int, str, str, str]]:
        """Give why people were told of an open call, or not: time, who, what, reason; the latest last."""
        found = self._state.calls.get(call)
        return [] if found is None else [(t.at_ms, t.who, t.what, t.reason) for t in found.trace]

    def _take(self, scene: Scene, item: Item, alerts: dict[str, Alert]) -> None:
        if isinstance(item, AlertEvent):
            self._event(scene, item, alerts)
        elif isinstance(item, Suppress) and item.reason is Aboard.PEOPLE:
            now_ms, aboard = self._state.now_ms or item.at_ms, self._state.aboard
            self._state.aboard = {vessel: who for vessel, who in aboard.items() if who.until_ms > now_ms}
            self._state.aboard[item.vessel] = SomebodyAboard(item.actor, item.until_ms)
            self._changed = True
        elif isinstance(item, EndSuppression) and self._state.aboard.pop(item.vessel, None) is not None:
            self._changed = True

    def _look_at_held(self, scene: Scene, alerts: dict[str, Alert]) -> None:
        """Look again at what quiet hours hold, where harm has come closer: that alone is no event."""
        now_ms = self._state.now_ms
        for key, alert in alerts.items():
            kept = self._state.alerts.get(key)
            call = None if kept is None else self._state.calls.get(kept.call)
            if now_ms is None or kept is None or call is None or alert.finding.harm is None or not call.held:
                continue
            kept.harm_ms = harm_at(alert.finding, now_ms)
            if duty.break_hold(scene, call, now_ms):
                self._changed = True
                self._due_ms = self._next_due()
                self._advance(scene, now_ms)

    def _advance(self, scene: Scene, to_ms: int) -> None:
        """Let every timer fire that lies before a time or at it, each at its own; time never falls."""
        state = self._state
        if state.digest_ms is None:
            state.digest_ms = next_at(to_ms, self._ladder.digest_at, self._zone)
            state.digested_ms = to_ms
            self._changed = True
            self._due_ms = self._next_due()
        if self._adopted:
            self._adopted = False
            for call in state.calls.values():
                duty.plan(scene, call, to_ms)  # now that the time is known
            self._due_ms = self._next_due()
        while self._due_ms is not None and self._due_ms <= to_ms:
            state.now_ms = max(state.now_ms or 0, self._due_ms)
            self._fire(scene, self._due_ms)
            self._changed = True
            self._due_ms = self._next_due()
        state.now_ms = max(state.now_ms or 0, to_ms)

    def _fire(self, scene: Scene, now_ms: int) -> None:
        state = self._state
        if state.digest_ms is not None and state.digest_ms <= now_ms:
            try:
                digest.tell(scene, now_ms)
            except Exception as error:  # noqa: BLE001 - as below: a list that can wait must not keep an alarm
                self.troubles.append(f"the daily list: {error!r}")
            state.digested_ms, state.digest_ms = now_ms, next_at(now_ms, self._ladder.digest_at, self._zone)
        for alert in state.alerts.values():
            if alert.rings_ms is not None and alert.rings_ms <= now_ms:
                alert.rings_ms, alert.rings = None, True
                call = state.calls[alert.call]
                # Where the ladder is being climbed everybody is told again and again as it is.
                if alert.wants_somebody and call.climb_ms is None:
                    alert.told, alert.arrived_ms = False, now_ms
                    duty.plan(scene, call, now_ms)
        for call in list(state.calls.values()):
            try:
                self._fire_call(scene, call, now_ms)
            except Exception as error:  # noqa: BLE001 - one call that fails must not keep the others; whoever asks is told
                self.troubles.append(f"{call.kind} {call.about}: {error!r}")
                duty.try_later(scene, call, now_ms)

    def _fire_call(self, scene: Scene, call: OpenCall, now_ms: int) -> None:
        due_ms = _call_due(self._ladder, call)
        if due_ms is None or due_ms > now_ms:
            return
        scene.touched.add(call.id)
        if call.due_ms is not None and call.due_ms <= now_ms:
            duty.tell(scene, call, now_ms)
            owners.expect(scene, call, now_ms)
        duty.release(scene, call, now_ms)
        step_ms = duty.next_step_ms(self._ladder, call)
        if step_ms is not None and step_ms <= now_ms:
            duty.climb(scene, call, now_ms)
        owners.due(scene, call, now_ms)
        if call.over_ms is not None and call.over_ms <= now_ms:
            self._over(scene, call, now_ms)

    def _event(self, scene: Scene, event: AlertEvent, alerts: dict[str, Alert]) -> None:
        state, now_ms = self._state, self._state.now_ms or event.at_ms
        kept = state.alerts.get(event.alert)
        if kept is None:
            if event.state is AlertState.NORMAL:
                return
            about = alerts[event.alert]
            names = (about.id, about.vessel, about.rule, about.subject)
            kept = state.alerts[event.alert] = Standing(*names, event.state, event.priority, event.at_ms)
        was_told, was = kept.is_told, kept.priority
        kept.state, kept.priority = event.state, event.priority
        if event.finding is not None:
            kept.harm_ms = harm_at(event.finding, event.at_ms)
            kept.water = event.finding.always_told
        self._changed = True
        news = event.change in _NEWS or not was_told or kept.priority > was
        if kept.is_told and news and kept.state is AlertState.UNACKNOWLEDGED:
            kept.told, kept.arrived_ms, kept.rings, kept.rings_ms = False, now_ms, False, None
            join(state, kept, self._ladder, now_ms)
        if not kept.wants_somebody:
            kept.rings_ms = None
        if event.change in _TAKEN:
            kept.seen_by = event.actor
        call = state.calls.get(kept.call)
        if event.state is AlertState.NORMAL:
            del state.alerts[event.alert]
            self._remember(call, kept)
        if call is not None:
            self._follow(scene, call, now_ms)
        self._due_ms = self._next_due()

    def _remember(self, call: OpenCall | None, ended: Standing) -> None:
        """Keep of an alert that has ended what its call's last word needs, where anybody was told of it."""
        if call is None or not ended.ever_told:
            return
        for forgotten in call.over[: 1 - OVER_KEPT]:
            self._state.vessel_of.pop(forgotten, None)
        call.over = [*call.over[1 - OVER_KEPT :], ended.id]
        self._state.vessel_of[ended.id] = ended.vessel

    def _follow(self, scene: Scene, call: OpenCall, now_ms: int) -> None:
        """Bring a call to what its alerts have come to."""
        scene.touched.add(call.id)
        mine = members(self._state, call)
        standing, wanting = [a for a in mine if a.is_told], any(a.wants_somebody for a in mine)
        if wanting:
            call.accepted_ms = call.accepted_by = None
        elif standing and call.accepted_ms is None:
            call.accepted_ms, call.accepted_by = now_ms, next((a.seen_by for a in standing if a.seen_by), None)
            call.climb_ms = None
            call.held.clear()
            owners.accepted(scene, call, now_ms)
        if not wanting:
            call.climb_ms = None
        duty.plan(scene, call, now_ms)
        if any(alert.in_force for alert in mine):
            call.over_ms = None
        elif call.over_ms is None:
            call.over_ms = now_ms + duty.ms(self._ladder.gather_min)

    def _over(self, scene: Scene, call: OpenCall, now_ms: int) -> None:
        """Tell that nothing of a call stands any more, and let go of it once all of it has ended."""
        open_still = members(self._state, call)
        latched = any(alert.state is AlertState.LATCHED for alert in open_still)
        told = scene.ranked([alert for alert in open_still if alert.ever_told]) or tuple(call.over)
        why = "nothing of it stands"
        if any(alert.state.is_aside for alert in open_still):
            why = "what is left of it was put aside"
        elif latched:
            why = "it has cleared, and waits for somebody to go aboard and say so"
        if told:
            vessel = None if call.is_fleet else call.about
            word = Word(NoticeKind.OVER, told, now_ms, f"you were told of it: {why}", vessel=vessel)
            scene.written.tell_readers(call, word, lambda reader: not reader.owner and not reader.over)
            owners.over(scene, call, now_ms)
        call.over_ms = None
        if not open_still:
            del self._state.calls[call.id]
            call.ended_ms = now_ms
            self._state.ended.append(call)
            for key in call.over:
                self._state.vessel_of.pop(key, None)

    def _hand_over(self, scene: Scene, batch: Batch) -> None:
        state = self._state
        ended, state.ended = state.ended, []
        for call in ended:
            batch.calls[call.id] = self._shown(scene, call)
        for key in scene.touched & set(state.calls):
            batch.calls[key] = self._shown(scene, state.calls[key])
        if self._changed:
            batch.telling = write_state(state)
            self._changed = False

    def _shown(self, scene: Scene, call: OpenCall) -> Call:
        alerts = members(self._state, call)
        ranked = scene.ranked(alerts)
        by_id = {alert.id: alert for alert in alerts}
        return Call(
            id=call.id,
            kind=call.kind,
            about=call.about,
            opened_ms=call.opened_ms,
            priority=max((Priority(a.priority) for a in alerts if a.in_force), default=None),
            alerts=ranked,
            vessels=tuple(dict.fromkeys(by_id[key].vessel for key in ranked)),
            ended_ms=call.ended_ms,
            accepted_ms=call.accepted_ms,
            accepted_by=call.accepted_by,
            rung=call.rung,
        )

    def _next_due(self) -> int | None:
        state = self._state
        times = [state.digest_ms]
        times += [alert.rings_ms for alert in state.alerts.values()]
        times += [_call_due(self._ladder, call) for call in state.calls.values()]
        return min((at_ms for at_ms in times if at_ms is not None), default=None)


def _call_due(ladder: Ladder, call: OpenCall) -> int | None:
    """Give when something of a call is next due, None where nothing is."""
    times = [call.due_ms, call.over_ms, duty.next_step_ms(ladder, call), *call.held.values()]
    times += [owner.due_ms for owner in call.owners.values()]
    return min((at_ms for at_ms in times if at_ms is not None), default=None)


_TAKEN = frozenset({AlertChange.ACKNOWLEDGED, AlertChange.CONFIRMED, AlertChange.ACCEPTED})
_NEWS = frozenset({AlertChange.OPENED, AlertChange.REOPENED, AlertChange.BACK})


def _in_order(batch: Batch) -> Iterator[tuple[tuple[int, int], int, Item]]:
    """Give what telling goes by in the order of its seq and place, each with its event time."""
    inputs = (
        ((seq, -1), item.at_ms, item)
        for seq, item in batch.inputs
        if isinstance(item, (Clock, Suppress, EndSuppression))
    )
    events = (((seq, place), event.at_ms, event) for seq, place, event in batch.events)
    yield from merge(inputs, events, key=lambda one: one[0])
