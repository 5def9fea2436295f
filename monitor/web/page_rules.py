"""The rules: what each watches, by which formula and limits, and what it cannot know."""

from fastapi import APIRouter, HTTPException, Request
from fastapi.responses import HTMLResponse

from monitor.web.rule_text import LIMITS_OF, rule_page
from monitor.web.sight import Asking
from monitor.web.templates import render

router = APIRouter()


@router.get("/rules")
def rules(request: Request, viewer: Asking) -> HTMLResponse:
    """Show which rules there are; they are the same for everybody."""
    del viewer
    return render(request, "rules.html", pages=[rule_page(name) for name in sorted(LIMITS_OF)])


@router.get("/rules/{name}")
def rule(request: Request, viewer: Asking, name: str) -> HTMLResponse:
    """Show one rule, with its limits as this program has them."""
    del viewer
    if name not in LIMITS_OF:
        raise HTTPException(404, f"There is no rule called {name!r}.")
    return render(request, "rule.html", page=rule_page(name))
