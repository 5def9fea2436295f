"""The round and visits, as data."""

from fastapi import APIRouter, Request

from monitor.web.clock import YardClock
from monitor.web.deps import Deps
from monitor.web.page_round import round_now
from monitor.web.page_visits import Days, counted_visits
from monitor.web.problems import ANSWERS, REFUSED, Mistake
from monitor.web.round_shown import StopShown
from monitor.web.sight import Asking
from monitor.web.visit_in import VisitIn
from monitor.web.visit_shapes import RoundOut, StopOut, VisitOut, VisitsOut, VisitTaken
from monitor.web.visit_take import take

router = APIRouter(tags=["visits"], responses=ANSWERS)


@router.get("/round")
def give_round(request: Request, viewer: Asking) -> RoundOut:
    """Give today's round, in walking order."""
    deps: Deps = request.app.state.deps
    clock = YardClock(deps.zone, deps.now_ms())
    found = round_now(deps, viewer)
    return RoundOut(stops=[StopOut.of(StopShown(s, clock)) for s in found.stops], left_out=found.left_out)


@router.get("/visits")
def give_visits(request: Request, viewer: Asking, days: Days = 30) -> VisitsOut:
    """Give the visits of the last days, newest first, and how many called out for nothing or found what was missed."""
    deps: Deps = request.app.state.deps
    counted, records = counted_visits(deps, viewer, days)
    return VisitsOut.of(counted, records, YardClock(deps.zone, deps.now_ms()))


@router.post("/vessels/{vessel_id}/visits", status_code=201, responses=REFUSED)
async def post_visit(request: Request, viewer: Asking, vessel_id: str, made: VisitIn) -> VisitTaken:
    """Hand in a visit. Every mistake in it is named at once; what was read comes back beside what the sensors said."""
    deps: Deps = request.app.state.deps
    taken = await take(deps, viewer, vessel_id, made)
    shown = VisitOut.of(taken.report, taken.vessel, YardClock(deps.zone, deps.now_ms()))
    refused = [Mistake(key=alert, reason=reason) for alert, reason in taken.refused]
    return VisitTaken(**shown.model_dump(), refused=refused)
