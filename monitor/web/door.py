"""Who asks: found once for every question, whatever route it is for, and held against what that route asks for."""

import base64
import time
from urllib.parse import quote

from fastapi import Request
from fastapi.responses import RedirectResponse, Response

from monitor.model.access import Grade, Known, Means
from monitor.model.loopback import is_loopback
from monitor.web.deps import Deps
from monitor.web.grades import LEAST, OPEN
from monitor.web.guard import SESSION_COOKIE
from monitor.web.problems import ProblemError, answer

API = "/api"
_PROXIES_SAY = ("forwarded", "x-forwarded-for", "x-forwarded-host", "x-real-ip", "via")
HERE = Known("this machine", Grade.MANAGER, Means.MACHINE)
"""Whoever uses the agent's own machine, while nobody has an account."""


class SignInError(Exception):
    """Nobody is known by what was sent, and the route is not for strangers."""


def let_in(request: Request) -> Known | None:
    """Say who asks; None stands for a stranger at a route that is open.

    Raises:
        SignInError: where whoever asks must sign in first.
        ProblemError: where what they may do is not enough.
    """
    deps: Deps = request.app.state.deps
    asked = request.method, _template(request)
    known = known_by(request, deps)
    request.state.known = known  # also where it is refused: that page has the menu of whoever asked
    if asked in OPEN:
        return known
    if known is None:
        raise SignInError
    least = LEAST.get(asked)
    if least is None or not known.grade.may(least):
        raise ProblemError(403, _not_enough(known))
    return known


def known_by(request: Request, deps: Deps) -> Known | None:
    """Say who a question comes from, None where nobody is known by what it brings."""
    access = deps.access
    if access is None:
        return HERE
    at_this_machine = _is_at_this_machine(request)
    if deps.open_here and at_this_machine and not access.needed():
        return HERE
    secret = secret_of(request)
    known = None if secret is None else access.known(secret, wall_ms())
    return None if known is not None and known.means is Means.MACHINE and not at_this_machine else known


def _not_enough(known: Known) -> str:
    if known.means is Means.LINK:
        return f"You look by the link that was made for {known.name}: it shows their boats, to read only."
    return f"You are signed in as {known.name}, and that is not enough for this."


def secret_of(request: Request) -> str | None:
    """Give the secret that a question brings: a token, a password that is one (for calendars), or a session's."""
    scheme, _, given = request.headers.get("authorization", "").partition(" ")
    if scheme.casefold() == "bearer":
        return given.strip()
    if scheme.casefold() == "basic":
        try:
            return base64.b64decode(given, validate=True).decode().partition(":")[2]
        except ValueError:  # no base64, or no text
            return None
    return request.cookies.get(SESSION_COOKIE)


def _is_at_this_machine(request: Request) -> bool:
    """Say whether a question comes from this machine itself, and not through a proxy on it."""
    if request.client is None or any(name in request.headers for name in _PROXIES_SAY):
        return False
    return is_loopback(request.client.host)


def _template(request: Request) -> str:
    """Give the path of the route that was asked, with its parameters' names.

    Some versions of FastAPI leave the prefix out under which a router was put in.
    """
    path: str = request.scope["route"].path
    under_api = request.url.path.startswith(f"{API}/") and not path.startswith(f"{API}/")
    return f"{API}{path}" if under_api else path


def sign_in_first(request: Request, _error: Exception) -> Response:
    """Answer whoever must sign in: with the page for it, where they look at pages."""
    looks = request.method == "GET" and "text/html" in request.headers.get("accept", "")
    if not looks or request.url.path.startswith(f"{API}/"):
        return answer(request, 401, "Sign in first, or send a token.", headers={"WWW-Authenticate": "Bearer"})
    asked = request.url.path + (f"?{request.url.query}" if request.url.query else "")
    return RedirectResponse("/sign-in" if asked == "/" else f"/sign-in?then={quote(asked, safe='')}", 303)


def wall_ms() -> int:
    """Give the wall's time: sessions end by it, also where the yard's time is a simulated one."""
    return time.time_ns() // 1_000_000
