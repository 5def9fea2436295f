"""The vessel page: how she stands, her alerts with what to do, her charts, and her lay-up record."""

from dataclasses import dataclass
from typing import Annotated

from fastapi import APIRouter, Form, Query, Request
from fastapi.responses import HTMLResponse, JSONResponse, RedirectResponse, Response

from monitor.charts import DARK, LIGHT, Panel, panels, specification
from monitor.messages.words import Words, change_line, put_into_words
from monitor.model.alert import Alert
from monitor.model.views import VesselNow
from monitor.web.clock import YardClock
from monitor.web.commands import acknowledge_alert
from monitor.web.deps import Deps
from monitor.web.found import vessel_now
from monitor.web.lines import line_for
from monitor.web.ranks import Rank, rank_of, urgency
from monitor.web.record_words import RecordWords
from monitor.web.sight import Asking
from monitor.web.spans import ChartSpan
from monitor.web.templates import render
from monitor.web.troubles import troubles_and_delays

router = APIRouter()
PIXELS = 720
ENDED_SHOWN = 20


@dataclass(frozen=True, slots=True)
class AlertShown:
    """An alert as the page shows it."""

    alert: Alert
    rank: Rank
    words: Words
    log: list[tuple[int, str]]

    @property
    def wants_seeing(self) -> bool:
        """Whether nobody has said yet that they have seen it."""
        return self.alert.acknowledged_ms is None


@router.get("/vessels/{vessel_id}")
def vessel(request: Request, viewer: Asking, vessel_id: str, span: ChartSpan = ChartSpan.TWO_DAYS) -> HTMLResponse:
    """Show a vessel."""
    deps: Deps = request.app.state.deps
    seq = deps.changes.seq
    now = vessel_now(deps, viewer, vessel_id)
    clock = YardClock(deps.zone, deps.now_ms())
    record = now.stored.vessel
    alerts = [_shown(deps, a, now, clock) for a in sorted(now.alerts, key=urgency)]
    ended = [a for a in deps.alerts.alerts(open_only=False, vessel=vessel_id, limit=200) if not a.is_open]
    return render(
        request,
        "vessel.html",
        clock=clock,
        seq=seq,
        now=now,
        record=record,
        line=line_for(now, clock, deaf=deps.health().deaf),
        alerts=alerts,
        not_known=[put_into_words(f, record, clock.zone, clock.now_ms) for f in now.not_known],
        ended=[_shown(deps, a, now, clock) for a in ended[:ENDED_SHOWN]],
        ended_more=len(ended) - ENDED_SHOWN,
        span=span,
        spans=tuple(ChartSpan),
        panels=_panels(deps, now, span, clock),
        laid_up=RecordWords(record, deps.readings.newest(vessel_id), clock),
        troubles=troubles_and_delays(deps.health(), clock),
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


@router.post("/alerts/{alert_id}/acknowledge")
async def acknowledge(
    request: Request,
    viewer: Asking,
    alert_id: str,
    name: Annotated[str, Form(max_length=80)],
    note: Annotated[str, Form(max_length=500)] = "",
) -> Response:
    """Note that somebody has seen an alert, and show the vessel again."""
    alert = await acknowledge_alert(request.app.state.deps, viewer, alert_id, name, note)
    return RedirectResponse(f"/vessels/{alert.vessel}#alerts", status_code=303)


def _shown(deps: Deps, alert: Alert, now: VesselNow, clock: YardClock) -> AlertShown:
    words = put_into_words(alert.finding, now.stored.vessel, clock.zone, clock.now_ms)
    log = [(e.at_ms, change_line(e)) for e in deps.alerts.events(alert.id)]
    return AlertShown(alert, rank_of(alert), words, log)


def _panels(deps: Deps, now: VesselNow, span: ChartSpan, clock: YardClock) -> list[Panel]:
    record = now.stored.vessel
    from_ms, to_ms = span.bounds(record, clock.now_ms)
    alerts = deps.alerts.alerts_between(record.id, from_ms, to_ms)
    return panels(
        record,
        lambda sensor: deps.readings.buckets(record.id, sensor, from_ms, to_ms, PIXELS),
        alerts,
        from_ms,
        to_ms,
        clock.zone,
    )
