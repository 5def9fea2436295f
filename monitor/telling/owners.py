"""Owners are told: once somebody of the yard has it, or after a while without; who has it; and that it is over."""

from collections.abc import Iterator

from monitor.model.notice import NoticeKind
from monitor.model.people import YardPerson
from monitor.model.scale import Priority
from monitor.telling.duty import ms
from monitor.telling.membership import members
from monitor.telling.scene import Scene
from monitor.telling.state import OpenCall, OwnerOf, Standing
from monitor.telling.written import Word

SOMEBODY = "somebody at the yard"


def expect(scene: Scene, call: OpenCall, now_ms: int) -> None:
    """Have the owners told of what duty was just told of, after a while, unless somebody has it before.

    Where quiet hours hold it from all of duty, the while begins when they end.
    """
    told_ms = now_ms if call.told_ms == now_ms else min(call.held.values(), default=now_ms)
    for alert in scene.standing(call):
        owner = call.owners.setdefault(alert.vessel, OwnerOf())
        if owner.due_ms is None and _news(call, owner, alert.priority):
            owner.due_ms = told_ms + ms(scene.ladder.owner_after_min)


def accepted(scene: Scene, call: OpenCall, now_ms: int) -> None:
    """Tell the owners that somebody has it: those who know of it who that is, the others all of it."""
    by = call.accepted_by or SOMEBODY
    for vessel in _vessels(scene, call):
        owner = call.owners.setdefault(vessel, OwnerOf())
        if owner.told is None or owner.due_ms is not None:
            owner.due_ms = now_ms
        elif not owner.knows_who and not call.is_fleet:
            owner.knows_who = True
            _tell(scene, call, vessel, NoticeKind.TAKEN, now_ms, f"{by} has it, and she is yours")


def due(scene: Scene, call: OpenCall, now_ms: int) -> None:
    """Tell the owners whose time has come."""
    for vessel, owner in call.owners.items():
        if owner.due_ms is None or owner.due_ms > now_ms:
            continue
        owner.due_ms = None
        alerts = [alert for alert in scene.standing(call) if alert.vessel == vessel]
        if not alerts:
            call.note(now_ms, f"owner of {vessel}", "dropped", "nothing of it stands any more")
            continue
        highest = max(alert.priority for alert in alerts)
        person = _person(scene, vessel)
        quiet_ms = None if person is None or highest is Priority.ALARM else scene.quiet_until(person, now_ms)
        if quiet_ms is not None:
            owner.due_ms = quiet_ms
            call.note(now_ms, f"owner of {vessel}", "held", "a warning waits for the end of their quiet hours")
            continue
        owner.told, owner.over = highest, False
        owner.knows_who = call.accepted_ms is not None
        why = (
            f"{call.accepted_by or SOMEBODY} has it"
            if owner.knows_who
            else "the yard has been told, and nobody has answered yet"
        )
        _tell(scene, call, vessel, NoticeKind.NEW, now_ms, f"she is yours, and {why}")


def over(scene: Scene, call: OpenCall, now_ms: int) -> None:
    """Tell the owners that nothing of what they were told stands any more."""
    for vessel, owner in call.owners.items():
        owner.due_ms = None
        if owner.told is not None and not owner.over:
            owner.over = True
            _tell(scene, call, vessel, NoticeKind.OVER, now_ms, "she is yours, and you were told of it")


def _news(call: OpenCall, owner: OwnerOf, priority: Priority) -> bool:
    """Say whether an owner is to be told: of a fleet event once, else again where it is worse, or is back."""
    if owner.told is None:
        return True
    return not call.is_fleet and (owner.over or priority > owner.told)


def _vessels(scene: Scene, call: OpenCall) -> Iterator[str]:
    yield from dict.fromkeys(alert.vessel for alert in scene.standing(call))


def _tell(scene: Scene, call: OpenCall, vessel: str, kind: NoticeKind, now_ms: int, why: str) -> None:
    person = _person(scene, vessel)
    if person is None:
        call.note(now_ms, f"owner of {vessel}", "not told", "her record names no owner")
        return
    mine: list[Standing] = [alert for alert in members(scene.state, call) if alert.vessel == vessel]
    told = scene.ranked([alert for alert in mine if alert.is_told] or mine) or tuple(
        key for key in call.over if scene.state.vessel_of.get(key) == vessel
    )
    if not told:
        call.note(now_ms, person.name, "not told", "what it was is not known any more")
        return
    ring = any(alert.priority is Priority.ALARM and alert.in_force for alert in mine)
    scene.written.tell(call, person, Word(kind, told, now_ms, why, ring, vessel, owner=True))


def _person(scene: Scene, vessel: str) -> YardPerson | None:
    record = scene.record(vessel)
    return None if record is None or record.owner is None else scene.roster.owner(record.owner)
