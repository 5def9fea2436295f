"""What was refused of what people wanted to do: what, why, what to do now, and the form as it was filled in."""

from dataclasses import dataclass
from http import HTTPStatus

from fastapi import Request
from fastapi.responses import HTMLResponse

from monitor.alerting.limits import LIMITS
from monitor.model.inputs import Aboard
from monitor.web.alert_shown import form_time, shown_alert
from monitor.web.clock import YardClock
from monitor.web.deps import Deps
from monitor.web.found import vessel_now, visible_alert
from monitor.web.problems import DO, ProblemError
from monitor.web.sight import Viewer
from monitor.web.templates import render

_HEADINGS = {
    "acknowledge": "It is not noted that you have seen it",
    "confirm": "It is not noted that you were aboard",
    "hand-over": "It was not handed over",
    "accept": "You have not taken it on",
    "shelve": "It was not put aside",
    "bring-back": "It was not brought back",
    "out-of-service": "It was not taken out of service",
    "aboard": "Her alerts were not put aside",
    "ashore": "It is not noted that it is over",
}
_LABELS = {
    "name": "Your name",
    "to": "To whom",
    "note": "Note",
    "reason": "Why",
    "until": "Until",
    "nothing_wrong": "Was it as told?",
}
_ONCE_REFUSED = frozenset({"acknowledge", "accept", "bring-back", "ashore"})
"""What a better form does not help: it is refused by how things stand."""


@dataclass(frozen=True, slots=True)
class Refused:
    """What was refused.

    Attributes:
        act: the word of what was asked for.
        typed: what stood in the form.
        error: why it was refused.
        vessel: whom it is about.
        alert: id of the alert it is about, None where about the vessel.
    """

    act: str
    typed: dict[str, str]
    error: ProblemError
    vessel: str
    alert: str | None = None


def refused_page(request: Request, viewer: Viewer, refused: Refused) -> HTMLResponse:
    """Make the page."""
    deps: Deps = request.app.state.deps
    clock = YardClock(deps.zone, deps.now_ms())
    record = vessel_now(deps, viewer, refused.vessel).stored.vessel
    shown = None
    if refused.alert is not None:
        shown = shown_alert(deps, visible_alert(deps, viewer, refused.alert), record, clock)
    by_state = refused.error.status == HTTPStatus.CONFLICT and refused.act in _ONCE_REFUSED
    again = not by_state and (shown is None or shown.alert.is_open)
    mistakes = [(_LABELS.get(m.key, ""), m.reason) for m in refused.error.mistakes or ()]
    do = DO[refused.error.status]
    if again and refused.error.status != HTTPStatus.SERVICE_UNAVAILABLE:
        do = "What you wrote is kept below: put it right and send it again."
    page = render(
        request,
        "refused.html",
        clock=clock,
        heading=_HEADINGS[refused.act],
        why=[] if mistakes else [_ended(refused.error.detail)],
        mistakes=mistakes,
        do=do,
        record=record,
        shown=shown,
        act=refused.act,
        typed=refused.typed,
        again=again,
        reasons=tuple(Aboard),
        most=form_time(clock.now_ms + LIMITS.ms("suppress_most"), clock.zone),
    )
    page.status_code = refused.error.status
    return page


def _ended(sentence: str) -> str:
    return sentence if sentence.endswith((".", "?", "!")) else f"{sentence}."
