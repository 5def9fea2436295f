"""When duty is told of what it was not told of yet: at once, or gathered with what comes beside it."""

from monitor.model.people import Ladder
from monitor.telling.limits import FLEET_GATHERS_MS, FLEET_WORSE_EVERY
from monitor.telling.scene import Scene, ms
from monitor.telling.standing import Standing
from monitor.telling.state import OpenCall


def told_ms(ladder: Ladder, call: OpenCall, alert: Standing) -> int:
    """Give when duty is to be told of an alert that nobody has."""
    arrived_ms, gather_ms = alert.arrived_ms or 0, ms(ladder.gather_min)
    at_ms = arrived_ms if alert.wakes else arrived_ms + gather_ms
    if call.is_fleet and call.told_ms is None:
        if call.rang_ms is not None and call.opened_ms - call.rang_ms < gather_ms:
            # Duty was just rung of the boats that began it: now they hear once how many there are.
            at_ms = max(at_ms, call.opened_ms + FLEET_GATHERS_MS)
    elif call.is_fleet and call.told_ms is not None:
        # A boat that joins a fleet event is no new event. Water does not wait as long, nor does what is to ring first.
        if alert.water:
            at_ms = max(at_ms, at_ms if call.rang_ms is None else call.rang_ms + gather_ms)
        elif call.climbed or not alert.wakes:
            at_ms = max(at_ms, call.told_ms + FLEET_WORSE_EVERY * gather_ms)
    return at_ms if alert.retry_ms is None else max(at_ms, alert.retry_ms)


def due_ms(scene: Scene, call: OpenCall) -> int | None:
    """Give when duty is told of what it was not told of yet, None where there is nothing."""
    return min((told_ms(scene.ladder, call, alert) for alert in scene.untold(call)), default=None)
