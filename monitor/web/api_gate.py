"""The launch gate, as data."""

from fastapi import APIRouter, Request
from fastapi.concurrency import run_in_threadpool

from monitor.web.clock import YardClock
from monitor.web.deps import Deps
from monitor.web.gate_in import ItemIn, SlingsIn, gate_now, say
from monitor.web.gate_shapes import GateOut
from monitor.web.problems import ANSWERS, REFUSED
from monitor.web.sight import Asking, Viewer

router = APIRouter(tags=["launch gate"], responses=ANSWERS)


@router.get("/vessels/{vessel_id}/gate")
def give_gate(request: Request, viewer: Asking, vessel_id: str) -> GateOut:
    """Give her spring list in the order of the day, and whether anything that was found holds her up."""
    return _out(request.app.state.deps, viewer, vessel_id)


@router.post("/vessels/{vessel_id}/gate", responses=REFUSED)
async def say_slings(request: Request, viewer: Asking, vessel_id: str, said: SlingsIn) -> GateOut:
    """Say that she is in the slings (engineers), or that somebody looked for ten minutes and she stayed dry."""
    deps: Deps = request.app.state.deps
    await say(deps, viewer, vessel_id, said)
    return await run_in_threadpool(_out, deps, viewer, vessel_id)


@router.post("/vessels/{vessel_id}/gate/{item_id}", responses=REFUSED)
async def say_of_item(request: Request, viewer: Asking, vessel_id: str, item_id: str, said: ItemIn) -> GateOut:
    """Say that something is done, sighted, open again or, by an engineer and with a reason, overridden.

    An opening in the hull is never overridden: two different people sight it closed.
    """
    deps: Deps = request.app.state.deps
    await say(deps, viewer, vessel_id, said, item_id)
    return await run_in_threadpool(_out, deps, viewer, vessel_id)


def _out(deps: Deps, viewer: Viewer, vessel_id: str) -> GateOut:
    return GateOut.of(gate_now(deps, viewer, vessel_id), YardClock(deps.zone, deps.now_ms()).whole)
