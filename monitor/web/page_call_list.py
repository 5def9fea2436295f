"""What people were told: every call, those that are not over first."""

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from monitor.model.call import Call
from monitor.web.call_words import CallLine, call_line, may_see_call
from monitor.web.clock import YardClock
from monitor.web.deps import Deps
from monitor.web.ranks import Rank
from monitor.web.seen import seen
from monitor.web.sight import Asking
from monitor.web.templates import render
from monitor.web.troubles import notices_at_top

router = APIRouter()
OPEN_SHOWN = 1_000
OVER_SHOWN = 50


@router.get("/calls")
def page(request: Request, viewer: Asking) -> HTMLResponse:
    """Show the calls, worst first, and the newest of those that are over."""
    deps: Deps = request.app.state.deps
    clock = YardClock(deps.zone, deps.now_ms())

    def of_open(most: int) -> list[Call]:
        return deps.calls.calls(open_only=True, limit=most)

    def newest(most: int) -> list[Call]:
        return deps.calls.calls(open_only=False, limit=most)

    still = seen(of_open, lambda c: may_see_call(c, viewer), OPEN_SHOWN)
    over = seen(newest, lambda c: c.ended_ms is not None and may_see_call(c, viewer), OVER_SHOWN)

    known = {alert.id: alert for now in deps.yard.vessels_now(viewer.boats) for alert in now.alerts}

    def shown(found: list[Call]) -> list[CallLine]:
        return [call_line(deps, viewer, clock, call, known) for call in found]

    return render(
        request,
        "calls.html",
        clock=clock,
        still=sorted(shown(still), key=lambda line: max(Rank) if line.rank is None else line.rank),
        over=shown(over),
        top=notices_at_top(deps, viewer, clock),
    )
