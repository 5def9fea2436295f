"""The ladder: whoever is next is told while nobody has it, and all of them again and again."""

from monitor.model.notice import NoticeKind
from monitor.model.people import Ladder
from monitor.model.roster import address_key, channels
from monitor.telling.limits import CLIMBS_ANEW_WITH, MINUTE_MS
from monitor.telling.scene import Scene, ms
from monitor.telling.state import OpenCall
from monitor.telling.written import Word

SECOND, MANAGER = 2, 3


def begin_climb(call: OpenCall, now_ms: int) -> None:
    """Begin at the foot of it."""
    call.climb_ms, call.rung, call.agains = now_ms, 1, 0


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


def climbs_on(ladder: Ladder, call: OpenCall) -> bool:
    """Say whether enough is left of a climb for a boat that joins now; else hers begins it anew."""
    if next_step_ms(ladder, call) is None:
        return False
    return call.rung < MANAGER or ladder.repeat_at_most - call.agains > CLIMBS_ANEW_WITH


def climb(scene: Scene, call: OpenCall, now_ms: int) -> None:
    """Climb on: nobody has it, and somebody more is told."""
    if not scene.wanting(call):
        call.climb_ms = None
        return
    alerts = scene.ranked(scene.standing(call))
    waited = round((now_ms - (call.climb_ms or now_ms)) / MINUTE_MS)
    why = f"nobody has had it for {waited} minutes"
    if call.rung < MANAGER:
        _tell_next(scene, call, alerts, why, now_ms)
        return
    call.agains += 1
    scene.written.tell_readers(
        call,
        Word(NoticeKind.AGAIN, alerts, now_ms, why, rings=True, vessel=call.vessel),
        lambda reader: not reader.owner and scene.person(reader.person) is not None,
    )
    # The duty may have changed hands since: whoever has it now hears of what nobody has.
    but = {key for key, reader in call.readers.items() if not reader.owner}
    word = Word(
        NoticeKind.ESCALATED, alerts, now_ms, f"{why}, and you have the duty now", rings=True, vessel=call.vessel
    )
    for person in scene.roster.first(now_ms):
        if not {address_key(c.kind, c.address) for c in channels(person)} <= but:
            scene.written.tell(call, person, word, but)


def _tell_next(scene: Scene, call: OpenCall, alerts: tuple[str, ...], why: str, now_ms: int) -> None:
    call.rung += 1
    second = call.rung == SECOND
    people = scene.roster.second(now_ms) if second else scene.roster.manager(now_ms)
    why = f"{why}, and you are {'second' if second else 'the manager'}"
    # Whoever heard of it in an earlier climb only has not heard that nobody has it now.
    since_ms = now_ms if call.climb_ms is None else call.climb_ms
    yard = {key: reader for key, reader in call.readers.items() if not reader.owner}
    but = {key for key, reader in yard.items() if reader.told_ms is not None and reader.told_ms >= since_ms}
    for person in people:
        word = Word(NoticeKind.ESCALATED, alerts, now_ms, why, rings=True, vessel=call.vessel)
        scene.written.tell(call, person, word, but)
