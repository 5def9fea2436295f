"""Owners are told: once somebody of the yard has it, or after a while without; who has it; and that it is over."""

from collections.abc import Iterable, Iterator, Sequence

from monitor.model.notice import NoticeKind
from monitor.model.people import YardPerson
from monitor.model.roster import address_key, channels
from monitor.model.scale import Priority
from monitor.telling.scene import Scene, ms
from monitor.telling.standing import Standing
from monitor.telling.state import OpenCall, OwnerOf
from monitor.telling.written import Word

SOMEBODY = "somebody at the yard"


def expect(scene: Scene, call: OpenCall, now_ms: int) -> None:
    """Have the owners told of what duty was just told of, after a while, unless somebody has it before.

    Where quiet hours hold it from all of duty, the while begins when they end.
    """
    told_ms = now_ms if call.told_ms == now_ms else min(call.held.values(), default=now_ms)
    standing = _by_vessel(scene.standing(call))
    for vessel in sorted(standing):
        owner = call.owners.setdefault(vessel, OwnerOf())
        if owner.due_ms is None and _is_news(call, owner, standing[vessel]):
            owner.due_ms = told_ms + ms(scene.ladder.owner_after_min)


def accepted(scene: Scene, call: OpenCall, now_ms: int, *, by_another: bool = False) -> None:
    """Tell the owners that somebody has it: those who know of it who that is, the others all of it.

    Args:
        scene: what is looked at.
        call: what somebody has.
        now_ms: event time.
        by_another: whether somebody had it before who has handed it over.
    """
    by = call.accepted_by or SOMEBODY
    standing = _by_vessel(scene.standing(call))
    for vessel in sorted(standing):
        owner = call.owners.setdefault(vessel, OwnerOf())
        if owner.told is None or owner.over or owner.due_ms is not None:
            owner.due_ms = now_ms
        elif (by_another or not owner.knows_who) and not call.is_fleet:
            owner.knows_who = True
            person = _person(scene, vessel)
            if person is not None:
                _tell(scene, call, person, [vessel], standing[vessel], NoticeKind.TAKEN, now_ms, f"{by} has it")


def due(scene: Scene, call: OpenCall, now_ms: int) -> None:
    """Tell the owners whose time has come; an owner of several boats of a fleet event hears once of all of them."""
    ready = [v for v, owner in call.owners.items() if owner.due_ms is not None and owner.due_ms <= now_ms]
    if not ready:
        return
    standing = _by_vessel(scene.standing(call))
    out_of_reach: list[str] = []
    for person, vessels in _by_person(scene, call, ready):
        for gone in [vessel for vessel in vessels if vessel not in standing]:
            call.owners[gone].due_ms = None
            call.note(now_ms, f"owner of {gone}", "dropped", "nothing of it stands any more")
        theirs = [vessel for vessel in vessels if vessel in standing]
        if not theirs:
            continue
        if person is None:
            for vessel in theirs:
                call.owners[vessel].due_ms, call.owners[vessel].told = None, max(a.priority for a in standing[vessel])
                call.note(now_ms, f"owner of {vessel}", "not told", "her record names no owner")
            continue
        out_of_reach += _tell_first(scene, call, person, {vessel: standing[vessel] for vessel in theirs}, now_ms)
    if out_of_reach:
        alerts = [alert for vessel in out_of_reach for alert in standing[vessel]]
        _tell_duty(scene, call, out_of_reach, alerts, now_ms)


def over(scene: Scene, call: OpenCall, now_ms: int, kind: NoticeKind, why: str) -> None:
    """Tell the owners that nothing of what they were told stands any more, or why nobody is told of it."""
    for owner in call.owners.values():
        owner.due_ms = None
    ready = [vessel for vessel, owner in call.owners.items() if owner.told is not None and not owner.over]
    left = _by_vessel(scene.index.members(call))
    vessel_of, ended = scene.state.vessel_of, dict[str, list[str]]()
    for key in call.over:
        ended.setdefault(vessel_of.get(key, ""), []).append(key)
    for person, vessels in _by_person(scene, call, ready):
        mine = [alert for vessel in vessels for alert in left.get(vessel, ())]
        told = scene.ranked(mine) or tuple(key for vessel in vessels for key in ended.get(vessel, ()))
        for vessel in vessels:
            call.owners[vessel].over = True
        if person is not None and told:
            _write(scene, call, person, vessels, Word(kind, told, now_ms, f"you were told of it: {why}"))


def _tell_first(
    scene: Scene, call: OpenCall, person: YardPerson, standing: dict[str, list[Standing]], now_ms: int
) -> list[str]:
    """Tell an owner of vessels, or hold it; give the vessels whose owner cannot be reached and duty was not told so."""
    vessels, alerts = list(standing), [alert for mine in standing.values() for alert in mine]
    highest = max(alert.priority for alert in alerts)
    quiet_ms = None if highest is Priority.ALARM else scene.quiet_until(person, now_ms)
    mine = [call.owners[vessel] for vessel in vessels]
    if quiet_ms is not None:
        for owner in mine:
            owner.due_ms = quiet_ms
        call.note(now_ms, person.name, "held", "a warning waits for the end of their quiet hours")
        return []
    for owner in mine:
        owner.due_ms = None
    if not scene.written.reaches(person, rings=highest is Priority.ALARM):
        new = [vessel for vessel in vessels if not call.owners[vessel].unreached]
        if new:
            call.note(now_ms, person.name, "not told", "no channel of theirs can be used: duty is told so")
        for owner in mine:
            owner.unreached = True
        return new
    kind = _kind(mine, highest)
    for vessel, owner in zip(vessels, mine, strict=True):
        owner.told, owner.over, owner.unreached = max(a.priority for a in standing[vessel]), False, False
        owner.told_ms, owner.knows_who = now_ms, call.accepted_ms is not None
    for alert in alerts:
        alert.ever_told = True  # also where somebody saw it before duty was told
    why = f"{call.accepted_by or SOMEBODY} has it" if call.accepted_ms is not None else _not_answered(call, alerts)
    _tell(scene, call, person, vessels, alerts, kind, now_ms, why)
    return []


def _kind(owners: Iterable[OwnerOf], highest: Priority) -> NoticeKind:
    """Say what it is to an owner who was told before."""
    known = [owner for owner in owners if owner.told is not None]
    if not known:
        return NoticeKind.NEW
    if any(owner.told is not None and highest > owner.told for owner in known):
        return NoticeKind.WORSE
    return NoticeKind.BACK if any(owner.over for owner in known) else NoticeKind.NEW


def _tell_duty(scene: Scene, call: OpenCall, vessels: list[str], alerts: list[Standing], now_ms: int) -> None:
    whose = "the owner" if len(vessels) == 1 else "the owners"
    why = f"{whose} of {scene.named(vessels)} cannot be reached by any channel: somebody has to tell them"
    vessel = vessels[0] if len(vessels) == 1 else None
    for person in scene.roster.next_to_tell(now_ms):
        scene.written.tell(call, person, Word(NoticeKind.UNREACHED, scene.ranked(alerts), now_ms, why, vessel=vessel))


def _is_news(call: OpenCall, owner: OwnerOf, standing: Sequence[Standing]) -> bool:
    """Say whether an owner is to be told: again where it was over and is back, or is worse.

    A fleet event is told once, also where it is worse: but again of a boat where all that was told of her has ended.
    """
    if owner.told is None or owner.over:
        return True
    if call.is_fleet:
        return owner.told_ms is not None and all(alert.opened_ms > owner.told_ms for alert in standing)
    return max(alert.priority for alert in standing) > owner.told


def _not_answered(call: OpenCall, alerts: Sequence[Standing]) -> str:
    """Say how far the yard has come with what nobody has: told, or out of reach."""
    waiting = [alert for alert in alerts if alert.wants_somebody]
    failed = [alert for alert in waiting if not alert.told and alert.retry_ms is not None]
    before = call.told_ms is None or all(call.told_ms < (alert.arrived_ms or 0) for alert in failed)
    if failed and before and not any(alert.told for alert in waiting):
        return "nobody at the yard could be reached yet"
    return "the yard has been told, and nobody has answered yet"


def _by_vessel(alerts: Iterable[Standing]) -> dict[str, list[Standing]]:
    found: dict[str, list[Standing]] = {}
    for alert in alerts:
        found.setdefault(alert.vessel, []).append(alert)
    return found


def _by_person(scene: Scene, call: OpenCall, ready: list[str]) -> Iterator[tuple[YardPerson | None, list[str]]]:
    """Give the owners of vessels, each with all of them that are theirs, those told soon among them."""
    waiting = [vessel for vessel, owner in call.owners.items() if owner.due_ms is not None] if call.is_fleet else []
    people: dict[object, tuple[YardPerson | None, dict[str, None]]] = {}
    for vessel in ready:
        person = _person(scene, vessel)
        people.setdefault(_key(person, vessel), (person, {}))[1][vessel] = None
    for vessel in waiting:
        key = _key(_person(scene, vessel), vessel)
        if key in people:
            people[key][1][vessel] = None
    yield from ((person, list(vessels)) for person, vessels in people.values())


def _key(person: YardPerson | None, vessel: str) -> object:
    """Give what an owner of several vessels has in common: their addresses; without any each is another."""
    found = () if person is None else tuple(sorted(address_key(c.kind, c.address) for c in channels(person)))
    return found or vessel


def _tell(
    scene: Scene,
    call: OpenCall,
    person: YardPerson,
    vessels: list[str],
    alerts: list[Standing],
    kind: NoticeKind,
    now_ms: int,
    why: str,
) -> None:
    ring = any(alert.priority is Priority.ALARM and alert.in_force for alert in alerts)
    _write(scene, call, person, vessels, Word(kind, scene.ranked(alerts), now_ms, why, ring))


def _write(scene: Scene, call: OpenCall, person: YardPerson, vessels: list[str], word: Word) -> None:
    one = len(vessels) == 1
    whose = "she is yours" if one else f"{scene.named(vessels)} are yours"
    told = Word(
        word.kind,
        word.alerts,
        word.at_ms,
        f"{whose}, and {word.reason}",
        word.rings,
        vessels[0] if one else None,
        owner=True,
    )
    scene.written.tell(call, person, told)


def _person(scene: Scene, vessel: str) -> YardPerson | None:
    record = scene.record(vessel)
    return None if record is None or record.owner is None else scene.roster.owner(record.owner)
