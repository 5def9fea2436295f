"""The owner's own page: one sentence first, then a picture, her history, and how she was laid up. Nothing to learn."""

from typing import Annotated

from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse, JSONResponse, RedirectResponse, Response

from monitor.charts import DARK, LIGHT, specification
from monitor.model.views import VesselNow
from monitor.record.blind import blind_spots
from monitor.web import sight
from monitor.web.clock import YardClock
from monitor.web.deps import Deps
from monitor.web.found import vessel_now
from monitor.web.menu import Entry, Menu
from monitor.web.owner_history import history
from monitor.web.owner_layup import layup_lines, watched_lines, where_words
from monitor.web.owner_picture import pictures
from monitor.web.owner_says import owner_says
from monitor.web.owner_words import say
from monitor.web.sight import Asking, Viewer
from monitor.web.since_box import since_box
from monitor.web.templates import render
from monitor.web.troubles import FOR_OWNERS, notices_at_top

router = APIRouter()
AS_OWNER = "owner"


def owner_page(request: Request, viewer: Viewer, now: VesselNow) -> HTMLResponse:
    """Show a boat as her owner sees her, to them or to somebody of the yard who looks at what they see."""
    deps: Deps = request.app.state.deps
    seq = deps.changes.seq
    clock, record = YardClock(deps.zone, deps.now_ms()), now.stored.vessel
    reader = viewer.known.name if viewer.is_owner and viewer.known is not None and viewer.known.login else ""
    says = owner_says(deps, now, clock, reader)
    # An owner has nothing to find their way in but their other boats; the yard keeps its own menu.
    own = {"menu": Menu(_others(deps, viewer, record.id), ())} if viewer.is_owner else {}
    return render(
        request,
        "owner.html",
        clock=clock,
        seq=seq,
        record=record,
        says=says,
        where=where_words(record),
        panels=pictures(record, deps.readings, clock),
        no_picture=say("picture", "none"),
        months=history(deps, record, clock),
        layup=layup_lines(deps, record, clock),
        watched=watched_lines(record, clock),
        blind=blind_spots(record),
        since=since_box(request, deps, viewer, clock) if viewer.is_owner else None,
        as_owner=not viewer.is_owner,
        owner_looks=True,
        top=notices_at_top(deps, viewer, clock) if viewer.is_owner else _as_told_to_owners(deps),
        bundle=request.app.state.bundle.address,
        **own,
    )


def owner_front(request: Request, viewer: Viewer) -> Response:
    """Show an owner of several boats each in a sentence; whoever has one goes straight to her page."""
    deps: Deps = request.app.state.deps
    seq = deps.changes.seq
    clock = YardClock(deps.zone, deps.now_ms())
    boats = _boats(deps, viewer)
    if len(boats) == 1:
        return RedirectResponse(f"/vessels/{boats[0].stored.vessel.id}", 303)
    name = viewer.known.name if viewer.known is not None else ""
    return render(
        request,
        "owner_list.html",
        clock=clock,
        seq=seq,
        boats=[(now.stored.vessel, owner_says(deps, now, clock, name)) for now in boats],
        menu=None,
        since=since_box(request, deps, viewer, clock),
        top=notices_at_top(deps, viewer, clock),
    )


@router.get("/vessels/{vessel_id}/owner.json")
def drawn(
    request: Request,
    viewer: Asking,
    vessel_id: str,
    ground: str = "light",
    columns: Annotated[int, Query(ge=0, le=9)] = 0,
) -> JSONResponse:
    """Give an owner's pictures as Vega-Lite specifications, by key, with what each shows in words."""
    deps: Deps = request.app.state.deps
    record = vessel_now(deps, viewer, vessel_id).stored.vessel
    palette = DARK if ground == "dark" else LIGHT
    made = pictures(record, deps.readings, YardClock(deps.zone, deps.now_ms()))
    return JSONResponse(
        {
            p.key: {
                "spec": specification(p, palette, columns=columns),
                "sentences": list(p.sentences),
                "unit": p.unit,
                "digits": p.digits,
            }
            for p in made
        }
    )


def _boats(deps: Deps, viewer: Viewer) -> list[VesselNow]:
    found = [v for v in deps.yard.vessels_now(viewer.boats) if sight.may_see(viewer, v.stored.vessel.id)]
    return sorted(found, key=lambda now: now.stored.vessel.name.casefold())


def _others(deps: Deps, viewer: Viewer, vessel_id: str) -> tuple[Entry, ...]:
    """Give an owner's other boats, as entries of a menu; nothing where there is no other."""
    boats = [now.stored.vessel for now in _boats(deps, viewer)]
    return tuple(Entry(f"/vessels/{boat.id}", boat.name) for boat in boats if boat.id != vessel_id)


def _as_told_to_owners(deps: Deps) -> dict[str, tuple[str, ...]]:
    return {"troubles": (FOR_OWNERS,) if deps.health().deaf else (), "undelivered": ()}
