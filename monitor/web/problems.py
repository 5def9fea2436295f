"""Errors: problem details (RFC 9457) under ``/api``, a plain page elsewhere."""

from collections.abc import Mapping, Sequence
from http import HTTPStatus
from typing import Annotated, Any

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse, Response
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


ANSWERS = _described(404, 422)
REFUSED = _described(409, 503)
"""What a change answers where the watch refuses it, or does not answer in time."""

_DO = {
    404: "Check the address, or go back to the yard and choose a vessel there.",
    403: "Open the page from the yard's own address.",
    409: "Go back and look at how things stand now.",
    422: "Go back, put it right and send it again.",
    503: "Wait a minute and try again. If it stays so, look at /healthz.",
}


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
        places = [".".join(str(p) for p in e["loc"][1:]) or "body" for e in error.errors()]
        reasons = [_plain(e["msg"]) for e in error.errors()]
        found = [Mistake(key=key, reason=reason) for key, reason in zip(places, reasons, strict=True)]
        return answer(request, 422, f"{len(found)} mistake{'s' * (len(found) != 1)} in what was sent.", found)


def _plain(message: str) -> str:
    """Give a validator's own sentence without what pydantic puts before it."""
    return message.removeprefix("Value error, ")


def broken(request: Request) -> Response:
    """Answer where a program error was met."""
    return answer(request, 500, "Something here is broken. It has been written to the log, with the place.")


def answer(
    request: Request,
    status: int,
    detail: str,
    mistakes: Sequence[Mistake] | None = None,
    headers: Mapping[str, str] | None = None,
) -> Response:
    """Answer with an error, in the form that fits what was asked."""
    phrase = HTTPStatus(status).phrase
    if request.url.path.startswith("/api"):
        problem = Problem(
            title=phrase,
            status=status,
            detail=detail,
            instance=request.url.path,
            errors=None if mistakes is None else list(mistakes),
        )
        body = problem.model_dump(exclude_none=True)
        return JSONResponse(body, status, media_type=MEDIA_TYPE, headers=dict(headers or {}))
    heading = "Nothing here" if status == HTTPStatus.NOT_FOUND else phrase
    do = _DO.get(status, "Try again. If it stays so, look at the program's log.")
    page = render(request, "error.html", status=status, phrase=heading, detail=detail, mistakes=mistakes or (), do=do)
    page.status_code = status
    page.headers.update(headers or {})
    return page
