"""Alerts, as data."""

from typing import Annotated

from fastapi import APIRouter, HTTPException, Query, Request
from fastapi.concurrency import run_in_threadpool

from monitor.messages.words import put_into_words
from monitor.model.alert import Alert
from monitor.web import sight
from monitor.web.commands import acknowledge_alert
from monitor.web.deps import Deps
from monitor.web.problems import ANSWERS
from monitor.web.shapes import AcknowledgeIn, AlertOut, AlertWithEvents, EventOut
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
    found = deps.alerts.alerts(open_only=only_open, vessel=vessel, limit=limit)
    return [AlertOut.of(a, _title(deps, a)) for a in found if sight.may_see(viewer, a.vessel)]


@router.get("/alerts/{alert_id}")
def alert(request: Request, viewer: Asking, alert_id: str) -> AlertWithEvents:
    """Give an alert and everything that happened to it."""
    return _with_events(request.app.state.deps, viewer, alert_id)


@router.post("/alerts/{alert_id}/acknowledge")
async def acknowledge(request: Request, viewer: Asking, alert_id: str, who: AcknowledgeIn) -> AlertWithEvents:
    """Note that somebody has seen an alert."""
    deps: Deps = request.app.state.deps
    await acknowledge_alert(deps, viewer, alert_id, who.name, who.note)
    return await run_in_threadpool(_with_events, deps, viewer, alert_id)


def _with_events(deps: Deps, viewer: Viewer, alert_id: str) -> AlertWithEvents:
    found = deps.alerts.alert(alert_id)
    if found is None or not sight.may_see(viewer, found.vessel):
        raise HTTPException(404, f"There is no alert {alert_id!r}.")
    shown = AlertOut.of(found, _title(deps, found)).model_dump()
    return AlertWithEvents(**shown, events=[EventOut.of(e) for e in deps.alerts.events(alert_id)])


def _title(deps: Deps, alert: Alert) -> str:
    stored = deps.records.record(alert.vessel)
    return "" if stored is None else put_into_words(alert.finding, stored.vessel, deps.zone, deps.now_ms()).title
