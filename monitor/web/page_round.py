"""The round: today's boats in walking order, each with why, what to look at and what to read; it prints with boxes."""

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from monitor.record.round import CAUTIONS, Round, todays_round
from monitor.web import sight
from monitor.web.clock import YardClock
from monitor.web.deps import Deps
from monitor.web.round_shown import StopShown
from monitor.web.round_words import said
from monitor.web.sight import Asking, Viewer
from monitor.web.templates import render
from monitor.web.troubles import troubles
from monitor.web.visit_take import last_visit

router = APIRouter()


@router.get("/round")
def show_round(request: Request, viewer: Asking) -> HTMLResponse:
    """Show today's round."""
    deps: Deps = request.app.state.deps
    clock = YardClock(deps.zone, deps.now_ms())
    found = round_now(deps, viewer)
    stops = [StopShown(stop, clock) for stop in found.stops]
    wanted = {code for stop in found.stops for code in stop.cautions}
    return render(
        request,
        "round.html",
        clock=clock,
        stops=stops,
        left_out=found.left_out,
        cautions=[said("cautions", code) for code in CAUTIONS if code in wanted],
        troubles=troubles(deps.health(), clock),
    )


def round_now(deps: Deps, viewer: Viewer) -> Round:
    """Give today's round of the boats that this viewer may see."""
    boats = [v for v in deps.yard.vessels_now() if sight.may_see(viewer, v.stored.vessel.id)]
    return todays_round(boats, lambda vessel: last_visit(deps, vessel), deps.now_ms(), deps.zone)
