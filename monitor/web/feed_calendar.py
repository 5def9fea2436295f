"""The calendar feed: visits due and the yard's planned power cuts, for any calendar program."""

import hashlib
from collections.abc import Iterator
from datetime import date, datetime, time

from fastapi import APIRouter, Request
from fastapi.responses import Response

from monitor.model.inputs import VisitReport
from monitor.model.views import StoredRecord
from monitor.record.visit_due import visit_due
from monitor.web import sight
from monitor.web.calendar_events import DueVisit, calendar_of
from monitor.web.clock import YardClock
from monitor.web.deps import Deps
from monitor.web.sight import Asking, Viewer
from monitor.web.visit_take import last_visit

router = APIRouter()
MEDIA_TYPE = "text/calendar; charset=utf-8"


@router.get("/calendar.ics")
def feed(request: Request, viewer: Asking) -> Response:
    """Give the calendar; 304 where the asker has it already."""
    deps: Deps = request.app.state.deps
    yard = deps.calendar if sight.may_see(viewer, None) else None
    visits = list(_visits(deps, viewer, str(request.base_url)))
    body = calendar_of(deps.yard_name, deps.zone, visits, yard)
    tag = f'"{hashlib.sha256(body).hexdigest()[:32]}"'
    headers = {"ETag": tag}
    asked = {t.strip().removeprefix("W/") for t in request.headers.get("if-none-match", "").split(",")}
    if tag in asked or "*" in asked:
        return Response(status_code=304, headers=headers)
    return Response(body, media_type=MEDIA_TYPE, headers=headers)


def _visits(deps: Deps, viewer: Viewer, base_url: str) -> Iterator[DueVisit]:
    clock = YardClock(deps.zone, deps.now_ms())
    today = _day(clock, clock.now_ms)
    for now in deps.yard.vessels_now():
        stored, record = now.stored, now.stored.vessel
        if not sight.may_see(viewer, record.id):
            continue
        last = last_visit(deps, record.id)
        due = visit_due(record, None if last is None else _day(clock, last.at_ms), today, deps.zone)
        if due is not None:
            first_ms = stored.from_ms if stored.version == 1 else deps.records.first_ms(record.id) or stored.from_ms
            changed_ms = _changed_ms(stored, last, today, clock)
            yield DueVisit(record, due, first_ms, changed_ms, f"{base_url}vessels/{record.id}/visit")


def _changed_ms(stored: StoredRecord, last: VisitReport | None, today: date, clock: YardClock) -> int:
    """Give when something was last written down that could move the day: a record, a report, a visit whose day came."""
    days = [datetime.combine(v.on, time(), clock.zone) for v in stored.vessel.visits if v.on <= today]
    written = [round(day.timestamp() * 1000) for day in days]
    return max([stored.from_ms, *written, *([] if last is None else [last.at_ms])])


def _day(clock: YardClock, at_ms: int) -> date:
    return datetime.fromtimestamp(at_ms / 1000, clock.zone).date()
