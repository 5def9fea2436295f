"""Vessels and their lay-up records, as data."""

import json
from typing import Annotated, Any, Literal

from fastapi import APIRouter, HTTPException, Query, Request
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import PlainTextResponse, Response
from pydantic import ValidationError

from monitor.model.document import parse_toml, write_vessel
from monitor.model.inputs import RecordVersion
from monitor.model.vessel import Vessel
from monitor.web import sight
from monitor.web.clock import YardClock
from monitor.web.deps import Deps
from monitor.web.found import vessel_now
from monitor.web.lines import line_for
from monitor.web.problems import ANSWERS, REFUSED, Mistake, ProblemError
from monitor.web.record_form_save import turns
from monitor.web.record_put import put_version, see_that_none_is_on_its_way
from monitor.web.shapes import RecordOut, VesselOut
from monitor.web.sight import Asking

router = APIRouter(tags=["vessels"], responses=ANSWERS)

_RECORD_BODY = {
    "requestBody": {
        "required": True,
        "description": "the whole record, as JSON or as the TOML document that `coldberth vessel export` writes",
        "content": {
            "application/json": {"schema": Vessel.model_json_schema(ref_template="#/components/schemas/{model}")},
            "application/toml": {"schema": {"type": "string"}},
        },
    }
}


@router.get("/vessels")
def vessels(request: Request, viewer: Asking) -> list[VesselOut]:
    """Give every vessel as she stands now, worst first."""
    deps: Deps = request.app.state.deps
    clock = YardClock(deps.zone, deps.now_ms())
    deaf = deps.health().deaf
    seen = [v for v in deps.yard.vessels_now() if sight.may_see(viewer, v.stored.vessel.id)]
    lines = sorted(((line_for(v, clock, deaf=deaf), v) for v in seen), key=lambda pair: pair[0].order)
    return [VesselOut.of(line, len(v.alerts)) for line, v in lines]


@router.get("/vessels/{vessel_id}")
def vessel(request: Request, viewer: Asking, vessel_id: str) -> VesselOut:
    """Give a vessel as she stands now."""
    deps: Deps = request.app.state.deps
    now = vessel_now(deps, viewer, vessel_id)
    return VesselOut.of(line_for(now, YardClock(deps.zone, deps.now_ms()), deaf=deps.health().deaf), len(now.alerts))


@router.get(
    "/vessels/{vessel_id}/record",
    response_model=RecordOut,
    responses={200: {"description": "the record", "content": {"application/toml": {"schema": {"type": "string"}}}}},
)
def record(
    request: Request, viewer: Asking, vessel_id: str, form: Literal["json", "toml"] = "json"
) -> RecordOut | Response:
    """Give the valid version of a vessel's lay-up record; ``form=toml`` gives the document alone."""
    deps: Deps = request.app.state.deps
    stored = deps.records.record(vessel_id) if sight.may_see(viewer, vessel_id) else None
    if stored is None:
        raise HTTPException(404, f"There is no boat with the id {vessel_id!r} in this yard.")
    if form == "toml":
        return PlainTextResponse(write_vessel(stored.vessel), media_type="application/toml")
    return RecordOut.of(stored)


@router.put(
    "/vessels/{vessel_id}/record",
    openapi_extra=_RECORD_BODY,
    responses={**REFUSED, 201: {"description": "a vessel that was not known before", "model": RecordOut}},
)
async def put_record(
    request: Request,
    response: Response,
    viewer: Asking,
    vessel_id: str,
    by: Annotated[str, Query(min_length=1, max_length=80, description="who changes it")] = "API",
) -> RecordOut:
    """Put a new version of a vessel's lay-up record, valid from now on. Every mistake in it is named at once."""
    deps: Deps = request.app.state.deps
    if not sight.may_see(viewer, vessel_id):
        raise HTTPException(404, f"There is no boat with the id {vessel_id!r} in this yard.")
    body, form = await request.body(), request.headers.get("content-type", "")
    made = await run_in_threadpool(_read, body, form, vessel_id)  # a large one takes a second
    before = await run_in_threadpool(deps.records.record, vessel_id)
    async with turns.of(vessel_id):  # not while somebody's change to the one before is under way
        see_that_none_is_on_its_way(vessel_id)
        await put_version(deps, RecordVersion(made, deps.now_ms(), viewer.acts_as(by)))
    stored = await run_in_threadpool(deps.records.record, vessel_id)
    if stored is None:
        raise ProblemError(503, "The watch took the record, but it is not in the journal yet.")
    response.status_code = 201 if before is None else 200
    return RecordOut.of(stored)


def _read(body: bytes, content_type: str, vessel_id: str) -> Vessel:
    try:
        made = Vessel.model_validate(_parsed(body, content_type))
    except ValidationError as error:
        found = [_mistake(e["loc"], e["msg"]) for e in error.errors(include_url=False)]
        raise ProblemError(422, f"{len(found)} mistake{'s' * (len(found) != 1)} in the record.", found) from error
    if made.id != vessel_id:
        wrong = Mistake(key="id", reason=f"is {made.id!r}, but the address says {vessel_id!r}")
        raise ProblemError(422, "1 mistake in the record.", [wrong])
    return made


def _parsed(body: bytes, content_type: str) -> Any:  # noqa: ANN401 - whatever was sent
    is_toml = "toml" in content_type
    try:
        text = body.decode("utf-8")
        return parse_toml(text) if is_toml else json.loads(text)
    except (ValueError, RecursionError) as error:  # the second where it is nested a thousand deep
        form = "TOML" if is_toml else "JSON"
        raise ProblemError(422, f"This is not {form}.", [Mistake(key="body", reason=str(error))]) from error


def _mistake(place: tuple[int | str, ...], message: str) -> Mistake:
    reason = message.removeprefix("Value error, ")
    return Mistake(key=".".join(map(str, place)) or "document", reason=f"{reason[:1].lower()}{reason[1:]}")
