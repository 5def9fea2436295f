"""The form by which a boat is added."""

from collections.abc import Mapping
from datetime import UTC, datetime

from fastapi import APIRouter, Request
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from monitor.model.inputs import RecordVersion
from monitor.model.vessel import Vessel
from monitor.web import sight
from monitor.web.clock import YardClock
from monitor.web.commands import hand_in
from monitor.web.deps import Deps
from monitor.web.form_fields import FEW
from monitor.web.form_lay_up import lay_up_wrong
from monitor.web.form_mistakes import WHOLE
from monitor.web.form_read import wrong_words
from monitor.web.form_show import local_text
from monitor.web.form_typed import Typed
from monitor.web.problems import ProblemError
from monitor.web.record_form_new import make_boat, new_fields
from monitor.web.record_form_save import turns
from monitor.web.sight import Asking, Viewer
from monitor.web.templates import render

router = APIRouter()


@router.get("/vessels/new")
def show_new(request: Request, viewer: Asking) -> HTMLResponse:
    """Show the empty form."""
    _may_add(viewer)
    deps: Deps = request.app.state.deps
    now = datetime.fromtimestamp(deps.now_ms() // 60_000 * 60, UTC)
    return _form(request, {"laid_up": local_text(now, deps.zone)}, {})


@router.post("/vessels/new")
async def add(request: Request, viewer: Asking) -> Response:
    """Add a boat; shown again with what is wrong, where she cannot be."""
    _may_add(viewer)
    deps: Deps = request.app.state.deps
    typed = Typed.of(await request.form())
    by, wrong = typed.by(viewer)
    made = await run_in_threadpool(make_boat, typed.texts, deps.yard_id, by or "?", deps.zone)
    wrong = made.wrong | wrong
    if made.vessel is not None:
        wrong |= lay_up_wrong({"laid_up": made.vessel.laid_up}, deps.now_ms())
    name = typed.carried.get("name", "")
    if made.vessel is None or wrong:
        return await run_in_threadpool(_form, request, made.texts, wrong, name)
    try:
        wrong = await _put(deps, made.vessel, by)
    except ProblemError as error:
        return await run_in_threadpool(_form, request, made.texts, {WHOLE: error.detail}, name, error.status)
    if wrong:
        return await run_in_threadpool(_form, request, made.texts, wrong, name)
    return RedirectResponse(f"/vessels/{made.vessel.id}/record", 303)


async def _put(deps: Deps, vessel: Vessel, by: str) -> dict[str, str]:
    """Put a boat into the yard, unless one of her id came in meanwhile."""
    async with turns.of(vessel.id):
        if await run_in_threadpool(deps.records.record, vessel.id) is not None:
            return {"id": wrong_words("known", typed=vessel.id)}
        await hand_in(deps, RecordVersion(vessel, deps.now_ms(), by))
        return {}


def _may_add(viewer: Viewer) -> None:
    if not sight.may_see(viewer, None):
        raise ProblemError(404, "There is nothing here.")


def _form(
    request: Request, texts: Mapping[str, str], wrong: Mapping[str, str], name: str = "", status: int = 422
) -> HTMLResponse:
    deps: Deps = request.app.state.deps
    fields = new_fields()
    page = render(
        request,
        "record_new.html",
        clock=YardClock(deps.zone, deps.now_ms()),
        fields=fields,
        texts=texts,
        wrong=wrong,
        whole=WHOLE,
        few=FEW,
        labels={one.name: one.label for one in fields} | {"your-name": "Your name"},
        texts_name=name,
    )
    page.status_code = status if wrong else 200
    return page
