"""What visits say of the watch: how many, for nothing, what was missed, and sensors that a hand disagreed with."""

from typing import Annotated

from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse

from monitor.model.inputs import VisitReport
from monitor.model.vessel import Vessel
from monitor.record.visit_count import VisitCount, count_visits
from monitor.web import sight
from monitor.web.clock import YardClock
from monitor.web.deps import Deps
from monitor.web.round_shown import compared_words
from monitor.web.round_words import said
from monitor.web.sight import Asking, Viewer
from monitor.web.spans import DAY_MS
from monitor.web.templates import render

router = APIRouter()
VISITS_AT_MOST = 10_000
SPANS = ((7, "7 days"), (30, "30 days"), (200, "This winter"))
Days = Annotated[int, Query(ge=1, le=400, description="how many days back from now")]


@router.get("/visits")
def show_visits(request: Request, viewer: Asking, days: Days = 30) -> HTMLResponse:
    """Show the visits of a span, counted, with the list behind each number."""
    deps: Deps = request.app.state.deps
    clock = YardClock(deps.zone, deps.now_ms())
    counted, records = counted_visits(deps, viewer, days)

    def line(report: VisitReport) -> dict[str, object]:
        record = records[report.vessel]
        return {"report": report, "name": record.name, "found": said("found_past", report.visit.found.value)}

    return render(
        request,
        "visits.html",
        clock=clock,
        days=days,
        spans=SPANS,
        counted=counted,
        visits=[line(v) for v in counted.visits],
        false_calls=[line(v) for v in counted.false_calls],
        missed=[line(v) for v in counted.missed],
        differed=[
            line(d.visit) | {"says": compared_words(d.comparison, records[d.visit.vessel], clock)}
            for d in counted.disagreements
        ],
    )


def counted_visits(deps: Deps, viewer: Viewer, days: int) -> tuple[VisitCount, dict[str, Vessel]]:
    """Count the visits of the last days to the boats that this viewer may see, and give the boats' records."""
    boats = [v.stored.vessel for v in deps.yard.vessels_now() if sight.may_see(viewer, v.stored.vessel.id)]
    records = {record.id: record for record in boats}
    visits = [v for v in deps.visits.visits(limit=VISITS_AT_MOST) if v.vessel in records]
    now_ms = deps.now_ms()
    return count_visits(visits, records, now_ms - days * DAY_MS, now_ms), records
