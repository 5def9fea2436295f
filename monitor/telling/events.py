"""An alert event is taken in: what telling knows of the alert, the call it is told in, and what that call comes to."""

from monitor.model.alert import Alert, AlertChange, AlertEvent
from monitor.model.notice import NoticeKind
from monitor.model.scale import AlertState
from monitor.telling import duty, following, gathering, handing
from monitor.telling.membership import join
from monitor.telling.scene import Scene
from monitor.telling.standing import Standing, harm_at

_SEEN = frozenset({AlertChange.ACKNOWLEDGED, AlertChange.CONFIRMED})
_NEWS = frozenset({AlertChange.OPENED, AlertChange.REOPENED, AlertChange.BACK})


def take(scene: Scene, event: AlertEvent, alerts: dict[str, Alert]) -> None:
    """Take an event in.

    Args:
        scene: what is looked at.
        event: the event.
        alerts: the alerts of its batch: of these only what never changes is asked.
    """
    state, now_ms = scene.state, scene.state.now_ms or event.at_ms
    kept = state.alerts.get(event.alert)
    if kept is None:
        if event.state is AlertState.NORMAL:
            return
        about = alerts[event.alert]
        names = (about.id, about.vessel, about.rule, about.subject)
        kept = Standing(*names, event.state, event.priority, event.at_ms)
        scene.index.add(kept)
    with scene.index.changing(kept):
        is_news = _change(kept, event, now_ms)
    if is_news:
        join(scene.index, kept, scene.ladder, now_ms)
        for new in scene.index.take_opened():
            scene.timers.lower(new, now_ms)  # boats may have been drawn into it, with all that is due of them
        for left in scene.index.take_left():
            following.left(scene, left, now_ms)
    handing.follow(scene, kept, event, now_ms)
    joined = state.calls.get(kept.call)
    if event.state is AlertState.NORMAL:
        scene.index.remove(kept)
        following.remember(scene, joined, kept)
    if joined is not None:
        if kept.wants_somebody and not kept.told:
            # Also where it is no news: the time to harm may be less now.
            scene.timers.lower(joined, gathering.told_ms(scene.ladder, joined, kept))
        following.follow(scene, joined, event.change, now_ms)
        if joined.held and duty.break_hold(scene, joined, kept, now_ms):
            scene.timers.lower(joined, now_ms)


def _change(kept: Standing, event: AlertEvent, now_ms: int) -> bool:
    """Bring what is kept of an alert to an event; say whether duty is to be told of it."""
    was_told, was = kept.is_told, kept.priority
    kept.state, kept.priority = event.state, event.priority
    if event.finding is not None:
        kept.harm_ms = harm_at(event.finding, event.at_ms)
        kept.water = event.finding.always_told
    rose = kept.priority > was
    back = event.change in _NEWS
    if back or rose or event.state.is_aside != (kept.aside_by is not None):
        kept.since_ms = now_ms
    if not event.state.is_aside:
        kept.aside_by = kept.aside_until_ms = None
    elif event.change in _PUT_ASIDE or kept.aside_by is None:
        kept.aside_by, kept.aside_until_ms = event.actor, event.until_ms
    if event.change is AlertChange.ACCEPTED:
        kept.seen_by = event.actor
    elif event.change in _SEEN:
        kept.seen_by = kept.seen_by or event.actor
    elif kept.state is AlertState.UNACKNOWLEDGED:
        kept.seen_by = None
    if not kept.wants_somebody:
        kept.rings_ms = None
        return False
    if not (back or rose or not was_told):
        return False
    kept.told, kept.arrived_ms, kept.rings, kept.rings_ms, kept.retry_ms = False, now_ms, False, None, None
    kept.news = _news(kept)
    return True


def _news(kept: Standing) -> NoticeKind:
    if not kept.ever_told or kept.told_at is None:
        return NoticeKind.NEW
    return NoticeKind.WORSE if kept.priority > kept.told_at else NoticeKind.BACK


_PUT_ASIDE = frozenset({AlertChange.SHELVED, AlertChange.SUPPRESSED, AlertChange.OUT_OF_SERVICE})
