"""One call: the boats in the order in which to walk to them, who was told what, and one button for all of it."""

from dataclasses import dataclass
from typing import Annotated
from urllib.parse import quote

from fastapi import APIRouter, Form, HTTPException, Query, Request
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from monitor.model.alert import Alert
from monitor.model.call import Call, CallKind
from monitor.model.vessel import Vessel
from monitor.model.views import NoticeLine
from monitor.web import sight
from monitor.web.acts import AcknowledgeIn
from monitor.web.alert_shown import AlertShown, shown_alert
from monitor.web.call_having import who_has
from monitor.web.call_words import call_alerts, call_title, may_see_call, rung_words, told_alerts
from monitor.web.card_shown import CardLine, card_lines
from monitor.web.clock import YardClock
from monitor.web.commands import acknowledge_all
from monitor.web.deps import Deps
from monitor.web.notice_words import gathered, shown_notice
from monitor.web.problems import ProblemError
from monitor.web.sight import Asking, Viewer
from monitor.web.templates import render
from monitor.web.troubles import notices_at_top

__all__ = ["call_alerts", "router", "seen_notices", "unseen", "visible_call"]

router = APIRouter()
MOST_CARDS = 12


@dataclass(frozen=True, slots=True)
class Stop:
    """A boat on the way, with her alerts of the call, the most pressing first."""

    vessel: Vessel
    alerts: tuple[AlertShown, ...]
    card: tuple[CardLine, ...] = ()


@router.get("/calls/{call_id}")
def call(
    request: Request, viewer: Asking, call_id: str, name: Annotated[str, Query(max_length=80)] = ""
) -> HTMLResponse:
    """Show a call."""
    deps: Deps = request.app.state.deps
    clock = YardClock(deps.zone, deps.now_ms())
    found = visible_call(deps, viewer, call_id)
    alerts = (call_alerts if found.ended_ms is None else told_alerts)(deps, viewer, found)
    stops = _stops(deps, viewer, alerts, clock)
    ranks = [shown.rank for stop in stops for shown in stop.alerts if shown.alert.is_open]
    wall_ms = deps.health().wall_ms
    lines = seen_notices(deps, viewer, call_id)
    return render(
        request,
        "call.html",
        clock=clock,
        call=found,
        is_fleet=found.kind is CallKind.FLEET,
        title=call_title(deps, viewer, found),
        who=who_has(found, alerts, deps.alerts.events, clock),
        rung=rung_words(found) if lines and not viewer.is_owner else "",
        rank=min(ranks, default=None),
        stops=stops,
        total=len(alerts),
        seen=sum(alert.acknowledged_ms is not None for alert in alerts),
        unseen=len(unseen(alerts)),
        notices=gathered(shown_notice(line, clock, wall_ms) for line in lines),
        name=name,
        top=notices_at_top(deps, viewer, clock),
    )


@router.post("/calls/{call_id}/acknowledge")
async def acknowledge(
    request: Request, viewer: Asking, call_id: str, act: Annotated[AcknowledgeIn, Form()]
) -> Response:
    """Note that somebody has seen all alerts of a call."""
    deps: Deps = request.app.state.deps
    found = await run_in_threadpool(visible_call, deps, viewer, call_id)
    alerts = unseen(await run_in_threadpool(call_alerts, deps, viewer, found))
    if not alerts:
        raise ProblemError(409, "Somebody has seen all of it already; there is nothing left to note.")
    await acknowledge_all(deps, viewer, alerts, act.name, act.note)
    return RedirectResponse(f"/calls/{call_id}?name={quote(act.name)}", status_code=303)


def visible_call(deps: Deps, viewer: Viewer, call_id: str) -> Call:
    """Find a call of which this viewer may see a boat.

    Raises:
        HTTPException: 404 where there is none.
    """
    found = deps.calls.call(call_id)
    if found is None or not may_see_call(found, viewer):
        raise HTTPException(404, f"There is no call {call_id!r}.")
    return found


def seen_notices(deps: Deps, viewer: Viewer, call_id: str) -> list[NoticeLine]:
    """Give the messages of a call that this viewer may see: an owner those that went to themselves."""
    lines = [line for line in deps.calls.notices(call_id) if sight.may_see(viewer, line.notice.vessel)]
    return [line for line in lines if not viewer.is_owner or _is_for(viewer, line)]


def _is_for(viewer: Viewer, line: NoticeLine) -> bool:
    if viewer.known is None or line.notice.vessel is None:
        return False
    return line.notice.owner or line.notice.person.casefold() == viewer.known.name.casefold()


def unseen(alerts: list[Alert]) -> list[Alert]:
    """Give those that are open, not put aside, and that nobody has seen."""
    return [a for a in alerts if a.is_open and a.acknowledged_ms is None and not a.state.is_aside]


def _stops(deps: Deps, viewer: Viewer, alerts: list[Alert], clock: YardClock) -> list[Stop]:
    by_vessel: dict[str, list[Alert]] = {}
    for alert in alerts:
        by_vessel.setdefault(alert.vessel, []).append(alert)
    stops = []
    for vessel_id, hers in by_vessel.items():
        stored = deps.records.record(vessel_id)
        if stored is not None:
            shown = tuple(shown_alert(deps, a, stored.vessel, clock, for_owner=viewer.is_owner) for a in hers)
            # An owner knows where the keys are; of an event of many boats the card stands on each boat's page.
            card = () if viewer.is_owner or len(by_vessel) > MOST_CARDS else tuple(card_lines(stored.vessel.card))
            stops.append(Stop(stored.vessel, shown, card))
    return stops
