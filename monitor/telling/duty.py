"""The yard's duty is told, and what is held from them through quiet hours is let go."""

from collections.abc import Iterator, Sequence
from itertools import chain

from monitor.model.notice import NoticeKind
from monitor.model.people import YardPerson
from monitor.model.scale import Priority
from monitor.model.surroundings import HOUR_MS
from monitor.telling.ladder import MANAGER, SECOND, begin_climb, climbs_on
from monitor.telling.scene import Scene, ms
from monitor.telling.standing import Standing
from monitor.telling.state import OpenCall
from monitor.telling.times import awake_for
from monitor.telling.written import Word


def tell(scene: Scene, call: OpenCall, now_ms: int) -> None:
    """Tell duty what it was not told of yet."""
    untold = scene.untold(call)
    if not untold:
        return
    ring, kind = any(alert.wakes for alert in untold), _kind(untold)
    but: set[str] = set()
    told = False
    for person, why in _first(scene, call, now_ms, ring=ring):
        held_ms = None if ring else _held_until(scene, person, untold, now_ms)
        if held_ms is not None:
            call.held[person.id] = held_ms
            call.note(now_ms, person.name, "held", "a warning waits for the end of their quiet hours: there is time")
            continue
        call.held.pop(person.id, None)
        told = _tell_one(scene, call, person, kind, why, now_ms, but) or told
    if not told and not call.held:
        told = _tell_next(scene, call, kind, now_ms, but)
    for alert in untold:
        alert.told = told or bool(call.held)
        alert.ever_told = alert.ever_told or alert.told
        # Where nobody could be told (nobody has the duty, or no channel of theirs can be used) it stays to be told.
        alert.retry_ms = None if alert.told else now_ms + ms(scene.ladder.repeat_min)
        alert.told_at = alert.priority if alert.told else alert.told_at
        if not alert.rings and alert.priority is Priority.WARNING and alert.rings_ms is None:
            alert.rings_ms = _rings_at(scene, now_ms)
    if told:
        call.told_ms = now_ms
        call.rang_ms = now_ms if ring else call.rang_ms
    if ring and not (call.is_fleet and climbs_on(scene.ladder, call)):
        # A boat that joins a fleet event that is being climbed begins no new climb.
        begin_climb(call, now_ms)
    call.rung = max(call.rung, 1)


def release(scene: Scene, call: OpenCall, now_ms: int) -> None:
    """Tell those whose quiet hours are over what was held for them, where it still wants somebody.

    Where none of them can be told any more, it is told anew to whoever has the duty now.
    """
    due = [who for who, until_ms in call.held.items() if until_ms <= now_ms]
    if not due:
        return
    wanting, told = scene.wanting(call), False
    on_duty = {person.id: person for person, _ in _first(scene, call, now_ms, ring=False)}
    for person_id in due:
        del call.held[person_id]
        person, known = on_duty.get(person_id), scene.person(person_id)
        name = person_id if known is None else known.name
        if not wanting:
            call.note(now_ms, name, "dropped", "nothing of it waits for somebody any more")
        elif person is None:
            call.note(now_ms, name, "dropped", "they have the duty no more: whoever has it now is told")
        else:
            why = "you have the duty, and it waits no longer"
            told = _tell_one(scene, call, person, _kind(wanting), why, now_ms, set()) or told
    if told:
        call.told_ms = now_ms
    elif not call.held.keys() & on_duty.keys():
        call.held.clear()
        for alert in wanting:
            # Whoever of them was awake was told when it came.
            alert.told = call.told_ms is not None and call.told_ms >= (alert.arrived_ms or 0)


def break_hold(scene: Scene, call: OpenCall, alert: Standing, now_ms: int) -> bool:
    """Let go of what quiet hours hold where an alert leaves no time to wait for their end; say whether it was so."""
    broken = False
    for person_id in list(call.held) if alert.wants_somebody else ():
        person = scene.person(person_id)
        if person is None or _held_until(scene, person, [alert], now_ms) is None:
            call.held[person_id], broken = now_ms, True
    return broken


def _kind(alerts: Sequence[Standing]) -> NoticeKind:
    """Say what alerts are to whoever was told of their call before: worse, more (NEW), or only back."""
    news = {alert.news for alert in alerts}
    return next(kind for kind in (NoticeKind.WORSE, NoticeKind.NEW, NoticeKind.BACK) if kind in news)


def _tell_one(
    scene: Scene, call: OpenCall, person: YardPerson, kind: NoticeKind, why: str, now_ms: int, but: set[str]
) -> bool:
    standing = scene.standing(call)
    ring = any(alert.wakes and alert.wants_somebody for alert in standing)
    word = Word(kind, scene.ranked(standing), now_ms, why, ring, call.vessel)
    return scene.written.tell(call, person, word, but)


def _tell_next(scene: Scene, call: OpenCall, kind: NoticeKind, now_ms: int, but: set[str]) -> bool:
    """Tell whoever is next where nobody of the first could be told."""
    why = "nobody who has the duty can be reached, and you are next"
    for people in (scene.roster.second(now_ms), scene.roster.manager(now_ms)):
        told = [_tell_one(scene, call, one, kind, why, now_ms, but) for one in people]  # all of them, not the first
        if any(told):
            return True
    return False


def _first(scene: Scene, call: OpenCall, now_ms: int, *, ring: bool) -> Iterator[tuple[YardPerson, str]]:
    """Give who is told now, with the reason: who is aboard before duty, then whom the ladder has come to.

    That a boat joins a fleet event is told to duty alone: the others were told of the event, and are told again.
    """
    aboard = scene.state.aboard.get(call.about) if ring and not call.is_fleet else None
    if aboard is not None and aboard.until_ms > now_ms:
        person = scene.roster.whole(aboard.person)
        if person is not None:
            yield person, "you are aboard her"
    reached = [scene.roster.next_to_tell(now_ms)]
    if call.rung >= SECOND and not call.is_fleet:
        reached.append(scene.roster.second(now_ms))
    if call.rung >= MANAGER and not call.is_fleet:
        reached.append(scene.roster.manager(now_ms))
    seen = set()
    boats = len({alert.vessel for alert in scene.standing(call)}) if call.is_fleet else 0
    for person in chain.from_iterable(reached):
        if person.id not in seen:
            seen.add(person.id)
            why = _why(scene, person, reached[0], now_ms)
            yield person, f"{why}, and it is {boats} boats now" if boats and (call.knew or call.told_ms) else why


def _why(scene: Scene, person: YardPerson, first: tuple[YardPerson, ...], now_ms: int) -> str:
    if person not in first:
        return "you were told of it before"
    return (
        "you have the duty this week"
        if scene.roster.first(now_ms)
        else "nobody has the duty this week, and you are next"
    )


def _held_until(scene: Scene, person: YardPerson, alerts: Sequence[Standing], now_ms: int) -> int | None:
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
