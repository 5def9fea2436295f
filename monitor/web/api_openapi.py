"""The API's own description (OpenAPI)."""

from typing import Any

from fastapi import APIRouter, Request

router = APIRouter()


@router.get("/api/openapi.json")
def document(request: Request) -> dict[str, Any]:
    """Give the description of every route of the API."""
    described: dict[str, Any] = request.app.openapi()
    return described
