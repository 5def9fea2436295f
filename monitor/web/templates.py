"""Templates of the pages: escaped, strict about names, with the few things that every page shows."""

import hashlib
import re
from functools import cache
from importlib import resources

from fastapi import Request
from fastapi.responses import HTMLResponse
from jinja2 import Environment, PackageLoader, StrictUndefined

from monitor.model.access import Grade, Known
from monitor.web.clock import YardClock
from monitor.web.deps import Deps
from monitor.web.menu import menu
from monitor.web.people_known import forms_know, is_offered_here, is_visitor, may_act, people_for, signed_as
from monitor.web.ranks import Rank

_FIGURE = re.compile(r"(?<=\d) (?=(?:mm|V|A|mA|Ah|K|L|%|°C|hPa|kWh)(?!\w))")
STATIC = resources.files("monitor.web") / "static"


@cache
def environment() -> Environment:
    """Give the template engine."""
    env = Environment(
        loader=PackageLoader("monitor.web", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    env.filters["sentence"] = _sentence
    env.filters["measured"] = _measured
    env.globals["static"] = static_address
    env.globals["people_for"] = people_for
    env.globals["is_visitor"] = is_visitor
    env.globals["signed_as"] = signed_as
    env.globals["may_act"] = may_act
    env.globals["is_offered_here"] = is_offered_here
    env.globals["Rank"] = Rank
    env.globals["ranks"] = tuple(Rank)
    return env


def _sentence(text: str) -> str:
    """Begin with a capital, and leave the rest as it is written."""
    return f"{text[:1].upper()}{text[1:]}"


def _measured(text: str) -> str:
    """Keep a figure and its unit on one line."""
    return _FIGURE.sub("\N{NO-BREAK SPACE}", text)


@cache
def static_digest(name: str) -> str:
    """Give the digest of a static file, which stands in its address so that it can be kept for good."""
    return hashlib.sha256((STATIC / name).read_bytes()).hexdigest()[:12]


def static_address(name: str) -> str:
    """Give the address of a static file."""
    return f"/static/{static_digest(name)}/{name}"


def render(request: Request, template: str, /, **values: object) -> HTMLResponse:
    """Make a page of a template."""
    deps: Deps = request.app.state.deps
    clock = values.pop("clock", None) or YardClock(deps.zone, deps.now_ms())
    known: Known | None = getattr(request.state, "known", None)
    signed = "" if known is None or known.login is None else known.name
    owner_looks = known is not None and known.grade is Grade.OWNER
    pages = None if known is None else menu(known, signs_in=deps.access is not None)
    values = {"menu": pages, "owner_looks": owner_looks, "known": known, **values}
    with forms_know(deps, signed, acts=not owner_looks):
        page = environment().get_template(template).render(yard_name=deps.yard_name, clock=clock, **values)
    return HTMLResponse(page)
