"""The vessel page: how she stands, her alerts with what to do, her charts, and her lay-up record."""

from typing import Annotated

from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse, JSONResponse

from monitor.alerting.limits import LIMITS
from monitor.charts import DARK, LIGHT, Panel, specification
from monitor.charts.marks import NUMBERS
from monitor.charts.walltime import wall_ms
from monitor.messages.words import put_into_words
from monitor.model.inputs import Aboard
from monitor.model.views import VesselNow
from monitor.web.alert_shown import form_time, shown_alert
from monitor.web.call_words import call_lines
from monitor.web.card_shown import card_lines
from monitor.web.chart_list import marked
from monitor.web.chart_panels import CHARTS_OF, panels_of
from monitor.web.chart_span import FromAsked, ToAsked, chosen_span, shown_span, wall_time
from monitor.web.chart_zoom import steps
from monitor.web.clock import YardClock
from monitor.web.commission_shown import unproved
from monitor.web.deps import Deps
from monitor.web.found import vessel_now
from monitor.web.lines import line_for
from monitor.web.page_owner import AS_OWNER, owner_page
from monitor.web.problems import Mistake, ProblemError
from monitor.web.ranks import urgency
from monitor.web.record_words import RecordWords
from monitor.web.sight import Asking
from monitor.web.spans import ChartSpan, Shown
from monitor.web.templates import render
from monitor.web.troubles import notices_at_top
from monitor.web.until import aboard_until_ms

router = APIRouter()
ENDED_SHOWN = 20


@router.get("/vessels/{vessel_id}")
def vessel(
    request: Request,
    viewer: Asking,
    vessel_id: str,
    span: ChartSpan = ChartSpan.TWO_DAYS,
    begins: FromAsked = "",
    ends: ToAsked = "",
    name: Annotated[str, Query(max_length=80, description="who stands in the forms' name fields")] = "",
    looks_as: Annotated[str, Query(alias="as", max_length=20)] = "",
) -> HTMLResponse:
    """Show a vessel."""
    deps: Deps = request.app.state.deps
    seq = deps.changes.seq
    now = vessel_now(deps, viewer, vessel_id)
    if viewer.is_owner or looks_as == AS_OWNER:
        return owner_page(request, viewer, now)
    clock = YardClock(deps.zone, deps.now_ms())
    record = now.stored.vessel
    alerts = [shown_alert(deps, a, record, clock) for a in sorted(now.alerts, key=urgency)]
    ended = [a for a in deps.alerts.alerts(open_only=False, vessel=vessel_id, limit=200) if not a.is_open]
    shown, wrong = _shown(deps, now, span, begins, ends, clock)
    page = render(
        request,
        "vessel.html",
        clock=clock,
        seq=seq,
        now=now,
        record=record,
        line=line_for(now, clock, deaf=deps.health().deaf),
        alerts=[shown for shown in alerts if not shown.is_aside],
        aside=[shown for shown in alerts if shown.is_aside],
        calls=call_lines(deps, viewer, clock, vessel_id, {alert.id: alert for alert in now.alerts}),
        name=name,
        reasons=tuple(Aboard),
        aboard_until=form_time(aboard_until_ms(clock.now_ms), clock.zone),
        aboard_most=form_time(clock.now_ms + LIMITS.ms("suppress_most"), clock.zone),
        not_known=[put_into_words(f, record, clock.zone, clock.now_ms) for f in now.not_known],
        ended=[shown_alert(deps, a, record, clock) for a in ended[:ENDED_SHOWN]],
        ended_more=len(ended) - ENDED_SHOWN,
        shown=shown,
        now_wall=wall_ms(clock.now_ms, clock.zone),
        spans=tuple(ChartSpan),
        steps=steps(shown, clock.now_ms, clock.zone),
        begins=begins if wrong else wall_time(shown.from_ms, clock.zone),
        ends=ends if wrong else wall_time(shown.to_ms, clock.zone),
        wrong=wrong,
        marked=marked(deps, now, shown, clock),
        panels=_troubled_first(panels_of(deps, now, shown, clock), now),
        card=card_lines(record.card),
        unproved=unproved(record),
        laid_up=RecordWords(record, deps.readings.newest(vessel_id), clock),
        top=notices_at_top(deps, viewer, clock),
        bundle=request.app.state.bundle.address,
    )
    if wrong:
        page.status_code = 422
    return page


@router.get("/vessels/{vessel_id}/charts.json")
def charts(
    request: Request,
    viewer: Asking,
    vessel_id: str,
    span: ChartSpan = ChartSpan.TWO_DAYS,
    begins: FromAsked = "",
    ends: ToAsked = "",
    ground: str = "light",
    columns: Annotated[int, Query(ge=0, le=9)] = 0,
) -> JSONResponse:
    """Give a vessel's charts as Vega-Lite specifications, by the chart's key, with what each shows in words."""
    deps: Deps = request.app.state.deps
    now = vessel_now(deps, viewer, vessel_id)
    palette = DARK if ground == "dark" else LIGHT
    clock = YardClock(deps.zone, deps.now_ms())
    made = panels_of(deps, now, _asked(deps, now, span, begins, ends, clock), clock)
    return JSONResponse(
        {
            p.key: {
                "spec": specification(p, palette, columns=columns),
                "sentences": list(p.sentences),
                "unit": p.unit,
                "digits": p.digits,
                "marks": [{"t": wall_ms(h.at_ms, p.zone), "s": h.words} for h in p.happenings]
                + [{"t": wall_ms(m.at_ms, p.zone), "s": f"alert {NUMBERS[m.priority]} opened"} for m in p.marks],
            }
            for p in made
        }
    )


def _troubled_first(made: list[Panel], now: VesselNow) -> list[Panel]:
    """Put the charts first that show what her open alerts are about."""
    wanted = {key for a in now.alerts if not a.state.is_aside for key in CHARTS_OF.get(a.rule, ())}
    return sorted(made, key=lambda panel: panel.key not in wanted)


def _asked(deps: Deps, now: VesselNow, span: ChartSpan, begins: str, ends: str, clock: YardClock) -> Shown:
    """Give what is asked for: two ends where one of them is written, else a span up to now.

    Raises:
        ProblemError: 422 where the ends are no span.
    """
    if begins or ends:
        return chosen_span(begins, ends, clock.now_ms, clock.zone)
    forecast = None if deps.forecasts is None else deps.forecasts.forecast()
    return shown_span(span, now.stored.vessel, clock.now_ms, forecast)


def _shown(
    deps: Deps, now: VesselNow, span: ChartSpan, begins: str, ends: str, clock: YardClock
) -> tuple[Shown, list[Mistake]]:
    """Give what the page shows, and what is wrong with what was written: then it is the span up to now."""
    try:
        return _asked(deps, now, span, begins, ends, clock), []
    except ProblemError as error:
        return _asked(deps, now, span, "", "", clock), list(error.mistakes or ())
