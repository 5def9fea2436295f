"""Messages that have not reached those they are for: whom, since when, why, and what to do."""

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from monitor.web.clock import YardClock
from monitor.web.deps import Deps
from monitor.web.notice_words import shown_notice
from monitor.web.sight import Asking
from monitor.web.templates import render
from monitor.web.undelivered import undelivered

router = APIRouter()


@router.get("/undelivered")
def page(request: Request, viewer: Asking) -> HTMLResponse:
    """Show what has not been delivered."""
    deps: Deps = request.app.state.deps
    clock = YardClock(deps.zone, deps.now_ms())
    wall_ms = deps.health().wall_ms
    found = [(line, shown_notice(line, clock, wall_ms)) for line in undelivered(deps, viewer)]
    return render(request, "undelivered.html", clock=clock, lines=found)
