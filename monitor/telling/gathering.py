"""When duty is told of what it was not told of yet: at once, or gathered with what comes beside it."""

from monitor.model.people import Ladder
from monitor.model.surroundings import HOUR_MS
from monitor.telling.ladder import next_step_ms
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
        at_ms = max(at_ms, _joins_ms(ladder, call, alert, call.told_ms))
    return at_ms if alert.retry_ms is None else max(at_ms, alert.retry_ms)


def _joins_ms(ladder: Ladder, call: OpenCall, alert: Standing, told_ms: int) -> int:
    """Give the earliest that duty is told of a boat that joins a fleet event of which they were told."""
    gather_ms = ms(ladder.gather_min)
    if alert.water or (alert.wakes and next_step_ms(ladder, call) is None):
        # Nobody is being rung of it, or it is water: it goes at once, and in a flood not each boat by itself.
        return told_ms if call.rang_ms is None else call.rang_ms + FLEET_GATHERS_MS
    at_ms = told_ms + FLEET_WORSE_EVERY * gather_ms
    if alert.harm_ms is not None:
        leave_ms = alert.harm_ms - round(ladder.attendance_h * HOUR_MS)
        at_ms = min(at_ms, max(leave_ms, told_ms + gather_ms))
    return at_ms


def due_ms(scene: Scene, call: OpenCall) -> int | None:
    """Give when duty is told of what it was not told of yet, None where there is nothing."""
    return min((told_ms(scene.ladder, call, alert) for alert in scene.untold(call)), default=None)
