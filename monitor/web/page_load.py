"""The alert load: how many a day, by how soon somebody must act; which stand for long, and which come and go."""

from typing import Annotated

from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse

from monitor.messages.words import priority_words, put_into_words
from monitor.model.scale import Priority
from monitor.model.views import STANDING_DAYS
from monitor.web.alert_load import LONGEST_DAYS, SPANS_DAYS, Worn, measure
from monitor.web.clock import YardClock
from monitor.web.deps import Deps
from monitor.web.sight import Asking
from monitor.web.templates import render

router = APIRouter()


@router.get("/load")
def page(request: Request, viewer: Asking, days: Annotated[int, Query(ge=1, le=LONGEST_DAYS)] = 7) -> HTMLResponse:
    """Show the alert load of the days up to now."""
    deps: Deps = request.app.state.deps
    clock = YardClock(deps.zone, deps.now_ms())
    load = measure(deps, viewer, days)

    def titled(worn: Worn) -> tuple[Worn, str]:
        return worn, put_into_words(worn.alert.finding, worn.vessel, clock.zone, clock.now_ms).title

    rows = [(priority_words(p), load.highest.get(p, 0), load.per_day(p)) for p in reversed(Priority)]
    return render(
        request,
        "load.html",
        clock=clock,
        days=days,
        spans=SPANS_DAYS,
        rows=rows,
        standing=[titled(worn) for worn in load.standing],
        chattering=[titled(worn) for worn in load.chattering],
        standing_days=round(STANDING_DAYS),
    )
