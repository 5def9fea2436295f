"""The link in a message: it asks before it acts, so that a scanner that opens it changes nothing; it is used once."""

from dataclasses import dataclass
from typing import Annotated

from fastapi import APIRouter, Form, HTTPException, Request
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from monitor.messages.links import LinkError
from monitor.model.alert import Alert, AlertChange
from monitor.model.notice import Notice
from monitor.web import sight
from monitor.web.acts import AcknowledgeIn
from monitor.web.alert_shown import AlertShown, shown_alert
from monitor.web.card_shown import CardLine, card_lines
from monitor.web.clock import YardClock
from monitor.web.commands import accept_all, acknowledge_all
from monitor.web.deps import Deps
from monitor.web.link import link_stands, offered
from monitor.web.page_calls import MOST_CARDS, unseen
from monitor.web.problems import ProblemError
from monitor.web.sight import Viewer
from monitor.web.templates import render

router = APIRouter()


@dataclass(frozen=True, slots=True)
class Told:
    """One alert of the message, as it stands now."""

    vessel: str
    place: str
    name: str
    shown: AlertShown
    card: tuple[CardLine, ...]


@router.api_route("/a/{token}", methods=["GET", "HEAD"])
def ask(request: Request, token: str) -> HTMLResponse:
    """Show what the message told, and ask whether its reader has seen it. Nothing is changed by looking."""
    deps: Deps = request.app.state.deps
    clock = YardClock(deps.zone, deps.now_ms())
    notice = _notice(deps, token)
    told = _told(deps, notice, clock)
    alerts = [t.shown.alert for t in told]
    used = deps.calls.link_used(notice.id)
    handed = offered(alerts, notice.person)
    by = list(dict.fromkeys(_handed_by(deps, alert) for alert in handed))
    stands = link_stands(alerts, unseen(alerts), notice.person, clock, used=used, handed_by=by)
    cards = {t.name: t.card for t in told if t.card}
    values: dict[str, object] = {
        "cards": cards if len(cards) <= MOST_CARDS else {},
        "token": token,
        "notice": notice,
        "told": told,
        "stands": stands,
        "is_handed": bool(handed),
    }
    page = render(request, "link.html", clock=clock, **values)
    page.headers["Cache-Control"] = "no-store"
    return page


@router.post("/a/{token}")
async def act(request: Request, token: str, act: Annotated[AcknowledgeIn, Form()]) -> Response:
    """Note that the message's reader has seen what it told of, or takes on what is handed to them."""
    deps: Deps = request.app.state.deps
    clock = YardClock(deps.zone, deps.now_ms())
    notice = await run_in_threadpool(_notice, deps, token)
    # Pressed twice at once, the second press waits and finds the link used: one name stands at all it told of.
    async with deps.presses.of(notice.id):
        told = await run_in_threadpool(_told, deps, notice, clock)
        used = await run_in_threadpool(deps.calls.link_used, notice.id)
        alerts = [] if used else [t.shown.alert for t in told]
        handed = offered(alerts, notice.person)
        if handed:
            await accept_all(deps, handed, notice.person, act.note, notice.id)
        wanted = [alert for alert in unseen(alerts) if alert not in handed]
        if wanted:
            await acknowledge_all(deps, Viewer(), wanted, act.name, act.note, link=notice.id)
    return RedirectResponse(f"/a/{token}", status_code=303)


def _handed_by(deps: Deps, alert: Alert) -> str:
    given = [event.actor for event in deps.alerts.events(alert.id) if event.change is AlertChange.HANDED_OVER]
    return given[-1] if given else "Somebody"


def _notice(deps: Deps, token: str) -> Notice:
    """Find the message that a link stands in.

    Raises:
        ProblemError: 404 where the link is forged or too old, in words.
        HTTPException: 404 where the message is not kept any more.
    """
    try:
        notice_id = deps.links.read(token)
    except LinkError as error:
        raise ProblemError(404, str(error)) from error
    line = deps.calls.notice(notice_id)
    if line is None:
        raise HTTPException(404, "The message of this link is not kept any more.")
    return line.notice


def _told(deps: Deps, notice: Notice, clock: YardClock) -> list[Told]:
    """Give the alerts of a message as they stand now, as far as its reader may see their boats."""
    reader = Viewer()  # the message told them of these boats already
    told = []
    for alert_id in notice.alerts:
        alert = deps.alerts.alert(alert_id)
        stored = None if alert is None else deps.records.record(alert.vessel)
        if alert is None or stored is None or not sight.may_see(reader, alert.vessel):
            continue
        vessel = stored.vessel
        # Written for whoever is sent to her: an owner's letter has no card either.
        card = () if notice.owner else tuple(card_lines(vessel.card))
        told.append(Told(vessel.id, vessel.place, vessel.name, shown_alert(deps, alert, vessel, clock), card))
    return told
