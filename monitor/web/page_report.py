"""Proof to take away: the report of a boat's winter, and the pack of one alert."""

import tempfile
from collections.abc import Iterator
from typing import IO, Annotated

from fastapi import APIRouter, HTTPException, Query, Request
from fastapi.responses import Response, StreamingResponse

from monitor.report import Shelf, incident_pack, report_pdf, winter_of
from monitor.report.winter import NoWinterError
from monitor.web.deps import Deps
from monitor.web.found import vessel_now, visible_alert
from monitor.web.sight import Asking

router = APIRouter()
IN_MEMORY_BYTES = 8_000_000
AT_ONCE_BYTES = 65_536


@router.get("/vessels/{vessel_id}/report.pdf")
def report(
    request: Request,
    viewer: Asking,
    vessel_id: str,
    winter: Annotated[int | None, Query(ge=1970, le=9_000, description="year in whose autumn it begins")] = None,
) -> Response:
    """Give the report of a vessel's winter."""
    deps: Deps = request.app.state.deps
    now = vessel_now(deps, viewer, vessel_id)
    shelf = shelf_of(deps)
    try:
        span = winter_of(deps.records.versions(vessel_id), winter, shelf.now_ms, shelf.zone)
    except NoWinterError as error:
        raise HTTPException(404, f"There is no report of {now.stored.vessel.name}: {error}.") from error
    name = f"{vessel_id}-winter-{span.year}.pdf"
    return Response(report_pdf(shelf, span), media_type="application/pdf", headers=_saved_as(name))


@router.get("/alerts/{alert_id}/incident.zip")
def incident(request: Request, viewer: Asking, alert_id: str) -> StreamingResponse:
    """Give the pack of an alert."""
    deps: Deps = request.app.state.deps
    alert = visible_alert(deps, viewer, alert_id)
    # It is closed, and with that gone, when its last part has been sent.
    file = tempfile.SpooledTemporaryFile(max_size=IN_MEMORY_BYTES)  # noqa: SIM115
    incident_pack(shelf_of(deps), alert, file)
    file.seek(0)
    return StreamingResponse(_parts(file), media_type="application/zip", headers=_saved_as(f"incident-{alert.id}.zip"))


def shelf_of(deps: Deps) -> Shelf:
    """Give where proofs take what they say from."""
    return Shelf(deps.yard_name, deps.zone, deps.records, deps.readings, deps.alerts, deps.visits, deps.now_ms())


def _parts(file: IO[bytes]) -> Iterator[bytes]:
    with file:
        while part := file.read(AT_ONCE_BYTES):
            yield part


def _saved_as(name: str) -> dict[str, str]:
    return {"Content-Disposition": f'attachment; filename="{name}"'}
