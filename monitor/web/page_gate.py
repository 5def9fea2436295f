"""The launch gate's pages: the spring list, which prints with boxes and codes, and a page an item for a phone."""

from fastapi import APIRouter, Request
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from pydantic import ValidationError

from monitor.model.gate import GateAct
from monitor.record.gate_says import CAUTIONS, slings_words, verdict
from monitor.web.clock import YardClock
from monitor.web.deps import Deps
from monitor.web.gate_in import ItemIn, SlingsIn, gate_now, may_override, say
from monitor.web.gate_words import item_shown, stages
from monitor.web.problems import ProblemError, mistakes_of
from monitor.web.sight import Asking, Viewer
from monitor.web.templates import render
from monitor.web.typed_form import typed_in

router = APIRouter()
_OK = 200


@router.get("/vessels/{vessel_id}/gate")
def show_gate(request: Request, viewer: Asking, vessel_id: str) -> HTMLResponse:
    """Show the spring list."""
    return _gate_page(request, viewer, vessel_id, {}, "", _OK)


@router.post("/vessels/{vessel_id}/gate")
async def say_slings(request: Request, viewer: Asking, vessel_id: str) -> Response:
    """Take what is said of the slings; shown again with what is wrong, where it is refused."""
    typed = await typed_in(request)
    try:
        await say(request.app.state.deps, viewer, vessel_id, SlingsIn.model_validate(typed))
    except (ProblemError, ValidationError) as error:
        wrong, status = _wrong(error)
        return await run_in_threadpool(_gate_page, request, viewer, vessel_id, typed, wrong, status)
    return RedirectResponse(f"/vessels/{vessel_id}/gate#slings", 303)


@router.get("/vessels/{vessel_id}/gate/{item_id}")
def show_item(request: Request, viewer: Asking, vessel_id: str, item_id: str) -> HTMLResponse:
    """Show an item, with what can be said of it."""
    return _item_page(request, viewer, vessel_id, item_id, {}, "", _OK)


@router.post("/vessels/{vessel_id}/gate/{item_id}")
async def say_of_item(request: Request, viewer: Asking, vessel_id: str, item_id: str) -> Response:
    """Take what is said of an item; shown again with what is wrong, where it is refused."""
    typed = await typed_in(request)
    try:
        await say(request.app.state.deps, viewer, vessel_id, ItemIn.model_validate(typed), item_id)
    except (ProblemError, ValidationError) as error:
        wrong, status = _wrong(error)
        return await run_in_threadpool(_item_page, request, viewer, vessel_id, item_id, typed, wrong, status)
    return RedirectResponse(f"/vessels/{vessel_id}/gate#{item_id}", 303)


def _gate_page(
    request: Request, viewer: Viewer, vessel_id: str, typed: dict[str, str], wrong: str, status: int
) -> HTMLResponse:
    deps: Deps = request.app.state.deps
    gate = gate_now(deps, viewer, vessel_id)
    clock = YardClock(deps.zone, deps.now_ms())
    page = render(
        request,
        "gate.html",
        clock=clock,
        record=gate.record,
        gate=gate,
        verdict=verdict(gate),
        slings=None if gate.dryness is None else slings_words(gate.dryness, clock.at),
        stages=stages(gate, clock, deps.address()),
        cautions=CAUTIONS,
        may_override=may_override(viewer),
        typed=typed,
        wrong=wrong,
    )
    page.status_code = status
    return page


def _item_page(
    request: Request, viewer: Viewer, vessel_id: str, item_id: str, typed: dict[str, str], wrong: str, status: int
) -> HTMLResponse:
    deps: Deps = request.app.state.deps
    gate = gate_now(deps, viewer, vessel_id)
    item = gate.item(item_id)
    if item is None:
        raise ProblemError(404, f"There is nothing called {item_id!r} on her spring list.")
    clock = YardClock(deps.zone, deps.now_ms())
    page = render(
        request,
        "gate_item.html",
        clock=clock,
        record=gate.record,
        shown=item_shown(gate, item, clock, ""),
        may_override=may_override(viewer),
        history=[
            (_ACTS[act], said, said.at_ms is not None and said.at_ms < item.since_ms) for act, said in item.history
        ],
        typed=typed,
        wrong=wrong,
    )
    page.status_code = status
    return page


_ACTS = {
    GateAct.DONE.value: "done",
    GateAct.REOPEN.value: "open again",
    GateAct.OVERRIDE.value: "overridden",
    GateAct.SIGHT.value: "seen closed",
}


def _wrong(error: ProblemError | ValidationError) -> tuple[str, int]:
    """Say what is wrong, and with which status; what is not there, or not for them, is for the error page."""
    if isinstance(error, ProblemError):
        if error.status in {403, 404, 503}:
            raise error
        return error.detail, error.status
    return " ".join(mistake.reason for mistake in mistakes_of(error.errors())), 422
