"""The yard's duty is told: at once or gathered, held through quiet hours, and up the ladder where nobody answers."""

from collections.abc import Iterator
from itertools import chain

from monitor.model.notice import NoticeKind
from monitor.model.people import Ladder, YardPerson
from monitor.model.roster import address_key, channels
from monitor.model.scale import Priority
from monitor.model.surroundings import HOUR_MS
from monitor.telling.limits import FLEET_WORSE_EVERY, MINUTE_MS
from monitor.telling.scene import Scene
from monitor.telling.state import OpenCall, Standing
from monitor.telling.times import awake_for
from monitor.telling.written import Word

SECOND, MANAGER = 2, 3


def ms(minutes: float) -> int:
    """Give minutes in milliseconds."""
    return round(minutes * MINUTE_MS)


def rings(alert: Standing) -> bool:
    """Say whether an alert wakes who sleeps."""
    return alert.rings or alert.priority is Priority.ALARM


def plan(scene: Scene, call: OpenCall, now_ms: int) -> None:
    """Say when duty is told of what it was not told of yet."""
    untold = [alert for alert in scene.wanting(call) if not alert.told]
    if not untold:
        call.due_ms = None
        return
    times = []
    for alert in untold:
        arrived_ms = now_ms if alert.arrived_ms is None else alert.arrived_ms
        at_ms = arrived_ms if rings(alert) else arrived_ms + ms(scene.ladder.gather_min)
        # A boat that joins a fleet event is no new event; but water waits for nobody, nor does what is to ring first.
        joins = call.is_fleet and not alert.water and (call.climbed or not rings(alert))
        if joins and call.told_ms is not None:
            at_ms = max(at_ms, call.told_ms + FLEET_WORSE_EVERY * ms(scene.ladder.gather_min))
        times.append(at_ms)
    call.due_ms = max(min(times), now_ms)


def tell(scene: Scene, call: OpenCall, now_ms: int) -> None:
    """Tell duty what it was not told of yet."""
    call.due_ms = None
    untold = [alert for alert in scene.wanting(call) if not alert.told]
    if not untold:
        return
    ring = any(rings(alert) for alert in untold)
    but: set[str] = set()
    told = False
    for person, why in _first(scene, call, now_ms, ring=ring):
        held_ms = None if ring else _held_until(scene, person, untold, now_ms)
        if held_ms is not None:
            call.held[person.id] = held_ms
            call.note(now_ms, person.name, "held", "a warning waits for the end of their quiet hours: there is time")
            continue
        call.held.pop(person.id, None)
        told = _tell_one(scene, call, person, why, now_ms, but) or told
    if not told and not call.held:
        told = _tell_next(scene, call, now_ms, but)
    if not told and not call.held:
        # Nobody could be told: nobody has the duty, or no channel of theirs can be sent by. It stays to be told.
        call.due_ms = now_ms + ms(scene.ladder.repeat_min)
    for alert in untold:
        alert.told = told or bool(call.held)
        alert.ever_told = alert.ever_told or alert.told
        if not alert.rings and alert.priority is Priority.WARNING and alert.rings_ms is None:
            alert.rings_ms = _rings_at(scene, now_ms)
    if told:
        call.told_ms = now_ms
    if ring and not (call.is_fleet and next_step_ms(scene.ladder, call) is not None):
        # A boat that joins a fleet event that is being climbed begins no new climb.
        _begin_climb(call, now_ms)
    call.rung = max(call.rung, 1)


def release(scene: Scene, call: OpenCall, now_ms: int) -> None:
    """Tell those whose quiet hours are over what was held for them, where it still wants somebody."""
    for person_id in [who for who, until_ms in call.held.items() if until_ms <= now_ms]:
        del call.held[person_id]
        person = scene.roster.person(person_id)
        if person is None:
            call.note(now_ms, person_id, "dropped", "they are nobody in the settings any more")
        elif not scene.wanting(call):
            call.note(now_ms, person.name, "dropped", "nothing of it waits for somebody any more")
        elif _tell_one(scene, call, person, "you have the duty, and it waits no longer", now_ms, set()):
            call.told_ms = now_ms


def try_later(scene: Scene, call: OpenCall, now_ms: int) -> None:
    """Put off what failed at a call by an error of ours; whoever is next is told by the ladder meanwhile."""
    later_ms = now_ms + ms(scene.ladder.repeat_min)
    call.held.clear()
    call.over_ms = None if call.over_ms is None else later_ms
    for owner in call.owners.values():
        owner.due_ms = None if owner.due_ms is None else later_ms
    if not scene.wanting(call):
        call.due_ms = call.climb_ms = None
        return
    call.due_ms = later_ms
    if call.climb_ms is None:
        _begin_climb(call, now_ms)
    elif (next_step_ms(scene.ladder, call) or later_ms) <= now_ms:
        call.climb_ms = now_ms


def _begin_climb(call: OpenCall, now_ms: int) -> None:
    call.climb_ms, call.climbed, call.rung, call.agains = now_ms, True, 1, 0


def break_hold(scene: Scene, call: OpenCall, now_ms: int) -> bool:
    """Let go of what quiet hours hold where there is no time any more to wait for their end; say whether it was so."""
    wanting = scene.wanting(call)
    broken = False
    for person_id in list(call.held):
        person = scene.roster.person(person_id)
        if person is not None and _held_until(scene, person, wanting, now_ms) is None:
            call.held[person_id], broken = now_ms, True
    return broken


def next_step_ms(ladder: Ladder, call: OpenCall) -> int | None:
    """Give when the ladder climbs on, None where it stands."""
    if call.climb_ms is None:
        return None
    if call.rung < SECOND:
        return call.climb_ms + ms(ladder.second_after_min)
    if call.rung < MANAGER:
        return call.climb_ms + ms(ladder.manager_after_min)
    if call.agains >= ladder.repeat_at_most:
        return None
    return call.climb_ms + ms(ladder.manager_after_min) + (call.agains + 1) * ms(ladder.repeat_min)


def climb(scene: Scene, call: OpenCall, now_ms: int) -> None:
    """Climb on: nobody has it, and somebody more is told."""
    wanting = scene.wanting(call)
    if not wanting:
        call.climb_ms = None
        return
    alerts, vessel = scene.ranked(scene.standing(call)), _vessel(call)
    waited = round((now_ms - (call.climb_ms or now_ms)) / MINUTE_MS)
    if call.rung < MANAGER:
        call.rung += 1
        second = call.rung == SECOND
        people = scene.roster.second(now_ms) if second else scene.roster.manager(now_ms)
        why = f"nobody has had it for {waited} minutes, and you are {'second' if second else 'the manager'}"
        # Whoever heard of it in an earlier climb only has not heard that nobody has it now.
        since_ms = now_ms if call.climb_ms is None else call.climb_ms
        yard = {key: reader for key, reader in call.readers.items() if not reader.owner}
        but = {key for key, reader in yard.items() if reader.told_ms is not None and reader.told_ms >= since_ms}
        for person in people:
            word = Word(NoticeKind.ESCALATED, alerts, now_ms, why, rings=True, vessel=vessel)
            scene.written.tell(call, person, word, but)
        return
    call.agains += 1
    why = f"nobody has had it for {waited} minutes"
    scene.written.tell_readers(
        call,
        Word(NoticeKind.AGAIN, alerts, now_ms, why, rings=True, vessel=vessel),
        lambda reader: not reader.owner and scene.roster.person(reader.person) is not None,
    )
    # The duty may have changed hands since: whoever has it now hears of what nobody has.
    but = {key for key, reader in call.readers.items() if not reader.owner}
    for person in scene.roster.first(now_ms):
        told = Word(
            NoticeKind.ESCALATED, alerts, now_ms, f"{why}, and you have the duty now", rings=True, vessel=vessel
        )
        if not {address_key(c.kind, c.address) for c in channels(person)} <= but:
            scene.written.tell(call, person, told, but)


def _tell_one(scene: Scene, call: OpenCall, person: YardPerson, why: str, now_ms: int, but: set[str]) -> bool:
    standing = scene.standing(call)
    ring = any(rings(alert) and alert.wants_somebody for alert in standing)
    word = Word(NoticeKind.NEW, scene.ranked(standing), now_ms, why, ring, _vessel(call))
    return scene.written.tell(call, person, word, but)


def _tell_next(scene: Scene, call: OpenCall, now_ms: int, but: set[str]) -> bool:
    """Tell whoever is next where nobody of the first could be told."""
    why = "nobody who has the duty can be reached, and you are next"
    for people in (scene.roster.second(now_ms), scene.roster.manager(now_ms)):
        told = [_tell_one(scene, call, person, why, now_ms, but) for person in people]  # all of them, not the first
        if any(told):
            return True
    return False


def _first(scene: Scene, call: OpenCall, now_ms: int, *, ring: bool) -> Iterator[tuple[YardPerson, str]]:
    """Give who is told now, with the reason: who is aboard before duty, then whom the ladder has come to.

    That a boat joins a fleet event is told to duty alone: the others were told of the event, and are told again.
    """
    aboard = scene.state.aboard.get(call.about) if ring and not call.is_fleet else None
    if aboard is not None and aboard.until_ms > now_ms:
        person = scene.roster.person(aboard.person)
        if person is not None:
            yield person, "you are aboard her"
    reached = [scene.roster.next_to_tell(now_ms)]
    if call.rung >= SECOND and not call.is_fleet:
        reached.append(scene.roster.second(now_ms))
    if call.rung >= MANAGER and not call.is_fleet:
        reached.append(scene.roster.manager(now_ms))
    seen = set()
    for person in chain.from_iterable(reached):
        if person.id not in seen:
            seen.add(person.id)
            yield person, _why(scene, person, reached[0], now_ms)


def _why(scene: Scene, person: YardPerson, first: tuple[YardPerson, ...], now_ms: int) -> str:
    if person not in first:
        return "you were told of it before"
    return (
        "you have the duty this week"
        if scene.roster.first(now_ms)
        else "nobody has the duty this week, and you are next"
    )


def _held_until(scene: Scene, person: YardPerson, alerts: list[Standing], now_ms: int) -> int | None:
    """Give when somebody's quiet hours end, where there is time until then; None where they are told now."""
    ends_ms = scene.quiet_until(person, now_ms)
    if ends_ms is None:
        return None
    leave_ms = round(scene.ladder.attendance_h * HOUR_MS)
    harms = [alert.harm_ms for alert in alerts if alert.harm_ms is not None]
    return None if any(harm_ms - leave_ms < ends_ms for harm_ms in harms) else ends_ms


def _rings_at(scene: Scene, now_ms: int) -> int:
    first = scene.roster.first(now_ms)
    quiet = first[0].quiet if first else None
    return awake_for(now_ms, round(scene.ladder.warning_rings_after_h * HOUR_MS), quiet, scene.zone)


def _vessel(call: OpenCall) -> str | None:
    return None if call.is_fleet else call.about
