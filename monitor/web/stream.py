"""The live line to the pages: which vessels changed, by server-sent events."""

import json
from collections.abc import AsyncIterator
from typing import Annotated

from fastapi import APIRouter, Header, Request
from fastapi.concurrency import run_in_threadpool
from sse_starlette.event import ServerSentEvent
from sse_starlette.sse import EventSourceResponse

from monitor.web import sight
from monitor.web.clock import YardClock
from monitor.web.deps import Deps
from monitor.web.door import known_by
from monitor.web.sight import Viewer, viewer_for

router = APIRouter()
COMMENT_S = 15
BEAT_S = 10.0
AT_LEAST_S = 1.0
SEND_TIMEOUT_S = 20.0


@router.get("/changes")
async def changes(
    request: Request,
    since: int | None = None,
    last_event_id: Annotated[str | None, Header()] = None,
) -> EventSourceResponse:
    """Tell which vessels change. The event's id is the seq; ``Last-Event-ID`` (or ``since``) goes on from there."""
    deps: Deps = request.app.state.deps
    seen = int(last_event_id) if last_event_id is not None and last_event_id.isdecimal() else since

    async def events() -> AsyncIterator[ServerSentEvent]:
        yield ServerSentEvent(retry=3_000, event="clock", data=_clock(deps))
        async for change in deps.changes.follow(seen, at_least_s=AT_LEAST_S, beat_s=BEAT_S):
            now = await run_in_threadpool(_still, request, deps)
            if now is None:
                return  # they were shut out while they looked
            visible = [v for v in change.vessels if sight.may_see(now, v)]
            if change.everything or visible:
                data = {"vessels": visible, "everything": change.everything, "clock": _now(deps)}
                yield ServerSentEvent(id=str(change.seq), event="changed", data=json.dumps(data))
            else:
                yield ServerSentEvent(event="clock", data=_clock(deps))

    return EventSourceResponse(events(), ping=COMMENT_S, send_timeout=SEND_TIMEOUT_S)


def _still(request: Request, deps: Deps) -> Viewer | None:
    known = known_by(request, deps)
    return None if known is None else viewer_for(deps, known)


def _now(deps: Deps) -> str:
    return YardClock(deps.zone, deps.now_ms()).now


def _clock(deps: Deps) -> str:
    return json.dumps({"clock": _now(deps)})
