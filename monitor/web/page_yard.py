"""The yard page: every vessel, worst first."""

from typing import Annotated

from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse, Response
from markupsafe import Markup

from monitor.model.alert import Alert
from monitor.model.views import VesselNow
from monitor.web import sight
from monitor.web.call_words import call_lines
from monitor.web.clock import YardClock
from monitor.web.deps import Deps
from monitor.web.lines import Line, counts
from monitor.web.menu import is_for
from monitor.web.page_owner import owner_front
from monitor.web.ranks import Rank
from monitor.web.sight import Asking, Viewer
from monitor.web.since_box import since_box
from monitor.web.templates import environment, render
from monitor.web.troubles import notices_at_top
from monitor.web.yard_filters import Selection, choices

router = APIRouter()
SHOWN = 100
SHOWN_AT_MOST = 500
Words = Annotated[str, Query(max_length=100)]


@router.get("/")
def yard(
    request: Request,
    viewer: Asking,
    q: Words = "",
    state: Words = "",
    area: Words = "",
    who: Words = "",
    everything: Annotated[bool, Query(alias="all")] = False,
) -> Response:
    """Show the yard: what is not quiet and the first hundred, the rest on asking."""
    deps: Deps = request.app.state.deps
    if viewer.is_owner:
        return owner_front(request, viewer)
    clock = YardClock(deps.zone, deps.now_ms())
    seq = deps.changes.seq
    seen = _seen(deps, viewer)
    lines = _lines(deps, seen, clock)
    me = viewer.acts_as("")
    chosen = Selection.asked(q, state, area, who, me, everything=everything)
    found = lines if chosen.is_all else [line for line in lines if chosen.takes(line)]
    shown = found if everything else _first(found)
    return render(
        request,
        "yard.html",
        clock=clock,
        seq=seq,
        rows=_rows(deps, shown, clock),
        found=len(found),
        total=len(lines),
        counts=counts(lines),
        chosen=chosen,
        choices=choices(lines, me),
        adds=viewer.known is not None and is_for(viewer.known.grade, "/vessels/new"),
        top=notices_at_top(deps, viewer, clock),
        since=since_box(request, deps, viewer, clock),
        calls=call_lines(deps, viewer, clock, known=_alerts(seen)),
        aside=sum(line.aside for line in lines),
    )


@router.get("/rows")
def rows(
    request: Request,
    viewer: Asking,
    ids: str = "",
    q: Words = "",
    state: Words = "",
    area: Words = "",
    who: Words = "",
) -> HTMLResponse:
    """Give the lines of some vessels again, with the counts: what a live page puts in place of its own."""
    deps: Deps = request.app.state.deps
    clock = YardClock(deps.zone, deps.now_ms())
    seen = _seen(deps, viewer)
    lines = _lines(deps, seen, clock)
    wanted = set(ids.split(","))
    chosen = Selection.asked(q, state, area, who, viewer.acts_as(""), everything=True)
    some = [line for line in lines if line.vessel.id in wanted and chosen.takes(line)]
    return render(
        request,
        "rows.html",
        clock=clock,
        rows=_rows(deps, some, clock),
        total=len(lines),
        counts=counts(lines),
        chosen=chosen,
        top=notices_at_top(deps, viewer, clock),
        since=since_box(request, deps, viewer, clock),
        calls=call_lines(deps, viewer, clock, known=_alerts(seen)),
        aside=sum(line.aside for line in lines),
    )


def _seen(deps: Deps, viewer: Viewer) -> list[VesselNow]:
    return [v for v in deps.yard.vessels_now(viewer.boats) if sight.may_see(viewer, v.stored.vessel.id)]


def _alerts(seen: list[VesselNow]) -> dict[str, Alert]:
    return {alert.id: alert for vessel in seen for alert in vessel.alerts}


def _lines(deps: Deps, seen: list[VesselNow], clock: YardClock) -> list[Line]:
    deaf = deps.health().deaf
    return sorted((deps.lines.line_for(v, clock, deaf=deaf) for v in seen), key=lambda line: line.order)


def _rows(deps: Deps, lines: list[Line], clock: YardClock) -> list[Markup]:
    parts = environment().get_template("parts.html").module
    draw, draw_heard = parts.row, parts.row_heard  # type: ignore[attr-defined]
    return [deps.lines.row(line, clock, draw, draw_heard) for line in lines]


def _first(found: list[Line]) -> list[Line]:
    loud = sum(line.rank is not Rank.QUIET for line in found)
    return found[: min(max(loud, SHOWN), SHOWN_AT_MOST)]
