"""Moving a vessel, and how far her sensors are proved, as data."""

from fastapi import APIRouter, Request

from monitor.web.commission_shapes import CommissionOut
from monitor.web.deps import Deps
from monitor.web.found import vessel_now
from monitor.web.move_in import MoveIn, move_vessel
from monitor.web.problems import ANSWERS, REFUSED
from monitor.web.sight import Asking

router = APIRouter(tags=["vessels"], responses=ANSWERS)


@router.get("/vessels/{vessel_id}/commission")
def give_commission(request: Request, viewer: Asking, vessel_id: str) -> CommissionOut:
    """Give which proofs her sensors want, which are missing, and whether the yard took the watch on."""
    deps: Deps = request.app.state.deps
    return CommissionOut.of(vessel_now(deps, viewer, vessel_id).stored.vessel)


@router.post("/vessels/{vessel_id}/move", responses=REFUSED)
async def move(request: Request, viewer: Asking, vessel_id: str, said: MoveIn) -> CommissionOut:
    """Say where she is now: a plot or a berth, and as what she lies there.

    Where another boat stands there by her record, or an opening in the hull is left, it answers 409 with what to look
    at; ``sure`` says that somebody has.
    """
    stored = await move_vessel(request.app.state.deps, viewer, vessel_id, said)
    return CommissionOut.of(stored.vessel)
