"""What people do about alerts and aboard vessels, as the pages' forms send it: done, then the vessel is shown again."""

from typing import Annotated
from urllib.parse import quote

from fastapi import APIRouter, Form, Request
from fastapi.responses import RedirectResponse, Response

from monitor.web.acts import (
    AboardIn,
    AcceptIn,
    AcknowledgeIn,
    AlertAct,
    AshoreIn,
    BringBackIn,
    ConfirmIn,
    HandOverIn,
    ShelveIn,
    TakeOutIn,
)
from monitor.web.commands import act_on_alert, act_on_vessel
from monitor.web.sight import Asking, Viewer

router = APIRouter()


@router.post("/alerts/{alert_id}/acknowledge")
async def acknowledge(
    request: Request, viewer: Asking, alert_id: str, act: Annotated[AcknowledgeIn, Form()]
) -> Response:
    """Note that somebody has seen an alert."""
    return await _done(request, viewer, alert_id, act)


@router.post("/alerts/{alert_id}/confirm")
async def confirm(request: Request, viewer: Asking, alert_id: str, act: Annotated[ConfirmIn, Form()]) -> Response:
    """Note what somebody who went aboard found of an alert."""
    return await _done(request, viewer, alert_id, act)


@router.post("/alerts/{alert_id}/hand-over")
async def hand_over(request: Request, viewer: Asking, alert_id: str, act: Annotated[HandOverIn, Form()]) -> Response:
    """Offer an alert to another."""
    return await _done(request, viewer, alert_id, act)


@router.post("/alerts/{alert_id}/accept")
async def accept(request: Request, viewer: Asking, alert_id: str, act: Annotated[AcceptIn, Form()]) -> Response:
    """Take an alert."""
    return await _done(request, viewer, alert_id, act)


@router.post("/alerts/{alert_id}/shelve")
async def shelve(request: Request, viewer: Asking, alert_id: str, act: Annotated[ShelveIn, Form()]) -> Response:
    """Put an alert aside until a time."""
    return await _done(request, viewer, alert_id, act)


@router.post("/alerts/{alert_id}/bring-back")
async def bring_back(request: Request, viewer: Asking, alert_id: str, act: Annotated[BringBackIn, Form()]) -> Response:
    """Bring an alert back that was put aside."""
    return await _done(request, viewer, alert_id, act)


@router.post("/alerts/{alert_id}/out-of-service")
async def take_out(request: Request, viewer: Asking, alert_id: str, act: Annotated[TakeOutIn, Form()]) -> Response:
    """Take an alert out of service."""
    return await _done(request, viewer, alert_id, act)


@router.post("/vessels/{vessel_id}/aboard")
async def aboard(request: Request, viewer: Asking, vessel_id: str, act: Annotated[AboardIn, Form()]) -> Response:
    """Say what is done aboard."""
    await act_on_vessel(request.app.state.deps, viewer, vessel_id, act)
    return _shown_again(vessel_id, act.name, "aboard")


@router.post("/vessels/{vessel_id}/ashore")
async def ashore(request: Request, viewer: Asking, vessel_id: str, act: Annotated[AshoreIn, Form()]) -> Response:
    """Say that what was done aboard is over; a form knows no DELETE."""
    await act_on_vessel(request.app.state.deps, viewer, vessel_id, act)
    return _shown_again(vessel_id, act.name, "aboard")


async def _done(request: Request, viewer: Viewer, alert_id: str, act: AlertAct) -> Response:
    alert = await act_on_alert(request.app.state.deps, viewer, alert_id, act)
    return _shown_again(alert.vessel, act.name, "alerts")


def _shown_again(vessel_id: str, name: str, part: str) -> Response:
    # The name goes along, so that whoever has no script need not write it again.
    return RedirectResponse(f"/vessels/{vessel_id}?name={quote(name)}#{part}", status_code=303)
