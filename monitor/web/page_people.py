"""Who may sign in, for managers: added, invited, taken out; links for owners, and every secret that works."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from monitor.model.access import INVITATION_DAYS, LINK_DAYS, Account, Grade, SignIn
from monitor.web.account_words import owner_name, put_words
from monitor.web.clock import YardClock
from monitor.web.deps import Deps
from monitor.web.door import wall_ms
from monitor.web.link_owners import owners_of, still_shown
from monitor.web.problems import Mistake, ProblemError
from monitor.web.templates import render

router = APIRouter()
DAY_MS = 86_400_000
_Field = Annotated[str, Form(max_length=300)]


@dataclass(frozen=True, slots=True)
class Made:
    """An address that is shown once.

    Attributes:
        whose: whom it is for.
        address: what they open.
        what: what it does, one sentence.
    """

    whose: str
    address: str
    what: str


@router.get("/people")
def people(request: Request) -> HTMLResponse:
    """Show who may sign in."""
    return _page(request, None)


@router.post("/people")
def put(
    request: Request, login: _Field = "", name: _Field = "", grade: _Field = "", email: _Field = ""
) -> HTMLResponse:
    """Let somebody sign in, or change them."""
    deps: Deps = request.app.state.deps
    known_as = owner_name(deps.records, email.strip()) if grade == Grade.OWNER.value and email.strip() else None
    account = _account(login, name if name.strip() else known_as or "", grade, email)
    accounts = _access(request)
    before = next((one for one in accounts.accounts() if one.login == account.login), None)
    if account.grade is not Grade.MANAGER:
        _keep_a_manager(accounts, account.login)
    accounts.put(account, wall_ms())
    waits = any(one.login == account.login and not one.has_password for one in accounts.accounts())
    said = [] if before is None else [f"{put_words(before, account)}."]
    if account.grade is Grade.OWNER and known_as is None:
        said.append(f"No boat's record names an owner of {account.email}: they see no boat until one does.")
    return _page(request, _invitation(request, account.login) if waits else None, said)


@router.post("/people/{login}/invite")
def invite(request: Request, login: str) -> HTMLResponse:
    """Give somebody a new invitation, such as for a forgotten password."""
    return _page(request, _invitation(request, login))


@router.post("/people/{login}/remove")
def remove(request: Request, login: str) -> Response:
    """Let somebody in no more."""
    accounts = _access(request)
    _keep_a_manager(accounts, login)
    if not accounts.remove(login):
        raise ProblemError(404, f"Nobody signs in by {login!r}.")
    return RedirectResponse("/people", 303)


@router.post("/people/links")
def link(request: Request, name: _Field = "", vessels: Annotated[list[str] | None, Form()] = None) -> HTMLResponse:
    """Make a link that shows some boats."""
    deps: Deps = request.app.state.deps
    chosen = frozenset(vessels or ())
    wrong = [Mistake(key="name", reason="Say whom it is for.")] if not name.strip() else []
    if not chosen or any(deps.records.record(one) is None for one in chosen):
        wrong.append(Mistake(key="vessels", reason="Choose her from the list."))
    if wrong:
        raise ProblemError(422, "The link was not made.", wrong)
    owners = owners_of(deps.records, chosen)
    secret = _access(request).make_link(name.strip(), chosen, wall_ms(), LINK_DAYS * DAY_MS, owners)
    what = f"It shows {', '.join(sorted(chosen))} for {LINK_DAYS} days to whoever has it, to read only."
    if owners:
        what += " It ends for a boat when her record names another owner."
    return _page(request, Made(name.strip(), f"{deps.address()}/in/{secret}", what))


@router.post("/people/secrets/{secret_id}/revoke")
def revoke(request: Request, secret_id: str) -> Response:
    """End a session, a link or a token."""
    if not _access(request).revoke(secret_id):
        raise ProblemError(404, "That has ended already.")
    return RedirectResponse("/people", 303)


def _page(request: Request, made: Made | None, said: Sequence[str] = ()) -> HTMLResponse:
    deps: Deps = request.app.state.deps
    now_ms = wall_ms()
    clock = YardClock(deps.zone, now_ms)
    kept = _access(request).secrets(now_ms)
    boats = sorted((v.stored.vessel for v in deps.yard.vessels_now()), key=lambda vessel: vessel.name.casefold())
    # What a link no longer shows, since its boat has another owner: the manager sees why, and can make a new one.
    lost = {
        one.id: sorted(one.vessels - still_shown(deps.records, one.vessels, one.owners))
        for one in kept
        if one.vessels is not None
    }
    values = {
        "lost": lost,
        "accounts": _access(request).accounts(),
        "secrets": kept,
        "boats": boats,
        "grades": list(Grade),
    }
    page = render(request, "people.html", wall=clock, made=made, said=said, **values)
    page.headers["Cache-Control"] = "no-store"  # what is shown once must not be shown again by going back
    return page


def _invitation(request: Request, login: str) -> Made:
    deps: Deps = request.app.state.deps
    try:
        secret = _access(request).invite(login, wall_ms())
    except KeyError:
        raise ProblemError(404, f"Nobody signs in by {login!r}.") from None
    return Made(
        login, f"{deps.address()}/join/{secret}", f"It lets them set a password, once, within {INVITATION_DAYS} days."
    )


def _keep_a_manager(accounts: SignIn, without: str) -> None:
    """See that somebody is left who can let people in.

    Raises:
        ProblemError: where nobody would be.
    """
    managers = {one.login for one in accounts.accounts() if one.grade is Grade.MANAGER and one.has_password}
    if managers <= {without.strip().casefold()}:
        raise ProblemError(409, "No manager with a password would be left: let another manager in first.")


def _account(login: str, name: str, grade: str, email: str) -> Account:
    login, name, email = login.strip().casefold(), name.strip(), email.strip()
    wrong = [
        Mistake(key=key, reason=reason)
        for key, reason, bad in (
            ("login", "Give a login: the id of one of the settings' people, or an e-mail address.", not login),
            ("name", "Give the name that stands under what they do.", not name),
            ("grade", "Choose what they may do.", grade not in {one.value for one in Grade}),
            ("email", "An owner is known by the address in their boats' records.", grade == "owner" and not email),
        )
        if bad
    ]
    if wrong:
        raise ProblemError(422, "Nobody was added.", wrong)
    return Account(login, name, Grade(grade), email or None)


def _access(request: Request) -> SignIn:
    deps: Deps = request.app.state.deps
    if deps.access is None:
        raise ProblemError(409, "Nobody can have an account here: the pages are open on this machine.")
    return deps.access
