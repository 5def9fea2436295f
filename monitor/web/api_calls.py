"""Calls, messages that have not arrived, and the alert load, as data."""

from typing import Annotated

from fastapi import APIRouter, Query, Request

from monitor.model.call import Call
from monitor.web.alert_load import LONGEST_DAYS, measure
from monitor.web.call_shapes import CallOut, CallWithNotices, LoadOut, NoticeOut
from monitor.web.call_words import call_title, may_see_call, seen_vessels
from monitor.web.deps import Deps
from monitor.web.page_calls import call_alerts, seen_notices, visible_call
from monitor.web.problems import ANSWERS, REFUSED
from monitor.web.seen import seen
from monitor.web.sight import Asking, Viewer
from monitor.web.undelivered import send_again, undelivered

router = APIRouter(tags=["calls"], responses=ANSWERS)


@router.get("/calls")
def calls(
    request: Request,
    viewer: Asking,
    only_open: Annotated[bool, Query(alias="open", description="only those that are not over")] = True,
    limit: Annotated[int, Query(ge=1, le=10_000)] = 1_000,
) -> list[CallOut]:
    """Give calls, newest first."""
    deps: Deps = request.app.state.deps

    def read(most: int) -> list[Call]:
        return deps.calls.calls(open_only=only_open, limit=most)

    return [_out(deps, viewer, call) for call in seen(read, lambda c: may_see_call(c, viewer), limit)]


@router.get("/calls/{call_id}")
def call(request: Request, viewer: Asking, call_id: str) -> CallWithNotices:
    """Give a call, and who was told of it."""
    deps: Deps = request.app.state.deps
    shown = _out(deps, viewer, visible_call(deps, viewer, call_id)).model_dump()
    return CallWithNotices(**shown, notices=[NoticeOut.of(line) for line in seen_notices(deps, viewer, call_id)])


@router.get("/undelivered")
def not_delivered(request: Request, viewer: Asking) -> list[NoticeOut]:
    """Give the messages that have not reached those they are for, newest first."""
    return [NoticeOut.of(line) for line in undelivered(request.app.state.deps, viewer)]


@router.post("/undelivered/{notice_id}/again", status_code=204, responses=REFUSED)
async def again(request: Request, viewer: Asking, notice_id: str) -> None:
    """Have a message tried again that was given up, and its address used again."""
    await send_again(request.app.state.deps, viewer, notice_id)


@router.get("/load")
def load(request: Request, viewer: Asking, days: Annotated[int, Query(ge=1, le=LONGEST_DAYS)] = 7) -> LoadOut:
    """Give the alert load of the days up to now."""
    return LoadOut.of(measure(request.app.state.deps, viewer, days))


def _out(deps: Deps, viewer: Viewer, call: Call) -> CallOut:
    alerts = [alert.id for alert in call_alerts(deps, viewer, call)]
    return CallOut.of(call, call_title(deps, viewer, call), seen_vessels(call, viewer), alerts)
