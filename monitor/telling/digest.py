"""What can wait, once a day: cautions that opened or came back, what nobody has, and what is put aside."""

from monitor.model.scale import AlertState, Priority
from monitor.telling.scene import Scene
from monitor.telling.standing import Standing

WHY = "you have the duty this week: what opened since the last of these, what nobody has, and what is put aside"


def tell(scene: Scene, now_ms: int) -> None:
    """Tell duty; nobody is told where there is nothing new. What is put aside stands last."""
    since_ms = scene.state.digested_ms or 0
    alerts = list(scene.state.alerts.values())
    listed = scene.ranked([alert for alert in alerts if _is_listed(alert, since_ms)])
    aside = [alert for alert in alerts if alert.state.is_aside]
    if not listed and not any(_is_news_aside(alert, since_ms) for alert in aside):
        return
    told = set()
    for person in scene.roster.first(now_ms):
        if person.id not in told:
            told.add(person.id)
            scene.written.digest(person, (*listed, *scene.ranked(aside)), now_ms, WHY)


def _is_listed(alert: Standing, since_ms: int) -> bool:
    # What happens in the millisecond of a digest comes after it: timers fire before events of their time.
    if not alert.in_force:
        return False
    if alert.priority is Priority.CAUTION:
        return (alert.since_ms or alert.opened_ms) >= since_ms
    return alert.state is AlertState.UNACKNOWLEDGED


def _is_news_aside(alert: Standing, since_ms: int) -> bool:
    """Say whether what is put aside is reason enough for a digest: put aside since the last one, or water all along."""
    return alert.water or (alert.since_ms or alert.opened_ms) >= since_ms
