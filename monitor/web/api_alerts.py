"""Alerts, as data."""

from typing import Annotated

from fastapi import APIRouter, Query, Request

from monitor.messages.words import put_into_words
from monitor.model.alert import Alert
from monitor.web import sight
from monitor.web.deps import Deps
from monitor.web.found import visible_alert
from monitor.web.problems import ANSWERS
from monitor.web.seen import seen
from monitor.web.shapes import AlertOut, AlertWithEvents, EventOut
from monitor.web.sight import Asking, Viewer

router = APIRouter(tags=["alerts"], responses=ANSWERS)


@router.get("/alerts")
def alerts(
    request: Request,
    viewer: Asking,
    only_open: Annotated[bool, Query(alias="open", description="only those that have not ended")] = True,
    vessel: str | None = None,
    limit: Annotated[int, Query(ge=1, le=10_000)] = 1_000,
) -> list[AlertOut]:
    """Give alerts, newest first."""
    deps: Deps = request.app.state.deps
    found = _seen(deps, viewer, vessel, limit, only_open=only_open)
    return [_out(deps, viewer, a) for a in found]


@router.get("/alerts/{alert_id}")
def alert(request: Request, viewer: Asking, alert_id: str) -> AlertWithEvents:
    """Give an alert and everything that happened to it."""
    return alert_with_events(request.app.state.deps, viewer, alert_id)


def alert_with_events(deps: Deps, viewer: Viewer, alert_id: str) -> AlertWithEvents:
    """Give an alert and everything that happened to it.

    Raises:
        HTTPException: 404 where there is no such alert.
    """
    found = visible_alert(deps, viewer, alert_id)
    shown = _out(deps, viewer, found).model_dump()
    events = [EventOut.of(event) for event in deps.alerts.events(alert_id)]
    if viewer.is_owner:
        events = [event.model_copy(update={"note": ""}) for event in events]
    return AlertWithEvents(**shown, events=events)


def _out(deps: Deps, viewer: Viewer, alert: Alert) -> AlertOut:
    """Give an alert as data; what the yard's people wrote of it is not for owners."""
    shown = AlertOut.of(alert, _title(deps, alert))
    return shown.model_copy(update={"aside_why": ""}) if viewer.is_owner else shown


def _seen(deps: Deps, viewer: Viewer, vessel: str | None, limit: int, *, only_open: bool) -> list[Alert]:
    if vessel is None and viewer.boats is not None:
        # Boat by boat: a few boats' alerts are found without going through those of the whole yard.
        boats = [boat for boat in viewer.boats if sight.may_see(viewer, boat)]
        found = [a for boat in boats for a in deps.alerts.alerts(open_only=only_open, vessel=boat, limit=limit)]
        return sorted(found, key=lambda a: (-a.opened_ms, a.id))[:limit]

    def read(most: int) -> list[Alert]:
        return deps.alerts.alerts(open_only=only_open, vessel=vessel, limit=most)

    return seen(read, lambda a: sight.may_see(viewer, a.vessel), limit)


def _title(deps: Deps, alert: Alert) -> str:
    stored = deps.records.record(alert.vessel)
    return "" if stored is None else put_into_words(alert.finding, stored.vessel, deps.zone, deps.now_ms()).title
