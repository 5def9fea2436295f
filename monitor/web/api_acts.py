"""What people do about alerts and aboard vessels, in the API. Each answers with how it stands afterwards."""

from typing import Annotated

from fastapi import APIRouter, Query, Request
from fastapi.concurrency import run_in_threadpool
from pydantic import Field

from monitor.web.acts import (
    AboardIn,
    AcceptIn,
    AcknowledgeIn,
    AlertAct,
    AshoreIn,
    BringBackIn,
    ConfirmIn,
    HandOverIn,
    Name,
    ShelveIn,
    TakeOutIn,
)
from monitor.web.api_alerts import alert_with_events
from monitor.web.clock import YardClock
from monitor.web.commands import act_on_alert, act_on_vessel, said_of
from monitor.web.deps import Deps
from monitor.web.found import vessel_now
from monitor.web.lines import line_for
from monitor.web.problems import ANSWERS, REFUSED
from monitor.web.shapes import AlertWithEvents, VesselOut
from monitor.web.sight import Asking, Viewer

Said = Annotated[list[str], Field(description="what to know of how it was taken, such as that a name is not known")]


class AlertDone(AlertWithEvents):
    """How an alert stands after what was done about it."""

    said: Said


class VesselDone(VesselOut):
    """How a vessel stands after what was said of her."""

    said: Said


router = APIRouter(tags=["what people do"], responses={**ANSWERS, **REFUSED})


@router.post("/alerts/{alert_id}/acknowledge")
async def acknowledge(request: Request, viewer: Asking, alert_id: str, act: AcknowledgeIn) -> AlertDone:
    """Note that somebody has seen an alert."""
    return await _done(request, viewer, alert_id, act)


@router.post("/alerts/{alert_id}/confirm")
async def confirm(request: Request, viewer: Asking, alert_id: str, act: ConfirmIn) -> AlertDone:
    """Note what somebody who went aboard found of an alert."""
    return await _done(request, viewer, alert_id, act)


@router.post("/alerts/{alert_id}/hand-over")
async def hand_over(request: Request, viewer: Asking, alert_id: str, act: HandOverIn) -> AlertDone:
    """Offer an alert to another, who has it once they accept it."""
    return await _done(request, viewer, alert_id, act)


@router.post("/alerts/{alert_id}/accept")
async def accept(request: Request, viewer: Asking, alert_id: str, act: AcceptIn) -> AlertDone:
    """Take an alert: whoever it was offered to, or whoever says so."""
    return await _done(request, viewer, alert_id, act)


@router.post("/alerts/{alert_id}/shelve")
async def shelve(request: Request, viewer: Asking, alert_id: str, act: ShelveIn) -> AlertDone:
    """Put an alert aside for a reason until a time."""
    return await _done(request, viewer, alert_id, act)


@router.post("/alerts/{alert_id}/bring-back")
async def bring_back(request: Request, viewer: Asking, alert_id: str, act: BringBackIn) -> AlertDone:
    """End the shelving of an alert; a manager also brings back what was taken out of service."""
    return await _done(request, viewer, alert_id, act)


@router.post("/alerts/{alert_id}/out-of-service")
async def take_out(request: Request, viewer: Asking, alert_id: str, act: TakeOutIn) -> AlertDone:
    """Take an alert out of service until a manager brings it back. Managers only."""
    return await _done(request, viewer, alert_id, act)


@router.post("/vessels/{vessel_id}/aboard")
async def aboard(request: Request, viewer: Asking, vessel_id: str, act: AboardIn) -> VesselDone:
    """Say that people are aboard, or that she is washed down or lifted: her alerts are put aside, but for water."""
    return await _done_aboard(request, viewer, vessel_id, act)


@router.delete("/vessels/{vessel_id}/aboard")
async def ashore(
    request: Request, viewer: Asking, vessel_id: str, name: Annotated[Name, Query(description="who says so")]
) -> VesselDone:
    """Say that whatever was done aboard is over."""
    return await _done_aboard(request, viewer, vessel_id, AshoreIn(name=name))


async def _done(request: Request, viewer: Viewer, alert_id: str, act: AlertAct) -> AlertDone:
    deps: Deps = request.app.state.deps
    command = await act_on_alert(deps, viewer, alert_id, act)
    stands = await run_in_threadpool(alert_with_events, deps, viewer, alert_id)
    return AlertDone(**stands.model_dump(), said=await run_in_threadpool(said_of, deps, command))


async def _done_aboard(request: Request, viewer: Viewer, vessel_id: str, act: AboardIn | AshoreIn) -> VesselDone:
    deps: Deps = request.app.state.deps
    command = await act_on_vessel(deps, viewer, vessel_id, act)
    now = await run_in_threadpool(vessel_now, deps, viewer, vessel_id)
    line = line_for(now, YardClock(deps.zone, deps.now_ms()), deaf=deps.health().deaf)
    stands = VesselOut.of(line, len(now.alerts))
    return VesselDone(**stands.model_dump(), said=await run_in_threadpool(said_of, deps, command))
