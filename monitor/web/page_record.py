"""A vessel's whole record on one page: what will be seen, what will not, what is open, and every entry."""

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from monitor.model.access import Grade
from monitor.model.vessel import Mode
from monitor.record.blind import blind_spots
from monitor.record.commission import watch_state
from monitor.record.missing import Question, open_questions
from monitor.record.moving import shared_place
from monitor.record.seen import seen_aboard
from monitor.web.clock import YardClock
from monitor.web.deps import Deps
from monitor.web.move_in import others_of
from monitor.web.record_form_save import stored_record
from monitor.web.record_form_words import sections
from monitor.web.sight import Asking
from monitor.web.templates import render

router = APIRouter()


@router.get("/vessels/{vessel_id}/record")
def show_record(request: Request, viewer: Asking, vessel_id: str) -> HTMLResponse:
    """Show the record as it stands."""
    deps: Deps = request.app.state.deps
    stored = stored_record(deps, viewer, vessel_id)
    record = stored.vessel
    clock = YardClock(deps.zone, deps.now_ms())
    shared = [Question(says, "boat") for says in shared_place(record, others_of(deps, vessel_id))]
    return render(
        request,
        "record.html",
        clock=clock,
        record=record,
        stored=stored,
        sections=sections(record, clock),
        seen=seen_aboard(record),
        blind=blind_spots(record),
        questions=[*shared, *open_questions(record)],
        wants=watch_state(record).wants,
        laying_up=record.mode is Mode.LAYING_UP,
        is_laid_up=record.mode.is_laid_up,
        may_change=viewer.known is not None and viewer.known.grade.may(Grade.ENGINEER),
    )
