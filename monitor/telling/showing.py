"""A call as it is shown and committed."""

from monitor.model.call import Call
from monitor.telling.scene import Scene
from monitor.telling.state import OpenCall


def shown(scene: Scene, call: OpenCall) -> Call:
    """Give a call as it stands now."""
    alerts = scene.index.members(call)
    ranked = scene.ranked(alerts)
    vessel_of = {alert.id: alert.vessel for alert in alerts}
    return Call(
        id=call.id,
        kind=call.kind,
        about=call.about,
        opened_ms=call.opened_ms,
        priority=max((a.priority for a in alerts if a.in_force), default=None),
        alerts=ranked,
        vessels=tuple(dict.fromkeys(vessel_of[key] for key in ranked)),
        ended_ms=call.ended_ms,
        accepted_ms=call.accepted_ms,
        accepted_by=call.accepted_by,
        rung=call.rung,
    )
