"""Timers fire: each call's when it is due, and the daily list."""

from monitor.model.notice import NoticeKind
from monitor.telling import digest, duty, following, gathering, handing, owners
from monitor.telling.ladder import begin_climb, climb, next_step_ms
from monitor.telling.scene import Scene, ms
from monitor.telling.state import OpenCall
from monitor.telling.times import next_at


def due_ms(scene: Scene, call: OpenCall) -> int | None:
    """Give when something of a call is next due, None where nothing is."""
    times = [call.over_ms, next_step_ms(scene.ladder, call), handing.due_ms(call), *call.held.values()]
    times += [owner.due_ms for owner in call.owners.values()]
    times += [alert.rings_ms for alert in scene.index.members(call)]
    times.append(gathering.due_ms(scene, call))
    return min((at_ms for at_ms in times if at_ms is not None), default=None)


def fire(scene: Scene, to_ms: int, troubles: list[str]) -> bool:
    """Let every timer fire that lies before a time or at it, each at its own; say whether any did.

    Args:
        scene: what is looked at.
        to_ms: event time.
        troubles: takes what failed, in words.
    """
    state, fired = scene.state, False
    while True:
        times = [at_ms for at_ms in (state.digest_ms, scene.timers.first_ms()) if at_ms is not None]
        if not times or min(times) > to_ms:
            return fired
        now_ms = max(state.now_ms or 0, min(times))
        if state.digest_ms is not None and state.digest_ms <= now_ms:
            state.now_ms, fired = now_ms, True
            _digest(scene, now_ms, troubles)
        due = [state.calls[key] for key in scene.timers.take(now_ms) if key in state.calls]
        for call in sorted(due, key=lambda call: (call.opened_ms, call.id)):
            at_ms = due_ms(scene, call)
            if at_ms is not None and at_ms <= now_ms:
                state.now_ms, fired = now_ms, True
                _fire_call(scene, call, now_ms, troubles)
            if call.id in state.calls:
                scene.timers.put(call, due_ms(scene, call))


def _digest(scene: Scene, now_ms: int, troubles: list[str]) -> None:
    try:
        digest.tell(scene, now_ms)
    except Exception as error:  # noqa: BLE001 - as below: a list that can wait must not keep an alarm
        troubles.append(f"the daily list: {error!r}")
    scene.state.digested_ms, scene.state.digest_ms = now_ms, next_at(now_ms, scene.ladder.digest_at, scene.zone)


def _fire_call(scene: Scene, call: OpenCall, now_ms: int, troubles: list[str]) -> None:
    scene.touched.add(call.id)
    scene.index.touch(call)
    try:
        _ring(scene, call, now_ms)
        at_ms = gathering.due_ms(scene, call)
        if at_ms is not None and at_ms <= now_ms:
            duty.tell(scene, call, now_ms)
            owners.expect(scene, call, now_ms)
        duty.release(scene, call, now_ms)
        handing.due(scene, call, now_ms)
        step_ms = next_step_ms(scene.ladder, call)
        if step_ms is not None and step_ms <= now_ms:
            climb(scene, call, now_ms)
        owners.due(scene, call, now_ms)
        if call.over_ms is not None and call.over_ms <= now_ms:
            following.over(scene, call, now_ms)
    except Exception as error:  # noqa: BLE001 - one call that fails must not keep the others; whoever asks is told
        troubles.append(f"{call.kind} {call.about}: {error!r}")
        _try_later(scene, call, now_ms)


def _ring(scene: Scene, call: OpenCall, now_ms: int) -> None:
    """Have warnings that nobody has seen for hours told as alarms are."""
    for alert in scene.index.members(call):
        if alert.rings_ms is not None and alert.rings_ms <= now_ms:
            alert.rings_ms, alert.rings = None, True
            # Where the ladder is being climbed everybody is told again and again as it is.
            if alert.wants_somebody and next_step_ms(scene.ladder, call) is None:
                alert.told, alert.arrived_ms, alert.news = False, now_ms, NoticeKind.WORSE


def _try_later(scene: Scene, call: OpenCall, now_ms: int) -> None:
    """Put off what failed at a call by an error of ours; whoever is next is told by the ladder meanwhile."""
    later_ms = now_ms + ms(scene.ladder.repeat_min)
    call.held.clear()
    call.over_ms = None if call.over_ms is None else later_ms
    for owner in call.owners.values():
        owner.due_ms = None if owner.due_ms is None else later_ms
    handing.try_later(call, later_ms)
    wanting = scene.wanting(call)
    if not wanting:
        call.climb_ms = None
        return
    for alert in wanting:
        # Whatever was told before it failed went out with this batch all the same.
        alert.told, alert.retry_ms = False, later_ms
    if call.climb_ms is None:
        begin_climb(call, now_ms)
    elif (next_step_ms(scene.ladder, call) or later_ms) <= now_ms:
        call.climb_ms = now_ms
