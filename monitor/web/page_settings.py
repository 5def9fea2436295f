"""The settings as they are in force, to read: what is told to whom, where from, and how to change it."""

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from monitor.web.clock import YardClock
from monitor.web.deps import Deps
from monitor.web.settings_shown import channels_shown, people_shown, rota_shown, tables
from monitor.web.sight import Asking
from monitor.web.templates import render

router = APIRouter()


@router.get("/settings")
def settings(request: Request, viewer: Asking) -> HTMLResponse:  # noqa: ARG001 - asking is what keeps others out
    """Show the settings."""
    deps: Deps = request.app.state.deps
    health, told = deps.health(), deps.in_force
    wall = YardClock(deps.zone, health.wall_ms)
    return render(
        request,
        "settings.html",
        told=told,
        tables=list(tables(told)),
        people=people_shown(told),
        rota=rota_shown(told),
        changes_at="" if told.rota is None else f"{told.rota.changes_at:%H:%M}",
        channels=channels_shown(deps, wall),
        health=health,
        signs_in=deps.access is not None,
    )
