"""Taking an entry out of a record, after a page that says what else refers to it."""

from fastapi import APIRouter, Request
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from monitor.model.views import StoredRecord
from monitor.web.clock import YardClock
from monitor.web.deps import Deps
from monitor.web.form_fields import part_words
from monitor.web.form_mistakes import WHOLE
from monitor.web.form_parts import PARTS, Part, find
from monitor.web.form_typed import Typed
from monitor.web.problems import ProblemError
from monitor.web.record_form_remove import removal
from monitor.web.record_form_save import Changed, change_record, changed_since, stored_record
from monitor.web.record_form_words import facts, title_of
from monitor.web.sight import Asking, Viewer
from monitor.web.templates import render

router = APIRouter()


@router.get("/vessels/{vessel_id}/record/{part}/remove")
def ask_single(request: Request, viewer: Asking, vessel_id: str, part: str) -> HTMLResponse:
    """Say what taking out a part that is there once comes to."""
    return _page(request, viewer, vessel_id, part, "")


@router.post("/vessels/{vessel_id}/record/{part}/remove")
async def remove_single(request: Request, viewer: Asking, vessel_id: str, part: str) -> Response:
    """Take out a part that is there once."""
    return await _remove(request, viewer, vessel_id, part, "")


@router.get("/vessels/{vessel_id}/record/{part}/{entry}/remove")
def ask(request: Request, viewer: Asking, vessel_id: str, part: str, entry: str) -> HTMLResponse:
    """Say what taking out an entry comes to."""
    return _page(request, viewer, vessel_id, part, entry)


@router.post("/vessels/{vessel_id}/record/{part}/{entry}/remove")
async def remove(request: Request, viewer: Asking, vessel_id: str, part: str, entry: str) -> Response:
    """Take out an entry."""
    return await _remove(request, viewer, vessel_id, part, entry)


def _part(stored: StoredRecord, slug: str, key: str) -> Part:
    part = PARTS.get(slug)
    if part is None or not (part.many if key else part.may_lack) or find(stored.vessel, part, key) is None:
        raise ProblemError(404, "There is no such entry in her record.")
    return part


async def _remove(request: Request, viewer: Viewer, vessel_id: str, slug: str, key: str) -> Response:
    deps: Deps = request.app.state.deps
    typed = Typed.of(await request.form())
    by, wrong = typed.by(viewer)

    def without(stored: StoredRecord) -> Changed | dict[str, object]:
        part = _part(stored, slug, key)
        theirs = changed_since(deps, stored, part, key, typed.number("version"))
        if theirs is not None:
            return Changed(wrong={WHOLE: f"{theirs.actor} changed this meanwhile. It stands below as it is now."})
        made = removal(stored.vessel, part, key)
        return Changed(wrong={WHOLE: "Other things need it: change them first."}) if made.first else made.data

    if not wrong:
        changed = await change_record(deps, viewer, vessel_id, by, without)
        if changed.record is not None:
            return RedirectResponse(f"/vessels/{vessel_id}/record#part-{slug}", 303)
        wrong = changed.wrong
    return await run_in_threadpool(_page, request, viewer, vessel_id, slug, key, wrong)


def _page(
    request: Request, viewer: Viewer, vessel_id: str, slug: str, key: str, wrong: dict[str, str] | None = None
) -> HTMLResponse:
    deps: Deps = request.app.state.deps
    stored = stored_record(deps, viewer, vessel_id)
    part = _part(stored, slug, key)
    entry = find(stored.vessel, part, key)
    assert entry is not None  # noqa: S101 - `_part` has found it
    clock = YardClock(deps.zone, deps.now_ms())
    page = render(
        request,
        "record_remove.html",
        clock=clock,
        record=stored.vessel,
        version=stored.version,
        part=part,
        told=part_words(part),
        title=title_of(part, entry, clock),
        facts=list(facts(stored.vessel, part, entry, clock)),
        removal=removal(stored.vessel, part, key),
        address=f"/vessels/{vessel_id}/record/{slug}{f'/{key}' if key else ''}",
        wrong=wrong or {},
        whole=WHOLE,
    )
    page.status_code = 409 if wrong else 200
    return page
