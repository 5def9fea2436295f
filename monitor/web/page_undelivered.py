"""Messages that have not reached those they are for: whom, since when, why, and what to do."""

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from monitor.messages.words import put_into_words
from monitor.model.notice import Notice
from monitor.web.call_words import call_title
from monitor.web.clock import YardClock
from monitor.web.deps import Deps
from monitor.web.notice_words import shown_notice
from monitor.web.sight import Asking
from monitor.web.templates import render
from monitor.web.undelivered import reached_later, send_again, undelivered

router = APIRouter()


@router.get("/undelivered")
def page(request: Request, viewer: Asking) -> HTMLResponse:
    """Show what has not been delivered."""
    deps: Deps = request.app.state.deps
    clock = YardClock(deps.zone, deps.now_ms())
    wall_ms = deps.health().wall_ms

    def about(notice: Notice) -> str:
        stored = None if notice.vessel is None else deps.records.record(notice.vessel)
        if stored is not None:
            return f"{stored.vessel.name}, {stored.vessel.place}"
        call = deps.calls.call(notice.call)
        return "What it was about" if call is None else call_title(deps, viewer, call)

    def told(notice: Notice) -> str:
        alert = next((found for key in notice.alerts if (found := deps.alerts.alert(key)) is not None), None)
        stored = None if alert is None else deps.records.record(alert.vessel)
        if alert is None or stored is None:
            return ""
        more = len(notice.alerts) - 1
        title = put_into_words(alert.finding, stored.vessel, clock.zone, clock.now_ms).title
        return f"{title}{f', and {more} more' if more else ''}"

    found = [
        (line, shown_notice(line, clock, wall_ms), about(line.notice), told(line.notice), reached_later(deps, line))
        for line in undelivered(deps, viewer)
    ]
    return render(request, "undelivered.html", clock=clock, lines=found)


@router.post("/undelivered/{notice_id}/again")
async def again(request: Request, viewer: Asking, notice_id: str) -> Response:
    """Have a message tried again that was given up."""
    await send_again(request.app.state.deps, viewer, notice_id)
    return RedirectResponse("/undelivered", status_code=303)
