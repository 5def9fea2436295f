"""Readings to take away, as CSV."""

from typing import Annotated, Any

from fastapi import APIRouter, Query, Request
from fastapi.responses import StreamingResponse
from pydantic import AwareDatetime

from monitor.report.lines import COLUMNS, csv_lines, reading_rows
from monitor.web.deps import Deps
from monitor.web.found import vessel_now
from monitor.web.problems import ANSWERS, Mistake, ProblemError
from monitor.web.sight import Asking

router = APIRouter(tags=["readings"], responses=ANSWERS)
CSV: dict[int | str, dict[str, Any]] = {200: {"content": {"text/csv": {"schema": {"type": "string"}}}}}


@router.get("/vessels/{vessel_id}/readings.csv", response_class=StreamingResponse, responses=CSV)
def readings_csv(
    request: Request,
    viewer: Asking,
    vessel_id: str,
    begin: Annotated[AwareDatetime | None, Query(alias="from", description="RFC 3339; else the first")] = None,
    end: Annotated[AwareDatetime | None, Query(alias="to", description="RFC 3339; else now")] = None,
) -> StreamingResponse:
    """Give every reading of a vessel's sensors by its stated time; ``hour mean`` where single ones are not kept."""
    deps: Deps = request.app.state.deps
    record = vessel_now(deps, viewer, vessel_id).stored.vessel
    to_ms = deps.now_ms() + 1 if end is None else round(end.timestamp() * 1000)
    from_ms = None if begin is None else round(begin.timestamp() * 1000)
    if from_ms is not None and from_ms >= to_ms:
        raise ProblemError(422, "The span is empty.", [Mistake(key="from", reason="is not before to")])
    rows = reading_rows(deps.readings, record, from_ms, to_ms, deps.zone)
    headers = {"Content-Disposition": f'attachment; filename="{vessel_id}-readings.csv"'}
    return StreamingResponse(csv_lines(COLUMNS, rows), media_type="text/csv; charset=utf-8", headers=headers)
