"""The vessel page: how she stands, her alerts with what to do, her charts, and her lay-up record."""

from typing import Annotated

from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse, JSONResponse

from monitor.alerting.limits import LIMITS
from monitor.charts import DARK, LIGHT, Panel, panels, specification
from monitor.messages.words import put_into_words
from monitor.model.inputs import Aboard
from monitor.model.views import VesselNow
from monitor.web.alert_shown import form_time, shown_alert
from monitor.web.call_words import call_lines
from monitor.web.clock import YardClock
from monitor.web.deps import Deps
from monitor.web.found import vessel_now
from monitor.web.lines import line_for
from monitor.web.ranks import urgency
from monitor.web.record_words import RecordWords
from monitor.web.round_words import said
from monitor.web.sight import Asking
from monitor.web.spans import ChartSpan
from monitor.web.templates import render
from monitor.web.troubles import notices_at_top
from monitor.web.until import aboard_until_ms

router = APIRouter()
PIXELS = 720
ENDED_SHOWN = 20
CHARTS_OF = {
    "frost": ("temperatures",),
    "damp": ("humidity", "dew-point"),
    "battery": ("volts",),
    "power": ("volts",),
    "bilge": ("bilge",),
}
"""Which charts show what a rule's alert is about."""


@router.get("/vessels/{vessel_id}")
def vessel(
    request: Request,
    viewer: Asking,
    vessel_id: str,
    span: ChartSpan = ChartSpan.TWO_DAYS,
    name: Annotated[str, Query(max_length=80, description="who stands in the forms' name fields")] = "",
) -> HTMLResponse:
    """Show a vessel."""
    deps: Deps = request.app.state.deps
    seq = deps.changes.seq
    now = vessel_now(deps, viewer, vessel_id)
    clock = YardClock(deps.zone, deps.now_ms())
    record = now.stored.vessel
    alerts = [shown_alert(deps, a, record, clock, for_owner=viewer.is_owner) for a in sorted(now.alerts, key=urgency)]
    ended = [a for a in deps.alerts.alerts(open_only=False, vessel=vessel_id, limit=200) if not a.is_open]
    return render(
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
        ended=[shown_alert(deps, a, record, clock, for_owner=viewer.is_owner) for a in ended[:ENDED_SHOWN]],
        ended_more=len(ended) - ENDED_SHOWN,
        span=span,
        spans=tuple(ChartSpan),
        panels=_troubled_first(_panels(deps, now, span, clock), now),
        card=[(said("card", field), text) for field, text in record.card.model_dump().items() if text.strip()],
        laid_up=RecordWords(record, deps.readings.newest(vessel_id), clock),
        top=notices_at_top(deps, viewer, clock),
        bundle=request.app.state.bundle.address,
    )


@router.get("/vessels/{vessel_id}/charts.json")
def charts(
    request: Request,
    viewer: Asking,
    vessel_id: str,
    span: ChartSpan = ChartSpan.TWO_DAYS,
    ground: str = "light",
    columns: Annotated[int, Query(ge=0, le=9)] = 0,
) -> JSONResponse:
    """Give a vessel's charts as Vega-Lite specifications, by the chart's key, with what each shows in words."""
    deps: Deps = request.app.state.deps
    now = vessel_now(deps, viewer, vessel_id)
    palette = DARK if ground == "dark" else LIGHT
    made = _panels(deps, now, span, YardClock(deps.zone, deps.now_ms()))
    return JSONResponse(
        {
            p.key: {
                "spec": specification(p, palette, columns=columns),
                "sentences": list(p.sentences),
                "unit": p.unit,
                "digits": p.digits,
            }
            for p in made
        }
    )


def _troubled_first(made: list[Panel], now: VesselNow) -> list[Panel]:
    """Put the charts first that show what her open alerts are about."""
    wanted = {key for a in now.alerts if not a.state.is_aside for key in CHARTS_OF.get(a.rule, ())}
    return sorted(made, key=lambda panel: panel.key not in wanted)


def _panels(deps: Deps, now: VesselNow, span: ChartSpan, clock: YardClock) -> list[Panel]:
    record = now.stored.vessel

    def made() -> list[Panel]:
        from_ms, to_ms = span.bounds(record, clock.now_ms)
        return panels(
            record,
            lambda sensor: deps.readings.buckets(record.id, sensor, from_ms, to_ms, PIXELS),
            deps.alerts.alerts_between(record.id, from_ms, to_ms),
            from_ms,
            to_ms,
            clock.zone,
        )

    return deps.panels.panels(record.id, span, clock, deps.changes, made)
