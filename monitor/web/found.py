"""Finds what was asked for, where this viewer may see it."""

from fastapi import HTTPException

from monitor.model.alert import Alert
from monitor.model.views import VesselNow
from monitor.web import sight
from monitor.web.deps import Deps
from monitor.web.sight import Viewer


def vessel_now(deps: Deps, viewer: Viewer, vessel_id: str) -> VesselNow:
    """Find a vessel that this viewer may see.

    Raises:
        HTTPException: 404 where there is none; a vessel that may not be seen is not there.
    """
    found = deps.yard.vessels_now({vessel_id}) if sight.may_see(viewer, vessel_id) else []
    if not found:
        raise HTTPException(404, f"There is no boat with the id {vessel_id!r} in this yard.")
    return found[0]


def visible_alert(deps: Deps, viewer: Viewer, alert_id: str) -> Alert:
    """Find an alert that this viewer may see.

    Raises:
        HTTPException: 404 where there is none.
    """
    found = deps.alerts.alert(alert_id)
    if found is None or not sight.may_see(viewer, found.vessel):
        raise HTTPException(404, f"There is no alert {alert_id!r}.")
    return found
