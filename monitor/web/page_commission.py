"""The walk on a phone: every sensor proved by hand, the duty phone rung, the watch taken on by the yard."""

from typing import Annotated
from urllib.parse import quote

from fastapi import APIRouter, Query, Request
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from pydantic import ValidationError

from monitor.record.commission import watch_state
from monitor.record.commission_says import cautions_of, missing_words
from monitor.telling.ring import ring_of
from monitor.web.clock import YardClock
from monitor.web.commission_in import ProofIn, RingIn, TakeOnIn, prove_sensor, ring_duty, take_on
from monitor.web.commission_shown import steps
from monitor.web.deps import Deps
from monitor.web.found import vessel_now
from monitor.web.gate_in import may_override
from monitor.web.notice_words import shown_notice
from monitor.web.problems import ProblemError, mistakes_of
from monitor.web.sight import Asking, Viewer
from monitor.web.templates import render
from monitor.web.typed_form import typed_in

router = APIRouter()
RINGS_SHOWN = 6
_OK = 200


@router.get("/vessels/{vessel_id}/commission")
def show(
    request: Request,
    viewer: Asking,
    vessel_id: str,
    name: Annotated[str, Query(max_length=80, description="who does it, where nobody is signed in")] = "",
) -> HTMLResponse:
    """Show the walk."""
    return _page(request, viewer, vessel_id, {"name": name}, "", _OK)


@router.post("/vessels/{vessel_id}/commission")
async def prove_one(request: Request, viewer: Asking, vessel_id: str) -> Response:
    """Take a proof; shown again with the reason where it is refused."""
    typed = await typed_in(request)
    try:
        said = ProofIn.model_validate(typed)
        await prove_sensor(request.app.state.deps, viewer, vessel_id, said)
    except (ProblemError, ValidationError) as error:
        return await _again(request, viewer, vessel_id, typed, error)
    return _back(vessel_id, typed, f"sensor-{said.sensor}")


@router.post("/vessels/{vessel_id}/commission/ring")
async def ring(request: Request, viewer: Asking, vessel_id: str) -> Response:
    """Have a test message sent to whoever has the duty."""
    typed = await typed_in(request)
    deps: Deps = request.app.state.deps
    now = await run_in_threadpool(vessel_now, deps, viewer, vessel_id)
    try:
        await ring_duty(deps, viewer, now.stored.vessel, RingIn.model_validate(typed))
    except (ProblemError, ValidationError) as error:
        return await _again(request, viewer, vessel_id, typed | {"step": "ring"}, error)
    return _back(vessel_id, typed, "ring")


@router.post("/vessels/{vessel_id}/commission/take-on")
async def accept(request: Request, viewer: Asking, vessel_id: str) -> Response:
    """Take the watch on for the yard."""
    typed = await typed_in(request)
    try:
        await take_on(request.app.state.deps, viewer, vessel_id, TakeOnIn.model_validate(typed))
    except (ProblemError, ValidationError) as error:
        return await _again(request, viewer, vessel_id, typed | {"step": "take-on"}, error)
    return _back(vessel_id, typed, "taken")


async def _again(
    request: Request, viewer: Viewer, vessel_id: str, typed: dict[str, str], error: ProblemError | ValidationError
) -> HTMLResponse:
    """Show the walk again with what is wrong; what is not there, or not answered, is for the error page."""
    if isinstance(error, ValidationError):
        wrong, status = " ".join(mistake.reason for mistake in mistakes_of(error.errors())), 422
    elif error.status in {403, 404, 503}:
        raise error
    else:
        wrong, status = error.detail, error.status
    return await run_in_threadpool(_page, request, viewer, vessel_id, typed, wrong, status)


def _page(
    request: Request, viewer: Viewer, vessel_id: str, typed: dict[str, str], wrong: str, status: int
) -> HTMLResponse:
    deps: Deps = request.app.state.deps
    seq = deps.changes.seq
    now = vessel_now(deps, viewer, vessel_id)
    record = now.stored.vessel
    clock = YardClock(deps.zone, deps.now_ms())
    state = watch_state(record)
    walk = steps(record, state, deps.readings.newest(vessel_id), clock)
    rings = deps.calls.notices(ring_of(vessel_id))[-RINGS_SHOWN:]
    page = render(
        request,
        "commission.html",
        clock=clock,
        seq=seq,
        record=record,
        state=state,
        steps=walk,
        total=len(state.wants),
        done=len(state.wants) - len(state.missing),
        missing=missing_words(state.missing),
        cautions=cautions_of(record),
        rings=[shown_notice(line, clock, deps.health().wall_ms) for line in reversed(rings)],
        may_accept=may_override(viewer),
        typed=typed,
        name=typed.get("name", ""),
        wrong=wrong,
        wrong_at=typed.get("step") or typed.get("sensor", ""),
        open_at=typed.get("sensor") or next((step.sensor.id for step in walk if step.left), ""),
    )
    page.status_code = status
    return page


def _back(vessel_id: str, typed: dict[str, str], place: str) -> RedirectResponse:
    name = typed.get("name", "").strip()
    asked = f"?name={quote(name)}" if name else ""
    return RedirectResponse(f"/vessels/{vessel_id}/commission{asked}#{place}", 303)
