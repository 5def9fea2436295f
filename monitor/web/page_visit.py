"""The form of a visit, for a phone in a cold hand and without a script, and what came of what was read."""

from collections.abc import Iterable
from typing import Annotated

from fastapi import APIRouter, HTTPException, Query, Request
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from monitor.messages.plain import capital
from monitor.messages.words import aside_words, put_into_words
from monitor.model.alert import Alert
from monitor.model.scale import Priority
from monitor.model.visit import Found
from monitor.record.checks import all_checks
from monitor.record.round import Stop
from monitor.record.visit_count import compared_on
from monitor.web.clock import YardClock
from monitor.web.commands import said_of
from monitor.web.deps import Deps
from monitor.web.found import vessel_now
from monitor.web.problems import Mistake, ProblemError
from monitor.web.round_shown import AlertToConfirm, StopShown, check_words, compared_words
from monitor.web.round_words import said
from monitor.web.sight import Asking
from monitor.web.templates import render
from monitor.web.unfit import has_it_on
from monitor.web.visit_form import Typed, fill
from monitor.web.visit_take import stop_of, take

router = APIRouter()
FOUND = tuple((found.value, said("found", found.value)) for found in Found)
SEARCHED = 1_000
ALERT = "alerts."
"""What the fields of alerts begin with."""


@router.get("/vessels/{vessel_id}/visit")
def form(request: Request, viewer: Asking, vessel_id: str) -> HTMLResponse:
    """Show the empty form."""
    return _form(request, stop_of(request.app.state.deps, viewer, vessel_id), Typed({}))


@router.post("/vessels/{vessel_id}/visit")
async def hand_in_form(request: Request, viewer: Asking, vessel_id: str) -> Response:
    """Take the form: show what came of it, or the form again with what was typed and what is wrong where."""
    deps: Deps = request.app.state.deps
    typed = Typed.of(await request.form())
    spoken_of = [key.removeprefix(ALERT) for key, value in typed.one.items() if key.startswith(ALERT) and value]
    stop = await run_in_threadpool(stop_of, deps, viewer, vessel_id, spoken_of)
    filled = fill(typed, stop, YardClock(deps.zone, deps.now_ms()))
    if filled.visit is None:
        return await run_in_threadpool(_form, request, stop, typed, _by_field(filled.mistakes))
    try:
        taken = await take(deps, viewer, vessel_id, filled.visit)
    except ProblemError as error:
        # What was typed is worth more than the address of an error page: it is shown again, with the watch's words.
        wrong = _by_field(error.mistakes or [Mistake(key="whole", reason=error.detail)])
        return await run_in_threadpool(_form, request, stop, typed, wrong, error.status)
    refused = "".join(f"&refused={alert}" for alert, _ in taken.refused).replace("&", "?", 1)
    return RedirectResponse(f"/vessels/{vessel_id}/visits/{taken.report.at_ms}{refused}", status_code=303)


@router.get("/vessels/{vessel_id}/visits/{at_ms}")
def outcome(
    request: Request, viewer: Asking, vessel_id: str, at_ms: int, refused: Annotated[list[str] | None, Query()] = None
) -> HTMLResponse:
    """Show a visit: what was read beside what the sensors said, and which alerts could not be closed by it."""
    deps: Deps = request.app.state.deps
    now = vessel_now(deps, viewer, vessel_id)
    record = now.stored.vessel
    report = next((v for v in deps.visits.visits(vessel_id, limit=SEARCHED) if v.at_ms == at_ms), None)
    if report is None:
        raise HTTPException(404, f"No visit to {record.name} at that time is written down.")
    clock = YardClock(deps.zone, deps.now_ms())
    words = {c.code: check_words(c) for c in all_checks(record)}
    named = [deps.alerts.alert(a) for a in dict.fromkeys([*report.visit.confirmed, *(refused or [])])]
    looked_into = [a for a in named if a is not None and a.vessel == vessel_id]
    titles = {a.id: put_into_words(a.finding, record, clock.zone, clock.now_ms).title for a in looked_into}
    waiting = [a for a in now.alerts if a.id not in titles and _waits(a, report.at_ms)]
    return render(
        request,
        "visit_outcome.html",
        clock=clock,
        record=record,
        report=report,
        found=said("found_past", report.visit.found.value),
        compared=[(c, *compared_words(c, record, clock)) for c in compared_on(report, record)],
        checked=[words.get(code, code) for code in report.visit.checked],
        confirmed=[
            (titles[a.id], a.id in report.visit.nothing_wrong, a.is_open and a.returned_ms is None, has_it_on(a))
            for a in looked_into
            if a.id in report.visit.confirmed
        ],
        aside=said_of(deps, report),
        waiting=[put_into_words(a.finding, record, clock.zone, clock.now_ms).title for a in waiting],
        refused=[titles[a] for a in refused or [] if a in titles],
    )


def _waits(alert: Alert, at_ms: int) -> bool:
    """Say whether an alert was open on a visit, and asks for a word of whoever was aboard that nobody has given yet."""
    asks = alert.latching or (alert.returned_ms is None and alert.priority is not Priority.CAUTION)
    return asks and alert.opened_ms <= at_ms and alert.confirmed_ms is None and not alert.state.is_aside


def _by_field(mistakes: Iterable[Mistake]) -> dict[str, str]:
    """Put what is wrong with each field into one text."""
    wrong: dict[str, str] = {}
    for mistake in mistakes:
        wrong[mistake.key] = f"{wrong[mistake.key]} {mistake.reason}" if mistake.key in wrong else mistake.reason
    return wrong


def _with_a_field(wrong: dict[str, str], asked: list[AlertToConfirm]) -> dict[str, str]:
    """Say of an alert that has no field on the page what is wrong with it in the whole form's own words."""
    fields = {alert.key for alert in asked}
    lost = [reason for key, reason in wrong.items() if key.startswith(ALERT) and key not in fields]
    if not lost:
        return wrong
    kept = {key: reason for key, reason in wrong.items() if not key.startswith(ALERT) or key in fields}
    return {**kept, "whole": " ".join([*([wrong["whole"]] if "whole" in wrong else []), *lost])}


def _form(
    request: Request, stop: Stop, typed: Typed, wrong: dict[str, str] | None = None, status: int = 422
) -> HTMLResponse:
    deps: Deps = request.app.state.deps
    clock = YardClock(deps.zone, deps.now_ms())
    shown = StopShown(stop, clock)
    # Of what is put aside nobody has to say anything; what somebody said of it before it was stays where they said it.
    asked = [a for a in shown.alerts if not a.alert.state.is_aside or typed.get(a.key)]
    aside = [
        (a, capital(aside_words(a.alert, clock.zone, clock.now_ms)))
        for a in shown.alerts
        if a.alert.is_open and a not in asked
    ]
    page = render(
        request,
        "visit.html",
        clock=clock,
        shown=shown,
        asked=asked,
        aside=aside,
        typed=typed,
        wrong=_with_a_field(wrong or {}, asked),
        found=FOUND,
    )
    page.status_code = status if wrong else 200
    return page
