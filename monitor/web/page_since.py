"""What changed since somebody last looked: all of it, and where they say that they have."""

from urllib.parse import urlsplit

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from monitor.web.clock import YardClock
from monitor.web.deps import Deps
from monitor.web.problems import ProblemError
from monitor.web.sight import Asking
from monitor.web.since_box import marked_by, since_page
from monitor.web.since_mark import Mark, keep_mark
from monitor.web.templates import render

router = APIRouter()


@router.get("/since")
def since(request: Request, viewer: Asking) -> HTMLResponse:
    """Show all that changed since this browser last looked."""
    deps: Deps = request.app.state.deps
    clock = YardClock(deps.zone, deps.now_ms())
    return render(request, "since.html", clock=clock, since=since_page(request, deps, viewer, clock))


@router.post("/since")
async def looked(request: Request, viewer: Asking) -> Response:
    """Take it that somebody has looked at what the page showed: by their word alone, never by a page being open.

    A page opens in a pocket, is fetched again by itself and is restored with a browser: none of that is looking.
    """
    deps: Deps = request.app.state.deps
    async with request.form() as form:
        marked = marked_by(dict(form), deps.changes.seq, deps.now_ms())
    if marked is None:
        raise ProblemError(422, "It cannot be seen how far you have looked: open the page again, and press it there.")
    answer = RedirectResponse(_way_on(request), status_code=303)
    keep_mark(answer, viewer, deps, Mark(*marked))
    return answer


def _way_on(request: Request) -> str:
    """Give the page of ours that this was pressed on."""
    came = urlsplit(request.headers.get("referer", ""))
    ours = came.netloc == request.headers.get("host") and came.path.startswith("/") and not came.path.startswith("//")
    if not ours:
        return "/"
    return f"{came.path}?{came.query}" if came.query else came.path
