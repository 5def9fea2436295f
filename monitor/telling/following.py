"""A call follows its alerts: somebody has all of it, nobody has, nothing of it stands, or all of it has ended."""

from datetime import date

from monitor.model.alert import AlertChange
from monitor.model.notice import NoticeKind
from monitor.model.scale import AlertState
from monitor.telling import gathering, owners
from monitor.telling.limits import OVER_KEPT
from monitor.telling.scene import Scene, ms
from monitor.telling.standing import Standing
from monitor.telling.state import OpenCall, Reader
from monitor.telling.times import local
from monitor.telling.written import Word

_MORE_TO_TELL = frozenset(
    {AlertChange.OPENED, AlertChange.REOPENED, AlertChange.BACK, AlertChange.PRIORITY, AlertChange.HANDED_OVER}
)


def follow(scene: Scene, call: OpenCall, change: AlertChange, now_ms: int) -> None:
    """Bring a call to what its alerts have come to.

    Args:
        scene: what is looked at.
        call: the call.
        change: what happened to one of them.
        now_ms: event time.
    """
    _follow_who_has_it(scene, call, change, now_ms)
    if scene.index.tally(call).in_force:
        call.over_ms = None
    elif call.over_ms is None:
        call.over_ms = now_ms + ms(scene.ladder.gather_min)
        scene.timers.lower(call, call.over_ms)


def left(scene: Scene, call: OpenCall, now_ms: int) -> None:
    """Bring a call to what is left of it after alerts of it were drawn into one of the fleet."""
    if call.id in scene.state.calls:
        _follow_who_has_it(scene, call, AlertChange.PRIORITY, now_ms)


def _follow_who_has_it(scene: Scene, call: OpenCall, change: AlertChange, now_ms: int) -> None:
    scene.touched.add(call.id)
    tally = scene.index.tally(call)
    if tally.wanting:
        call.accepted_ms = call.accepted_by = None
        if call.climb_ms is not None and change not in _MORE_TO_TELL and not _climbs_for_any(scene, call):
            call.climb_ms = None  # what joins now is not told to people who answer as if nobody did
            scene.timers.lower(call, gathering.due_ms(scene, call))
    else:
        call.climb_ms = None
        if tally.told and call.accepted_ms is None:
            call.accepted_ms, call.accepted_by = now_ms, _holder(scene, call)
            call.held.clear()
            owners.accepted(scene, call, now_ms)
            scene.timers.lower(call, now_ms)
        elif change is AlertChange.ACCEPTED and len(tally.holders) == 1 and call.accepted_by not in tally.holders:
            call.accepted_by = next(iter(tally.holders))
            owners.accepted(scene, call, now_ms, by_another=True)
            scene.timers.lower(call, now_ms)


def _climbs_for_any(scene: Scene, call: OpenCall) -> bool:
    """Say whether duty was told, or could not be, of anything that nobody has."""
    return any(alert.told or alert.retry_ms is not None for alert in scene.wanting(call))


def remember(scene: Scene, call: OpenCall | None, ended: Standing) -> None:
    """Keep of an alert that has ended what its call's last word needs, where anybody was told of it."""
    if call is None or not ended.ever_told:
        return
    if len(call.over) >= OVER_KEPT:
        scene.state.vessel_of.pop(call.over.pop(0), None)
    call.over.append(ended.id)
    scene.state.vessel_of[ended.id] = ended.vessel


def over(scene: Scene, call: OpenCall, now_ms: int) -> None:
    """Tell that nothing of a call is told any more, and let go of it once all of it has ended."""
    left = scene.index.members(call)
    told = scene.ranked([alert for alert in left if alert.ever_told]) or tuple(call.over)
    aside = [alert for alert in left if alert.state.is_aside]
    if told:
        kind = NoticeKind.ASIDE if aside else NoticeKind.OVER
        why = "nothing of it stands"
        if aside:
            why = _put_aside(scene, aside)
        elif any(alert.state is AlertState.LATCHED for alert in left):
            why = "it has cleared, and waits for somebody to go aboard and say so"
        word = Word(kind, told, now_ms, f"you were told of it: {why}", vessel=call.vessel)
        scene.written.tell_readers(call, word, lambda reader: _hears(scene, reader, aside))
        owners.over(scene, call, now_ms, kind, why)
    call.over_ms = None
    if not left:
        scene.index.close(call)
        call.ended_ms = now_ms
        scene.state.ended.append(call)
        for key in call.over:
            scene.state.vessel_of.pop(key, None)


def _holder(scene: Scene, call: OpenCall) -> str | None:
    standing = sorted(scene.standing(call), key=lambda alert: (alert.opened_ms, alert.id))
    return next((alert.seen_by for alert in standing if alert.seen_by is not None), None)


def _hears(scene: Scene, reader: Reader, aside: list[Standing]) -> bool:
    """Say whether a reader of the yard is told: not again, and not whoever put all that is left of it aside."""
    if reader.owner or reader.over:
        return False
    people = {alert.aside_by for alert in aside}
    if len(people) != 1:
        return True
    (by,) = people
    person = None if by is None else scene.roster.whole(by)
    return person is None or person.id != reader.person


def _put_aside(scene: Scene, aside: list[Standing]) -> str:
    people = sorted({alert.aside_by for alert in aside if alert.aside_by is not None})
    by = f" by {' and '.join(people)}" if people else ""
    ends = [alert.aside_until_ms for alert in aside]
    until_ms = max((end for end in ends if end is not None), default=None)
    if until_ms is None or None in ends:
        return f"put aside{by} until somebody brings it back"
    at = local(until_ms, scene.zone)
    day = "" if at.date() == _today(scene) else f" on {at:%Y-%m-%d}"
    return f"put aside{by} until {at:%H:%M}{day}"


def _today(scene: Scene) -> date:
    return local(scene.state.now_ms or 0, scene.zone).date()
