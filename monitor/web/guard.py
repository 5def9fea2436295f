"""What every answer carries and every question must pass, whatever route it is for."""

import logging
from collections.abc import Callable
from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import Request, cookie_parser
from starlette.responses import Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

log = logging.getLogger(__name__)

SESSION_COOKIE = "coldberth"
SAFE_METHODS = frozenset({"GET", "HEAD", "OPTIONS"})

POLICY = (
    "default-src 'none'",
    "script-src 'self'",
    "worker-src 'self'",
    "style-src 'self'",
    "img-src 'self' data:",
    "connect-src 'self'",
    "form-action 'self'",
    "base-uri 'none'",
    "frame-ancestors 'none'",
)
HEADERS = {
    "Content-Security-Policy": "; ".join(POLICY),
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), geolocation=(), microphone=()",
}


class Guard:
    """Puts security headers on answers, and refuses what another site sends.

    Without sign-in the browser itself is the danger: a page of another site could post to this machine. So a change is
    refused that a browser says comes from elsewhere (``Sec-Fetch-Site``, ``Origin``), and so is any question under a
    name that is not ours (``Host``), which is how a foreign page reaches a loopback address. A command line sends
    neither of the first two, and passes.
    """

    def __init__(
        self,
        app: ASGIApp,
        hosts: frozenset[str],
        broken: Callable[[Request], Response],
        refused: Callable[[Request, str], Response],
    ) -> None:
        self.app = app
        self.hosts = hosts
        self.broken = broken
        self.refused = refused

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a question on, or refuse it."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return

        started = False

        async def send_with_headers(message: Message) -> None:
            nonlocal started
            if message["type"] == "http.response.start":
                started = True
                headers = MutableHeaders(scope=message)
                for name, value in HEADERS.items():
                    headers.setdefault(name, value)
                headers.setdefault("Cache-Control", "no-cache")
            await send(message)

        reason = self._refused(scope)
        answer = self.app if reason is None else self.refused(Request(scope), reason)
        try:
            await answer(scope, receive, send_with_headers)
        except Exception:
            # Met here and not further out, so that this answer carries the headers too.
            # The route's own path: what was asked may hold the secret of a link, and line ends.
            log.exception("%s %s could not be answered", scope["method"], getattr(scope.get("route"), "path", "a path"))
            if started:
                raise
            await self.broken(Request(scope))(scope, receive, send_with_headers)

    def _refused(self, scope: Scope) -> str | None:
        headers = Headers(scope=scope)
        host = headers.get("host", "")
        if _name_of(host) not in self.hosts:
            return f"This server is not called {host!r}. Open it by its own name, or add the name to its settings."
        if scope["method"] in SAFE_METHODS:
            return None
        if headers.get("sec-fetch-site", "same-origin") not in {"same-origin", "none"}:
            return "Refused: the browser says that another site's page sent this. Press it on the yard's own page."
        origin = headers.get("origin")
        if (
            origin is None
            and "sec-fetch-site" not in headers
            and SESSION_COOKIE in cookie_parser(headers.get("cookie", ""))
        ):
            return "Refused: the browser does not say which page sent this. Use a newer one, or a token."
        if origin is not None and _site_of(origin) != host:
            return f"Refused: sent by a page of {origin}. Press it on the yard's own page, at {host}."
        return None


def _site_of(origin: str) -> str | None:
    """Give host and port of an origin, None where it is no address."""
    try:
        return urlsplit(origin).netloc
    except ValueError:
        return None


def _name_of(host: str) -> str:
    """Give a host without its port.

    >>> _name_of("localhost:8000"), _name_of("[::1]:80"), _name_of("yard.example")
    ('localhost', '[::1]', 'yard.example')
    """
    name, colon, port = host.rpartition(":")
    return (name if colon and port.isdecimal() else host).lower()
