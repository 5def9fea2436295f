"""Errors: problem details (RFC 9457) under ``/api``, a plain page elsewhere."""

from collections.abc import Mapping, Sequence
from http import HTTPStatus
from typing import Annotated, Any
from urllib.parse import urlsplit

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse, PlainTextResponse, Response
from pydantic import BaseModel, Field
from starlette.exceptions import HTTPException

from monitor.web.templates import render

MEDIA_TYPE = "application/problem+json"


class Mistake(BaseModel):
    """One mistake in what was sent: where, and what is wrong there."""

    key: str
    reason: str


class Problem(BaseModel):
    """Problem details for HTTP APIs (RFC 9457)."""

    type: str = "about:blank"
    title: str
    status: int
    detail: str
    instance: str
    errors: Annotated[list[Mistake] | None, Field(description="every mistake in what was sent")] = None


class ProblemError(Exception):
    """What a route raises to answer with a problem."""

    def __init__(self, status: int, detail: str, mistakes: Sequence[Mistake] | None = None) -> None:
        super().__init__(detail)
        self.status = status
        self.detail = detail
        self.mistakes = mistakes


def _described(*codes: int) -> dict[int | str, dict[str, Any]]:
    schema = {MEDIA_TYPE: {"schema": Problem.model_json_schema()}}
    return {code: {"description": HTTPStatus(code).phrase, "content": schema} for code in codes}


ANSWERS = _described(400, 401, 403, 404, 408, 413, 422)
"""What any route may answer: to what is no question, to strangers, and to what is too large or too slow."""
REFUSED = _described(409, 503)
"""What a change answers where the watch refuses it, or does not answer in time."""

_HEADINGS = {
    400: "This could not be read",
    403: "This was not taken",
    404: "Nothing here",
    405: "This cannot be asked here",
    408: "This took too long",
    409: "This was not done",
    410: "This invitation was used, or is too old",
    413: "This is too large",
    422: "Something in it has to be put right",
    500: "Something here is broken",
    503: "No answer came in time",
}
DO = {
    403: "Ask a manager of the yard, if you need it.",
    429: "Wait, then try again.",
    404: "Check the address, or go back to the yard and choose a boat there.",
    409: "Go back and look at how things stand now.",
    410: "If you have set a password, sign in with it. Else ask a manager of the yard for a new invitation.",
    422: "Go back, put it right and send it again.",
    503: "Wait a minute, then look whether it was taken before you send it again.",
}
"""What to do after an error, by its status."""


def install(app: FastAPI) -> None:
    """Make the app answer errors this way."""

    @app.exception_handler(ProblemError)
    def _problem(request: Request, error: ProblemError) -> Response:
        return answer(request, error.status, error.detail, error.mistakes)

    @app.exception_handler(HTTPException)
    def _http(request: Request, error: HTTPException) -> Response:
        detail = error.detail
        if error.status_code == HTTPStatus.NOT_FOUND and detail == HTTPStatus.NOT_FOUND.phrase:
            detail = f"There is nothing at {request.url.path}."
        return answer(request, error.status_code, detail, headers=error.headers)

    @app.exception_handler(RequestValidationError)
    def _invalid(request: Request, error: RequestValidationError) -> Response:
        found = mistakes_of(error.errors(), within=1)
        return answer(request, 422, counted(found), found)


def mistakes_of(errors: Sequence[Any], within: int = 0) -> list[Mistake]:
    """Give what pydantic found as mistakes, each in its validator's own sentence.

    Args:
        errors: what it found.
        within: how many parts of each place only say in what it lies.
    """
    places = [".".join(str(part) for part in e["loc"][within:]) or "body" for e in errors]
    reasons = [str(e["msg"]).removeprefix("Value error, ") for e in errors]
    return [Mistake(key=key, reason=reason) for key, reason in zip(places, reasons, strict=True)]


def counted(found: Sequence[Mistake]) -> str:
    """Say how many mistakes there are."""
    return f"{len(found)} mistake{'s' * (len(found) != 1)} in what was sent."


def foreign(request: Request, reason: str) -> Response:
    """Answer what was sent under a name that is not ours, or by another site's page: with no page that it could use."""
    if request.url.path.startswith("/api"):
        return answer(request, 403, reason)
    return PlainTextResponse(f"{reason}\n", status_code=403)


def broken(request: Request) -> Response:
    """Answer where a program error was met."""
    return answer(request, 500, "It has been written to the program's log, with the place.")


def answer(
    request: Request,
    status: int,
    detail: str,
    mistakes: Sequence[Mistake] | None = None,
    headers: Mapping[str, str] | None = None,
) -> Response:
    """Answer with an error, in the form that fits what was asked."""
    if request.url.path.startswith("/api"):
        problem = Problem(
            title=HTTPStatus(status).phrase,
            status=status,
            detail=detail,
            instance=request.url.path,
            errors=None if mistakes is None else list(mistakes),
        )
        body = problem.model_dump(exclude_none=True)
        return JSONResponse(body, status, media_type=MEDIA_TYPE, headers=dict(headers or {}))
    page = render(
        request,
        "error.html",
        heading=_HEADINGS.get(status, "This could not be answered"),
        detail=detail,
        mistakes=[mistake for mistake in mistakes or () if mistake.reason not in detail],
        do=DO.get(status, "Try again. If it stays so, look at the program's log."),
        back=_way_back(request),
    )
    page.status_code = status
    page.headers.update(headers or {})
    return page


def _way_back(request: Request) -> str | None:
    """Give the page of ours that this was asked from; None where it was none, or the one that failed."""
    try:
        came = urlsplit(request.headers.get("referer", ""))
    except ValueError:  # no address at all
        return None
    ours = came.netloc == request.headers.get("host") and came.path.startswith("/") and not came.path.startswith("//")
    if not ours or (request.method in {"GET", "HEAD"} and came.path == request.url.path):
        return None
    return f"{came.path}?{came.query}" if came.query else came.path
