"""Moving a vessel on a phone: to another plot, berth or mode; then the zero of her bilges where she sits otherwise."""

from fastapi import APIRouter, Request
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from pydantic import ValidationError

from monitor.model.proof import ProofWay
from monitor.record.moving import MODE_SAYS
from monitor.web.clock import YardClock
from monitor.web.commission_in import ProofIn, prove_sensor
from monitor.web.commission_shown import says_now
from monitor.web.deps import Deps
from monitor.web.found import vessel_now
from monitor.web.move_in import MoveIn, NotSureError, empty_places, move_vessel
from monitor.web.problems import ProblemError, mistakes_of
from monitor.web.sight import Asking, Viewer
from monitor.web.templates import render
from monitor.web.typed_form import typed_in

router = APIRouter()
_OK = 200


@router.get("/vessels/{vessel_id}/move")
def show(request: Request, viewer: Asking, vessel_id: str) -> HTMLResponse:
    """Show where she is, and ask where she is to be."""
    return _page(request, viewer, vessel_id, {}, [], _OK)


@router.post("/vessels/{vessel_id}/move")
async def move(request: Request, viewer: Asking, vessel_id: str) -> Response:
    """Move her; asked again with what is wrong, or with what to look at first."""
    typed = await typed_in(request)
    try:
        stored = await move_vessel(request.app.state.deps, viewer, vessel_id, MoveIn.model_validate(typed))
    except NotSureError as error:
        found = [mistake.reason for mistake in error.mistakes or ()]
        return await run_in_threadpool(
            _page, request, viewer, vessel_id, typed | {"asked": "sure"}, found, error.status
        )
    except (ProblemError, ValidationError) as error:
        wrong, status = _wrong(error)
        return await run_in_threadpool(_page, request, viewer, vessel_id, typed, wrong, status)
    to_zero = any(bilge.zero_wanted for bilge in stored.vessel.bilges)
    return RedirectResponse(f"/vessels/{vessel_id}/move/zero" if to_zero else f"/vessels/{vessel_id}", 303)


@router.get("/vessels/{vessel_id}/move/zero")
def show_zero(request: Request, viewer: Asking, vessel_id: str) -> HTMLResponse:
    """Show the bilges whose zero is to be set since she was moved."""
    return _zero_page(request, viewer, vessel_id, {}, [], _OK)


@router.post("/vessels/{vessel_id}/move/zero")
async def set_zero(request: Request, viewer: Asking, vessel_id: str) -> Response:
    """Hold a bilge's sensor against a dip."""
    typed = await typed_in(request)
    try:
        said = ProofIn.model_validate({"way": ProofWay.DIPPED} | typed)
        await prove_sensor(request.app.state.deps, viewer, vessel_id, said)
    except (ProblemError, ValidationError) as error:
        wrong, status = _wrong(error)
        return await run_in_threadpool(_zero_page, request, viewer, vessel_id, typed, wrong, status)
    return RedirectResponse(f"/vessels/{vessel_id}/move/zero", 303)


def _page(
    request: Request, viewer: Viewer, vessel_id: str, typed: dict[str, str], wrong: list[str], status: int
) -> HTMLResponse:
    deps: Deps = request.app.state.deps
    record = vessel_now(deps, viewer, vessel_id).stored.vessel
    plots, berths = empty_places(deps)
    page = render(
        request,
        "move.html",
        clock=YardClock(deps.zone, deps.now_ms()),
        record=record,
        modes=[(mode, says) for mode, says in MODE_SAYS.items()],
        plots=plots,
        berths=berths,
        typed=typed or {"mode": record.mode.value, "plot": record.plot or "", "berth": record.berth or ""},
        asked_sure=typed.get("asked") == "sure",
        wrong=wrong,
    )
    page.status_code = status
    return page


def _zero_page(
    request: Request, viewer: Viewer, vessel_id: str, typed: dict[str, str], wrong: list[str], status: int
) -> HTMLResponse:
    deps: Deps = request.app.state.deps
    seq = deps.changes.seq
    record = vessel_now(deps, viewer, vessel_id).stored.vessel
    clock, newest = YardClock(deps.zone, deps.now_ms()), deps.readings.newest(vessel_id)
    bilges = []
    for bilge in record.bilges:
        sensor = record.sensor(bilge.level_sensor or "")
        if sensor is not None and bilge.zero_wanted:
            bilges.append((bilge, sensor, *says_now(sensor, newest, clock)))
    page = render(
        request, "move_zero.html", clock=clock, seq=seq, record=record, bilges=bilges, typed=typed, wrong=wrong
    )
    page.status_code = status
    return page


def _wrong(error: ProblemError | ValidationError) -> tuple[list[str], int]:
    """Say what is wrong, and with which status; what is not there, or not for them, is for the error page."""
    if isinstance(error, ValidationError):
        return [mistake.reason for mistake in mistakes_of(error.errors())], 422
    if error.status in {403, 404, 503}:
        raise error
    return [mistake.reason for mistake in error.mistakes or ()] or [error.detail], error.status
