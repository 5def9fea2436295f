"""What people do about alerts and aboard vessels, as the pages' forms send it: done, then the vessel is shown again.

What is refused is said on a page of its own, with the form as it was filled in.
"""

from typing import TypeVar
from urllib.parse import quote

from fastapi import APIRouter, HTTPException, Request
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import RedirectResponse, Response
from pydantic import BaseModel, ValidationError

from monitor.model.named import SomebodysCommand
from monitor.web.acts import ALERT_ACTS, AboardIn, AshoreIn
from monitor.web.commands import act_on_alert, act_on_vessel
from monitor.web.deps import Deps
from monitor.web.found import vessel_now, visible_alert
from monitor.web.page_refused import Refused, refused_page
from monitor.web.problems import ProblemError, counted, mistakes_of
from monitor.web.sight import Asking, Viewer
from monitor.web.typed_form import typed_in

router = APIRouter()
MOST_FIELDS = 20
_Shape = TypeVar("_Shape", bound=BaseModel)


@router.post("/alerts/{alert_id}/{act}")
async def on_alert(request: Request, viewer: Asking, alert_id: str, act: str) -> Response:
    """Do something about an alert."""
    deps: Deps = request.app.state.deps
    shape = ALERT_ACTS.get(act)
    if shape is None:
        raise HTTPException(404, f"Nothing called {act!r} can be done about an alert.")
    alert = await run_in_threadpool(visible_alert, deps, viewer, alert_id)
    typed = await typed_in(request, MOST_FIELDS)
    try:
        command = await act_on_alert(deps, viewer, alert_id, _made(shape, typed))
    except ProblemError as error:
        refused = Refused(act, typed, error, alert.vessel, alert.id)
        return await run_in_threadpool(refused_page, request, viewer, refused)
    return _shown_again(command, "alerts")


@router.post("/vessels/{vessel_id}/aboard")
async def aboard(request: Request, viewer: Asking, vessel_id: str) -> Response:
    """Say what is done aboard."""
    return await _on_vessel(request, viewer, vessel_id, "aboard", AboardIn)


@router.post("/vessels/{vessel_id}/ashore")
async def ashore(request: Request, viewer: Asking, vessel_id: str) -> Response:
    """Say that what was done aboard is over; a form knows no DELETE."""
    return await _on_vessel(request, viewer, vessel_id, "ashore", AshoreIn)


async def _on_vessel(
    request: Request, viewer: Viewer, vessel_id: str, act: str, shape: type[AboardIn] | type[AshoreIn]
) -> Response:
    deps: Deps = request.app.state.deps
    await run_in_threadpool(vessel_now, deps, viewer, vessel_id)
    typed = await typed_in(request, MOST_FIELDS)
    try:
        command = await act_on_vessel(deps, viewer, vessel_id, _made(shape, typed))
    except ProblemError as error:
        return await run_in_threadpool(refused_page, request, viewer, Refused(act, typed, error, vessel_id))
    return _shown_again(command, "aboard")


def _made(shape: type[_Shape], typed: dict[str, str]) -> _Shape:
    """Make what is asked for of what was typed.

    Raises:
        ProblemError: 422 with every mistake in it.
    """
    try:
        return shape.model_validate(typed)
    except ValidationError as error:
        found = mistakes_of(error.errors())
        raise ProblemError(422, counted(found), found) from error


def _shown_again(command: SomebodysCommand, part: str) -> Response:
    # The name goes along, so that whoever has no script need not write it again.
    return RedirectResponse(f"/vessels/{command.vessel}?name={quote(command.actor)}#{part}", status_code=303)
