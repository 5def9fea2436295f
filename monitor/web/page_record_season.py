"""The record's last step and its next first: she is laid up, and a new winter is begun."""

from collections.abc import Mapping
from datetime import UTC, datetime

from fastapi import APIRouter, Request
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from pydantic import ValidationError

from monitor.model.vessel import Mode, Vessel
from monitor.model.views import StoredRecord
from monitor.record.blind import blind_spots
from monitor.record.commission import watch_state
from monitor.record.commission_says import missing_words, state_words
from monitor.record.missing import open_questions
from monitor.record.seen import seen_aboard
from monitor.web.clock import YardClock
from monitor.web.deps import Deps
from monitor.web.form_fields import fields_of
from monitor.web.form_lay_up import lay_up_wrong
from monitor.web.form_mistakes import WHOLE, by_field
from monitor.web.form_parts import BOAT
from monitor.web.form_read import TypedError, value_of
from monitor.web.form_show import local_text
from monitor.web.form_typed import Typed
from monitor.web.record_form_save import Changed, change_record, stored_record
from monitor.web.record_form_winter import next_winter, what_goes
from monitor.web.sight import Asking, Viewer
from monitor.web.templates import render

router = APIRouter()
LYING = {mode.value: mode for mode in Mode if mode.is_laid_up}
LYING_WORDS = {
    Mode.ASHORE_BUNG_IN.value: "Ashore, with her drain bung in",
    Mode.ASHORE_BUNG_OUT.value: "Ashore, with her drain bung out",
    Mode.AFLOAT_LAID_UP.value: "Afloat, laid up",
}
_MEANWHILE = "{} changed her record meanwhile. Look at it again, then confirm."


@router.get("/vessels/{vessel_id}/record/lay-up")
def ask_lay_up(request: Request, viewer: Asking, vessel_id: str, mode: str = "") -> HTMLResponse:
    """Ask how she lies; then say what nobody will see and what is not proven, before it is confirmed."""
    return _lay_up_page(request, viewer, vessel_id, mode, {})


@router.post("/vessels/{vessel_id}/record/lay-up")
async def lay_up(request: Request, viewer: Asking, vessel_id: str) -> Response:
    """Lay her up: from now on she is watched in this mode."""
    deps: Deps = request.app.state.deps
    typed = Typed.of(await request.form())
    by, wrong = typed.by(viewer)
    mode = typed.carried.get("mode", "")

    def laid(stored: StoredRecord) -> Changed | dict[str, object]:
        if stored.version != typed.number("version"):
            return Changed(wrong={WHOLE: _MEANWHILE.format(stored.actor)})
        if mode not in LYING or stored.vessel.mode.is_laid_up:
            return Changed(wrong={WHOLE: "Choose how she lies." if mode not in LYING else "She is laid up already."})
        return {**stored.vessel.model_dump(), "mode": LYING[mode]}

    if not wrong:
        changed = await change_record(deps, viewer, vessel_id, by, laid)
        if changed.record is not None:
            return RedirectResponse(f"/vessels/{vessel_id}/record", 303)
        wrong = changed.wrong
    return await run_in_threadpool(_lay_up_page, request, viewer, vessel_id, mode, wrong)


@router.get("/vessels/{vessel_id}/record/new-winter")
def ask_new_winter(request: Request, viewer: Asking, vessel_id: str) -> HTMLResponse:
    """Say what a new winter takes off her record."""
    deps: Deps = request.app.state.deps
    now = datetime.fromtimestamp(deps.now_ms() // 60_000 * 60, UTC)
    return _winter_page(request, viewer, vessel_id, {"laid_up": local_text(now, deps.zone)}, {})


@router.post("/vessels/{vessel_id}/record/new-winter")
async def new_winter(request: Request, viewer: Asking, vessel_id: str) -> Response:
    """Begin a new winter."""
    deps: Deps = request.app.state.deps
    typed = Typed.of(await request.form())
    by, wrong = typed.by(viewer)
    field = next(one for one in fields_of(BOAT) if one.name == "laid_up")
    at: object = None
    try:
        at = value_of(field, typed.texts.get("laid_up", ""), deps.zone)
    except TypedError as error:
        wrong["laid_up"] = str(error)

    def begun(stored: StoredRecord) -> Changed | dict[str, object]:
        if stored.version != typed.number("version"):
            return Changed(wrong={WHOLE: _MEANWHILE.format(stored.actor)})
        if not isinstance(at, datetime) or at <= stored.vessel.laid_up:
            return Changed(wrong={"laid_up": "A new winter begins after the last one: choose a later day."})
        if ahead := lay_up_wrong({"laid_up": at}, deps.now_ms()):
            return Changed(wrong=ahead)
        return next_winter(stored.vessel, at, by)

    if not wrong:
        changed = await change_record(deps, viewer, vessel_id, by, begun)
        if changed.record is not None:
            return RedirectResponse(f"/vessels/{vessel_id}/record", 303)
        wrong = changed.wrong
    return await run_in_threadpool(_winter_page, request, viewer, vessel_id, typed.texts, wrong)


def _lay_up_page(request: Request, viewer: Viewer, vessel_id: str, mode: str, wrong: Mapping[str, str]) -> HTMLResponse:
    deps: Deps = request.app.state.deps
    stored = stored_record(deps, viewer, vessel_id)
    wrong, record = dict(wrong), stored.vessel
    if mode in LYING:
        try:
            record = Vessel.model_validate({**record.model_dump(), "mode": LYING[mode]})
        except ValidationError as error:
            wrong |= by_field(error, fields_of(BOAT))
    state = watch_state(record)
    page = render(
        request,
        "record_lay_up.html",
        clock=YardClock(deps.zone, deps.now_ms()),
        record=stored.vessel,
        version=stored.version,
        mode=mode if record.mode.value == mode else "",
        chosen=mode,
        lying=LYING_WORDS,
        seen=seen_aboard(record),
        blind=blind_spots(record),
        questions=open_questions(record),
        state=state_words(state),
        unproved=missing_words(state.missing),
        taken_on=state.taken_on is not None,
        wrong=wrong,
        whole=WHOLE,
        labels={},
    )
    page.status_code = 409 if wrong else 200
    return page


def _winter_page(
    request: Request, viewer: Viewer, vessel_id: str, texts: Mapping[str, str], wrong: Mapping[str, str]
) -> HTMLResponse:
    deps: Deps = request.app.state.deps
    stored = stored_record(deps, viewer, vessel_id)
    page = render(
        request,
        "record_winter.html",
        clock=YardClock(deps.zone, deps.now_ms()),
        record=stored.vessel,
        version=stored.version,
        goes=what_goes(stored.vessel),
        laid_up=next(one for one in fields_of(BOAT) if one.name == "laid_up"),
        texts=texts,
        wrong=dict(wrong),
        whole=WHOLE,
    )
    page.status_code = 422 if wrong else 200
    return page
