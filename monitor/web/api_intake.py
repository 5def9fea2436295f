"""What came in and could not be used, as data."""

from fastapi import APIRouter, HTTPException, Request

from monitor.web import sight
from monitor.web.deps import Deps
from monitor.web.problems import ANSWERS
from monitor.web.shapes import RejectOut
from monitor.web.sight import Asking

router = APIRouter(tags=["intake"], responses=ANSWERS)


@router.get("/rejects")
def rejects(request: Request, viewer: Asking) -> list[RejectOut]:
    """Give messages that could not be used, newest first."""
    if not sight.may_see(viewer, None):
        raise HTTPException(404)
    deps: Deps = request.app.state.deps
    return [RejectOut.of(line) for line in deps.intake.rejects()]
