"""Every version of a record: who changed what when, and the record as it stood in each."""

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from monitor.web.clock import YardClock
from monitor.web.deps import Deps
from monitor.web.problems import ProblemError
from monitor.web.record_form_save import stored_record
from monitor.web.record_form_versions import versions_shown
from monitor.web.record_form_words import sections
from monitor.web.sight import Asking
from monitor.web.templates import render

router = APIRouter()
MOST_SHOWN = 200


@router.get("/vessels/{vessel_id}/record/versions")
def show_versions(request: Request, viewer: Asking, vessel_id: str) -> HTMLResponse:
    """Show who changed what, newest first."""
    deps: Deps = request.app.state.deps
    stored = stored_record(deps, viewer, vessel_id)
    clock = YardClock(deps.zone, deps.now_ms())
    versions = deps.records.versions(vessel_id)
    return render(
        request,
        "record_versions.html",
        clock=clock,
        record=stored.vessel,
        shown=versions_shown(versions[: MOST_SHOWN + 1], clock)[:MOST_SHOWN],
        left_out=max(len(versions) - MOST_SHOWN, 0),
    )


@router.get("/vessels/{vessel_id}/record/versions/{version}")
def show_version(request: Request, viewer: Asking, vessel_id: str, version: int) -> HTMLResponse:
    """Show the record as it stood in one version."""
    deps: Deps = request.app.state.deps
    stored_record(deps, viewer, vessel_id)
    stored = next((v for v in deps.records.versions(vessel_id) if v.version == version), None)
    if stored is None:
        raise ProblemError(404, f"Her record has no version {version}.")
    clock = YardClock(deps.zone, deps.now_ms())
    return render(
        request,
        "record_version.html",
        clock=clock,
        record=stored.vessel,
        stored=stored,
        sections=sections(stored.vessel, clock),
    )
