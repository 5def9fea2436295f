"""The coolant calculator: a plain form, whose address says all and can be sent to somebody."""

from urllib.parse import urlencode

from fastapi import APIRouter, HTTPException, Request
from fastapi.responses import HTMLResponse

from monitor.model.equipment import LiquidSystem, Tester
from monitor.model.views import VesselNow
from monitor.record.coolant_answer import Question, Sum, answer
from monitor.record.coolant_cover import cover
from monitor.record.coolant_refused import CoolantRefusedError
from monitor.record.coolant_says import BESIDE, CAUTIONS
from monitor.science.freezing import Glycol
from monitor.web.coolant_asked import BY_MASS, TESTED, Asked, asked_of, field_of
from monitor.web.coolant_cold import coldest_known
from monitor.web.deps import Deps
from monitor.web.found import vessel_now
from monitor.web.sight import Asking, Viewer
from monitor.web.templates import render

router = APIRouter()
_OK, _WRONG = 200, 422


@router.get("/coolant")
def show_coolant(request: Request, viewer: Asking) -> HTMLResponse:
    """Show the sums of coolant, and the answer to what the address asks."""
    deps: Deps = request.app.state.deps
    query = dict(request.query_params)
    now, system = _system(deps, viewer, query.get("vessel", ""), query.get("system", ""))
    asked = asked_of(query, system)
    found, wrong = None, dict(asked.wrong)
    if asked.question is not None:
        try:
            found = answer(asked.question)
        except CoolantRefusedError as refused:
            wrong[refused.key] = refused.reason
    covers = None
    if found is not None and now is not None and system is not None:
        covers = cover(found.protected_degc, coldest_known(deps, now, system))
    kept = {} if now is None or system is None else {"vessel": now.stored.vessel.id, "system": system.id}
    page = render(
        request,
        "coolant.html",
        asked=asked,
        answer=found,
        cover=covers,
        wrong=wrong,
        record=None if now is None else now.stored.vessel,
        system=system,
        kept=kept,
        beside=BESIDE[asked.sum],
        example=_address(BESIDE[asked.sum].example),
        sums=[(which, BESIDE[which].heading, _to(which, asked, kept)) for which in Sum],
        fields=[(key, field_of(key, asked.sum)) for key in asked.sum.figures],
        glycols=[(g.value, g.value) for g in Glycol],
        testers=[(t.value, t.value) for t in Tester],
        cautions=CAUTIONS,
    )
    page.status_code = _WRONG if wrong else _OK
    return page


def _system(
    deps: Deps, viewer: Viewer, vessel_id: str, system_id: str
) -> tuple[VesselNow, LiquidSystem] | tuple[None, None]:
    if not vessel_id and not system_id:
        return None, None
    now = vessel_now(deps, viewer, vessel_id)
    record = now.stored.vessel
    system = next((s for s in record.liquid_systems if s.id == system_id), None)
    if not system_id:
        raise HTTPException(404, f"Which liquid system of {record.name}? Open this page from its entry in her record.")
    if system is None:
        raise HTTPException(404, f"{record.name} has no liquid system {system_id!r} in her record.")
    return now, system


def _to(which: Sum, asked: Asked, kept: dict[str, str]) -> str:
    return "/coolant?" + urlencode({"sum": which.value, "glycol": asked.glycol.value, **kept})


def _address(example: Question) -> str:
    asked: dict[str, str] = {"sum": example.sum.value, "glycol": example.glycol.value}
    asked |= {key: f"{value:g}" for key, value in example.figures.items()}
    asked |= {"by": BY_MASS} if example.by_mass else {}
    asked |= {"now_as": TESTED} if example.now_tested else {}
    return "/coolant?" + urlencode(asked)
