"""What can wait, once a day: cautions that opened since the last digest, and what nobody has."""

from monitor.model.scale import AlertState, Priority
from monitor.telling.scene import Scene
from monitor.telling.state import Standing

WHY = "you have the duty this week: what opened since the last of these, and what nobody has"


def tell(scene: Scene, now_ms: int) -> None:
    """Tell duty; nobody is told where there is nothing."""
    since_ms = scene.state.digested_ms or 0
    listed = scene.ranked([alert for alert in scene.state.alerts.values() if _is_listed(alert, since_ms)])
    if not listed:
        return
    told = set()
    for person in scene.roster.first(now_ms):
        if person.id not in told:
            told.add(person.id)
            scene.written.digest(person, listed, now_ms, WHY)


def _is_listed(alert: Standing, since_ms: int) -> bool:
    if not alert.in_force:
        return False
    if alert.priority is Priority.CAUTION:
        return alert.opened_ms > since_ms
    return alert.state is AlertState.UNACKNOWLEDGED
