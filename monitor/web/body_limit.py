"""No question brings more than it may, and none takes for ever to bring it."""

import asyncio
import re
import time

from starlette.exceptions import HTTPException
from starlette.types import ASGIApp, Message, Receive, Scope, Send

LARGEST_RECORD = 1_000_000  # bytes of a lay-up record, which has its own route
LARGEST_BODY = 200_000  # bytes of anything else: a visit with everything filled in has 80,000
LARGEST_WITH_PHOTOS = 75_000_000  # bytes of a job's form: six photos of 12 MB, and its fields
WHOLE_WITHIN_S = 30.0  # from its first byte to its last: a phone on one bar brings 100 kB in that
PHOTOS_WITHIN_S = 300.0  # six photos of 4 MB at 80 kB/s, which a phone at the far pontoon has
_WITH_PHOTOS = re.compile(r"/vessels/[^/]+/work/[^/]+")


class BodyLimit:
    """Refuses a body that is too large (413) or too slow (408), without having read it all.

    It is met where a route reads the body, so that the refusal is said in the form of the route's errors. A route
    that reads none is not bothered: see `monitor.web.connections`.
    """

    whole_within_s = WHOLE_WITHIN_S

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a question on with its body measured."""
        if scope["type"] == "http":
            within_s = PHOTOS_WITHIN_S if _has_photos(scope) else self.whole_within_s
            receive = _Measured(receive, _most(scope), _stated(scope), within_s)
        await self.app(scope, receive, send)


class _Measured:
    """A body, counted as it comes."""

    def __init__(self, receive: Receive, most: int, stated: int, within_s: float) -> None:
        self._receive = receive
        self._most = most
        self._stated = stated
        self._come = 0
        self._whole = False
        self._until = time.monotonic() + within_s

    async def __call__(self) -> Message:
        if self._whole:  # whoever waits now waits for the end of the connection, which may be long
            return await self._receive()
        if self._stated > self._most:
            raise self._too_large()
        try:
            message = await asyncio.wait_for(self._receive(), max(self._until - time.monotonic(), 0.0))
        except TimeoutError as error:
            detail = "What you send has not come within the time there is for it. Send it again."
            raise HTTPException(408, detail, headers={"Connection": "close"}) from error
        self._come += len(message.get("body", b""))
        self._whole = message["type"] != "http.request" or not message.get("more_body", False)
        if self._come > self._most:
            raise self._too_large()
        return message

    def _too_large(self) -> HTTPException:
        detail = f"At most {self._most:,} bytes are taken here. Send less."
        return HTTPException(413, detail, headers={"Connection": "close"})


def _has_photos(scope: Scope) -> bool:
    """Say whether it is the one route that takes photos; that is asked for its grade before its body is read."""
    return scope["method"] == "POST" and _WITH_PHOTOS.fullmatch(scope["path"]) is not None


def _most(scope: Scope) -> int:
    if _has_photos(scope):
        return LARGEST_WITH_PHOTOS
    is_record = scope["method"] == "PUT" and scope["path"].endswith("/record")
    return LARGEST_RECORD if is_record else LARGEST_BODY


def _stated(scope: Scope) -> int:
    """Give the length that a question states, 0 where it states none: it is counted all the same."""
    for name, value in scope["headers"]:
        if name == b"content-length" and value.isdigit():
            return int(value[:20])
    return 0
