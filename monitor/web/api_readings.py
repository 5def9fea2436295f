"""Readings, as data."""

from typing import Annotated

from fastapi import APIRouter, HTTPException, Query, Request
from pydantic import AwareDatetime

from monitor.web.deps import Deps
from monitor.web.found import vessel_now
from monitor.web.problems import ANSWERS, Mistake, ProblemError
from monitor.web.shapes import ReadingsOut
from monitor.web.sight import Asking
from monitor.web.spans import DAY_MS

router = APIRouter(tags=["readings"], responses=ANSWERS)
MOST_BUCKETS = 5_000


@router.get("/vessels/{vessel_id}/readings")
def readings(
    request: Request,
    viewer: Asking,
    vessel_id: str,
    sensor: Annotated[str, Query(description="sensor id")],
    begin: Annotated[AwareDatetime | None, Query(alias="from", description="RFC 3339; else two days before to")] = None,
    end: Annotated[AwareDatetime | None, Query(alias="to", description="RFC 3339; else now")] = None,
    buckets: Annotated[int, Query(ge=1, le=MOST_BUCKETS, description="at most so many steps")] = 500,
) -> ReadingsOut:
    """Give a sensor's readings over a span, summed up into steps that divide a day."""
    deps: Deps = request.app.state.deps
    record = vessel_now(deps, viewer, vessel_id).stored.vessel
    known = record.sensor(sensor)
    if known is None:
        raise HTTPException(404, f"{record.name} has no sensor {sensor!r}.")
    to_ms = deps.now_ms() if end is None else round(end.timestamp() * 1000)
    from_ms = to_ms - 2 * DAY_MS if begin is None else round(begin.timestamp() * 1000)
    if from_ms >= to_ms:
        raise ProblemError(422, "The span is empty.", [Mistake(key="from", reason="is not before to")])
    found = deps.readings.buckets(vessel_id, sensor, from_ms, to_ms, buckets)
    return ReadingsOut.of(vessel_id, sensor, known.quantity, known.unit, found)
