"""How far somebody has looked, kept in their browser alone: a seq, and the yard's time then.

Kept there, and not with the account: what was looked at on the telephone has not been looked at in the office, several
people may use one duty account, and the pages of a first look, or of an owner's link, have no account at all. So no
device ever takes something from another; at worst the same is shown on both.
"""

import hashlib
import re
from dataclasses import dataclass

from fastapi import Request
from fastapi.responses import Response

from monitor.web.deps import Deps
from monitor.web.sight import Viewer

KEPT_S = 400 * 86_400
"""The longest that browsers keep a cookie."""
_MARK = re.compile(r"(\d{1,15})\.(\d{1,15})")


@dataclass(frozen=True, slots=True)
class Mark:
    """Up to where somebody has looked.

    Attributes:
        seq: what was committed up to it has been looked at.
        at_ms: the yard's time of the page that they looked at.
    """

    seq: int
    at_ms: int


def mark_of(request: Request, viewer: Viewer, deps: Deps) -> Mark | None:
    """Give how far this browser has looked; None where it never has, or where the journal was put back to before it."""
    found = _MARK.fullmatch(request.cookies.get(_name(viewer), ""))
    if found is None:
        return None
    mark = Mark(int(found[1]), int(found[2]))
    return mark if mark.seq <= deps.changes.seq else None


def keep_mark(answer: Response, viewer: Viewer, deps: Deps, mark: Mark) -> None:
    """Have the browser keep how far it has looked."""
    answer.set_cookie(
        _name(viewer),
        f"{mark.seq}.{mark.at_ms}",
        max_age=KEPT_S,
        secure=deps.over_tls,
        httponly=True,
        samesite="lax",
    )


def _name(viewer: Viewer) -> str:
    """Give the cookie's name: people who sign in on the same machine look each for themselves."""
    who = "" if viewer.known is None else viewer.known.login or viewer.known.name
    return f"looked-{hashlib.sha256(who.casefold().encode()).hexdigest()[:12]}"
