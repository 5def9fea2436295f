"""The yard page: every vessel, worst first."""

from dataclasses import dataclass
from typing import Annotated

from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse
from markupsafe import Markup

from monitor.model.alert import Alert
from monitor.model.views import VesselNow
from monitor.web import sight
from monitor.web.call_words import call_lines
from monitor.web.clock import YardClock
from monitor.web.deps import Deps
from monitor.web.lines import Line, counts
from monitor.web.ranks import Rank
from monitor.web.sight import Asking, Viewer
from monitor.web.templates import environment, render
from monitor.web.troubles import notices_at_top

router = APIRouter()
SHOWN = 100
SHOWN_AT_MOST = 500


@dataclass(frozen=True, slots=True)
class Selection:
    """Which lines are asked for."""

    words: str
    rank: Rank | None
    everything: bool
    aside: bool = False

    def takes(self, line: Line) -> bool:
        """Say whether a line is asked for."""
        if self.rank is not None and line.rank is not self.rank:
            return False
        if self.aside and not line.aside:
            return False
        if not self.words:
            return True
        v = line.vessel
        owner = "" if v.owner is None else v.owner.name
        text = f"{v.name} {v.id} {v.place} {v.mode} {owner} {line.sentence} {line.rank.word}".casefold()
        return all(word in text for word in self.words.casefold().split())


@router.get("/")
def yard(
    request: Request,
    viewer: Asking,
    q: Annotated[str, Query(max_length=100)] = "",
    state: str = "",
    everything: Annotated[bool, Query(alias="all")] = False,
) -> HTMLResponse:
    """Show the yard: what is not quiet and the first hundred, the rest on asking."""
    deps: Deps = request.app.state.deps
    clock = YardClock(deps.zone, deps.now_ms())
    seq = deps.changes.seq
    seen = _seen(deps, viewer)
    lines = _lines(deps, seen, clock)
    chosen = _chosen(q, state, everything=everything)
    found = [line for line in lines if chosen.takes(line)]
    shown = found if everything else _first(found)
    return render(
        request,
        "yard.html",
        clock=clock,
        seq=seq,
        rows=_rows(deps, shown, clock),
        found=len(found),
        total=len(lines),
        counts=counts(lines),
        chosen=chosen,
        top=notices_at_top(deps, viewer, clock),
        calls=call_lines(deps, viewer, clock, known=_alerts(seen)),
        aside=sum(line.aside for line in lines),
    )


@router.get("/rows")
def rows(
    request: Request, viewer: Asking, ids: str = "", q: Annotated[str, Query(max_length=100)] = "", state: str = ""
) -> HTMLResponse:
    """Give the lines of some vessels again, with the counts: what a live page puts in place of its own."""
    deps: Deps = request.app.state.deps
    clock = YardClock(deps.zone, deps.now_ms())
    seen = _seen(deps, viewer)
    lines = _lines(deps, seen, clock)
    wanted = set(ids.split(","))
    chosen = _chosen(q, state, everything=True)
    some = [line for line in lines if line.vessel.id in wanted and chosen.takes(line)]
    return render(
        request,
        "rows.html",
        clock=clock,
        rows=_rows(deps, some, clock),
        total=len(lines),
        counts=counts(lines),
        chosen=chosen,
        top=notices_at_top(deps, viewer, clock),
        calls=call_lines(deps, viewer, clock, known=_alerts(seen)),
        aside=sum(line.aside for line in lines),
    )


def _chosen(words: str, state: str, *, everything: bool) -> Selection:
    rank = next((r for r in Rank if r.slug == state), None)
    return Selection(words.strip(), rank, everything, aside=state == "put-aside")


def _seen(deps: Deps, viewer: Viewer) -> list[VesselNow]:
    return [v for v in deps.yard.vessels_now(viewer.boats) if sight.may_see(viewer, v.stored.vessel.id)]


def _alerts(seen: list[VesselNow]) -> dict[str, Alert]:
    return {alert.id: alert for vessel in seen for alert in vessel.alerts}


def _lines(deps: Deps, seen: list[VesselNow], clock: YardClock) -> list[Line]:
    deaf = deps.health().deaf
    return sorted((deps.lines.line_for(v, clock, deaf=deaf) for v in seen), key=lambda line: line.order)


def _rows(deps: Deps, lines: list[Line], clock: YardClock) -> list[Markup]:
    parts = environment().get_template("parts.html").module
    draw, draw_heard = parts.row, parts.row_heard  # type: ignore[attr-defined]
    return [deps.lines.row(line, clock, draw, draw_heard) for line in lines]


def _first(found: list[Line]) -> list[Line]:
    loud = sum(line.rank is not Rank.QUIET for line in found)
    return found[: min(max(loud, SHOWN), SHOWN_AT_MOST)]
