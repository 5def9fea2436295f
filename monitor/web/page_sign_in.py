"""Signing in and out, setting a first password, and the links that owners are given."""

from typing import Annotated
from urllib.parse import quote, unquote

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from monitor.model.access import Account, Means
from monitor.web.deps import Deps
from monitor.web.door import known_by, secret_of, wall_ms
from monitor.web.guard import SESSION_COOKIE
from monitor.web.problems import ProblemError
from monitor.web.sight import viewer_for
from monitor.web.templates import render
from monitor.web.throttle import Tries

router = APIRouter()
COOKIE_DAYS = 180
_Field = Annotated[str, Form(max_length=300)]


@router.get("/sign-in")
def form(request: Request, then: str = "/") -> Response:
    """Ask for login and password."""
    deps: Deps = request.app.state.deps
    known = known_by(request, deps)
    return render(request, "sign_in.html", known=known, then=_local(then), login="", trouble="")


@router.post("/sign-in")
def sign_in(request: Request, login: _Field = "", password: _Field = "", then: _Field = "/") -> Response:
    """Sign somebody in."""
    deps: Deps = request.app.state.deps
    if deps.access is None:
        raise ProblemError(409, "Nobody has an account here: the pages are open on this machine.")
    tries: Tries = request.app.state.tries
    name, address = login.strip().casefold(), request.client.host if request.client else ""
    wait_s = tries.wait_s(name, address)
    if wait_s > 0 or not tries.room.acquire(blocking=False):
        after_s = max(round(wait_s), 1)
        values = {"known": None, "then": _local(then), "login": login}
        page = render(request, "sign_in.html", **values, trouble=f"Wait {after_s} s, then try again.")
        page.status_code, page.headers["Retry-After"] = 429, str(after_s)
        return page
    try:
        secret = deps.access.sign_in(login, password, wall_ms())
    finally:
        tries.room.release()
    if secret is None:
        tries.failed(name, address)
        values = {"known": None, "then": _local(then), "login": login}
        page = render(request, "sign_in.html", **values, trouble="Login or password is wrong.")
        page.status_code = 401
        return page
    tries.logins.succeeded(name)
    return _with_cookie(RedirectResponse(_local(then), 303), deps, secret)


@router.post("/sign-out")
def sign_out(request: Request) -> Response:
    """End whoever's session this is."""
    deps: Deps = request.app.state.deps
    secret, known = secret_of(request), known_by(request, deps)
    # A link is not ended with it: whoever was given it may come again by it.
    if deps.access is not None and secret is not None and known is not None and known.means is Means.SESSION:
        deps.access.sign_out(secret)
    away = RedirectResponse("/sign-in", 303)
    away.delete_cookie(SESSION_COOKIE, path="/")
    return away


@router.get("/in/{secret}")
def by_link(request: Request, secret: str) -> Response:
    """Let an owner in by the link they were given, and take it out of the address."""
    deps: Deps = request.app.state.deps
    known = None if deps.access is None else deps.access.known(secret, wall_ms())
    if known is None or known.means is not Means.LINK:
        raise ProblemError(404, "This link does not work, or no longer: ask the yard for a new one.")
    boats = viewer_for(deps, known).boats or frozenset()
    if not boats:
        raise ProblemError(410, "This link shows no boat any more: she has another owner now. Ask the yard.")
    to = f"/vessels/{quote(next(iter(boats)))}" if len(boats) == 1 else "/"
    already = known_by(request, deps)
    if already is not None and already.login is not None:
        return RedirectResponse(to, 303)  # who has an account goes on by it: a link must not take it from them
    return _with_cookie(RedirectResponse(to, 303), deps, secret)


@router.get("/join/{invitation}")
def join_form(request: Request, invitation: str) -> HTMLResponse:
    """Ask whoever was invited for a password."""
    deps: Deps = request.app.state.deps
    account = _invited(deps, invitation)
    return _join_page(request, account)


@router.post("/join/{invitation}")
def join(
    request: Request,
    invitation: str,
    password: _Field = "",
    again: _Field = "",
    login: _Field = "",
    name: _Field = "",
    ends_tokens: Annotated[bool, Form()] = False,
) -> Response:
    """Set the password of whoever was invited, and sign them in."""
    deps: Deps = request.app.state.deps
    invited = _invited(deps, invitation)
    account = invited if invited.login else Account(login.strip().casefold(), name.strip(), invited.grade)
    trouble = _trouble(account, password, again)
    secret = None
    if not trouble and deps.access is not None:
        try:
            secret = deps.access.take_up(invitation, account, password, wall_ms(), ends_tokens=ends_tokens)
        except ValueError as error:
            trouble = str(error)
    if secret is None:
        trouble = trouble or "This invitation was used while you wrote."
        page = _join_page(request, invited, login=login, name=name, trouble=trouble, ends_tokens=ends_tokens)
        page.status_code = 422
        return page
    return _with_cookie(RedirectResponse("/", 303), deps, secret)


def _invited(deps: Deps, invitation: str) -> Account:
    found = None if deps.access is None else deps.access.invited(invitation, wall_ms())
    if found is None:
        raise ProblemError(410, "An invitation works once, and for some days.")
    return found


def _join_page(
    request: Request, account: Account, login: str = "", name: str = "", trouble: str = "", *, ends_tokens: bool = False
) -> HTMLResponse:
    tokens = _tokens(request.app.state.deps, account)
    typed = {"login": login, "name": name, "ends_tokens": ends_tokens}
    return render(request, "join.html", account=account, trouble=trouble, tokens=tokens, **typed)


def _tokens(deps: Deps, account: Account) -> list[str]:
    """Give what the tokens are for by which programs ask as somebody: a new password asks whether they end too."""
    if deps.access is None or not account.login:
        return []
    kept = deps.access.secrets(wall_ms())
    return [one.name for one in kept if one.kind == Means.TOKEN.value and one.login == account.login]


def _trouble(account: Account, password: str, again: str) -> str:
    if not account.login or not account.name:
        return "Give a login and your name."
    if password != again:
        return "The two passwords are not the same."
    return ""


def _with_cookie(to: Response, deps: Deps, secret: str) -> Response:
    to.set_cookie(
        SESSION_COOKIE,
        secret,
        max_age=COOKIE_DAYS * 86_400,
        path="/",
        httponly=True,
        secure=deps.over_tls,
        # Lax, so that a link in a message opens its page; a form of another site is refused by `guard`.
        samesite="lax",
    )
    return to


def _local(path: str) -> str:
    """Give a path of ours, and the yard's page where it would lead elsewhere.

    >>> _local("/round"), _local("//elsewhere.example"), _local("https://elsewhere.example"), _local("/%5Celsewhere")
    ('/round', '/', '/', '/')
    """
    plain = unquote(path)
    leads_here = plain.startswith("/") and not plain.startswith("//") and "\\" not in plain and plain.isprintable()
    return path if leads_here else "/"
