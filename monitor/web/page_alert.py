"""One alert: what it tells, why it was told, what it depends on, what has happened to it, and what can be done."""

from typing import Annotated

from fastapi import APIRouter, HTTPException, Query, Request
from fastapi.responses import HTMLResponse

from monitor.charts.walltime import wall_ms
from monitor.web.alert_limits import limits_behind
from monitor.web.alert_record import record_lines, version_at
from monitor.web.alert_shown import shown_alert
from monitor.web.alert_why import around, figure_rows, reading_rows, time_of
from monitor.web.card_shown import card_lines
from monitor.web.chart_panels import CHARTS_OF, panels_of
from monitor.web.clock import YardClock
from monitor.web.deps import Deps
from monitor.web.found import vessel_now, visible_alert
from monitor.web.rule_text import LIMITS_OF, formula, rule_page, when_told
from monitor.web.sight import Asking
from monitor.web.templates import render
from monitor.web.troubles import notices_at_top

router = APIRouter()


@router.get("/alerts/{alert_id}")
def alert(
    request: Request,
    viewer: Asking,
    alert_id: str,
    name: Annotated[str, Query(max_length=80, description="who stands in the forms' name fields")] = "",
) -> HTMLResponse:
    """Show an alert."""
    deps: Deps = request.app.state.deps
    seq = deps.changes.seq
    found = visible_alert(deps, viewer, alert_id)
    now = vessel_now(deps, viewer, found.vessel)
    clock = YardClock(deps.zone, deps.now_ms())
    versions = deps.records.versions(found.vessel)
    if not versions:
        raise HTTPException(404, f"The record of {found.vessel!r} is not kept any more.")
    stored = version_at(versions, found.ended_ms or clock.now_ms)
    shown = shown_alert(deps, found, stored.vessel, clock, for_owner=viewer.is_owner)
    span = time_of(found, clock)
    charts = [p for p in panels_of(deps, now, span, clock) if p.key in CHARTS_OF.get(found.rule, ())]
    has_page = found.rule in LIMITS_OF
    return render(
        request,
        "alert_page.html",
        clock=clock,
        seq=seq,
        now_wall=wall_ms(clock.now_ms, clock.zone),
        shown=shown,
        record=now.stored.vessel,
        stored=stored,
        name=name,
        figures=figure_rows(found.finding, shown.words, clock),
        readings=reading_rows(found.finding, stored.vessel, clock),
        lines=record_lines(found.finding, stored.vessel, clock),
        limits=limits_behind(found.finding),
        rule=rule_page(found.rule) if has_page else None,
        formula=formula(found.rule) if has_page else "",
        when=when_told(found.rule, found.finding.kind) if has_page else (),
        span=span,
        opening=around(found.opened_ms, clock),
        panels=[panel for panel in charts if not panel.is_empty],
        card=card_lines(now.stored.vessel.card),
        top=notices_at_top(deps, viewer, clock),
        bundle=request.app.state.bundle.address,
    )
