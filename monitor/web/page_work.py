"""The pages of the lay-up's work: the list by system, which prints with boxes, and a job's form for a phone."""

from collections.abc import Iterable

from fastapi import APIRouter, Request
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from monitor.model.access import Grade
from monitor.model.equipment import Due
from monitor.model.vessel import Vessel
from monitor.model.work import JobEnd
from monitor.record.work_done import GLYCOLS, MOST_PHOTOS, freeze_point, next_tag
from monitor.record.work_list import BOOK_FIRST
from monitor.web.clock import YardClock
from monitor.web.deps import Deps
from monitor.web.form_parts import BOAT, SYSTEMS
from monitor.web.found import vessel_now
from monitor.web.photos_in import kept_photos, new_photos
from monitor.web.problems import Mistake, ProblemError
from monitor.web.sight import Asking, Viewer
from monitor.web.templates import render
from monitor.web.work_form import Typed, fill, first_typed, photos_in
from monitor.web.work_in import found_job, mark_of, say_job, today
from monitor.web.work_shown import job_shown, systems_of, work_shown

router = APIRouter()
CONFLICT = 409
MOST_FIELDS = 120
MOST_FILES = 2 * MOST_PHOTOS  # so that one too many is told on the form, with what was typed


@router.get("/vessels/{vessel_id}/work")
def show_work(request: Request, viewer: Asking, vessel_id: str, left: bool = False) -> HTMLResponse:
    """Show the list, or with ``left`` what is still to say."""
    deps: Deps = request.app.state.deps
    stored = vessel_now(deps, viewer, vessel_id).stored
    return render(
        request,
        "work.html",
        clock=YardClock(deps.zone, deps.now_ms()),
        record=stored.vessel,
        work=work_shown(deps.work_lists, stored.vessel),
        left=left,
        boat_slug=BOAT.slug,
        may_save=may_save(viewer),
        book_first=BOOK_FIRST,
    )


@router.get("/vessels/{vessel_id}/work/{job_id}")
def show_job(request: Request, viewer: Asking, vessel_id: str, job_id: str) -> HTMLResponse:
    """Show a job's form, filled in with what the record says."""
    return _form(request, viewer, vessel_id, job_id, None, [], 200)


@router.post("/vessels/{vessel_id}/work/{job_id}")
async def save_job(request: Request, viewer: Asking, vessel_id: str, job_id: str) -> Response:
    """Save how a job ended; shown again with what is wrong, where it is refused. Photos that came are kept then too."""
    deps: Deps = request.app.state.deps
    record = (await run_in_threadpool(vessel_now, deps, viewer, vessel_id)).stored.vessel
    work = found_job(deps, job_id)
    async with request.form(max_files=MOST_FILES, max_fields=MOST_FIELDS) as sent:
        typed, files = Typed.of(sent), await photos_in(sent)
    kept = await run_in_threadpool(kept_photos, deps, vessel_id, typed.kept)
    photos, wrong = await new_photos(deps, viewer, vessel_id, typed.get("by"), files, room=MOST_PHOTOS - len(kept))
    typed = Typed(typed.one, tuple(dict.fromkeys([*kept, *photos])))
    made, mistakes = fill(typed, work, record)
    wrong += mistakes
    status = 422
    if made is not None and not wrong:
        try:
            await say_job(deps, viewer, vessel_id, job_id, made, typed.kept, typed.get("seen"))
        except ProblemError as error:
            if error.status in {403, 404, 503} or not error.mistakes:
                raise
            wrong, status = list(error.mistakes), error.status
        else:
            return RedirectResponse(f"/vessels/{vessel_id}/work#{job_id}", 303)
    return await run_in_threadpool(_form, request, viewer, vessel_id, job_id, typed, wrong, status)


def may_save(viewer: Viewer) -> bool:
    """Say whether somebody may write in a vessel's record."""
    return viewer.known is not None and viewer.known.grade.may(Grade.ENGINEER)


def _form(
    request: Request,
    viewer: Viewer,
    vessel_id: str,
    job_id: str,
    typed: Typed | None,
    mistakes: Iterable[Mistake],
    status: int,
) -> HTMLResponse:
    deps: Deps = request.app.state.deps
    record: Vessel = vessel_now(deps, viewer, vessel_id).stored.vessel
    shown = job_shown(found_job(deps, job_id), record)
    if typed is None:
        typed = first_typed(shown, viewer.acts_as(""), today(deps))
    elif status == CONFLICT and shown.said is not None:  # what somebody else put there meanwhile is not lost unseen
        typed = Typed(typed.one, tuple(dict.fromkeys([*shown.said.photos, *typed.kept])))
    wrong: dict[str, str] = {}
    for mistake in mistakes:
        wrong[mistake.key] = f"{wrong.get(mistake.key, '')} {mistake.reason}".strip()
    page = render(
        request,
        "work_job.html",
        clock=YardClock(deps.zone, deps.now_ms()),
        record=record,
        shown=shown,
        typed=typed,
        wrong=wrong,
        ends=tuple(JobEnd),
        dues=tuple(Due),
        free_tag=next_tag(record),
        freeze=freeze_point(shown.work),
        systems=systems_of(shown.work, record),
        systems_slug=SYSTEMS.slug,
        glycols=GLYCOLS,
        most_photos=MOST_PHOTOS,
        # What stood when the form was first shown; after a 409 the job as it stands now has been shown.
        seen=mark_of(record, job_id) if status in {200, CONFLICT} else typed.get("seen"),
        may_save=may_save(viewer),
        book_first=BOOK_FIRST,
    )
    page.status_code = status
    return page
