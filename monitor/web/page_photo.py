"""Serves the photos of a vessel's record."""

from fastapi import APIRouter, Request
from fastapi.responses import Response

from monitor.web import sight
from monitor.web.deps import Deps
from monitor.web.problems import ProblemError
from monitor.web.sight import Asking

router = APIRouter()
# Its name is the hash of its bytes, so it never changes; but only who may see her may keep it.
CACHE = "private, max-age=31536000, immutable"


@router.get("/vessels/{vessel_id}/photos/{photo_id}")
def photo(request: Request, viewer: Asking, vessel_id: str, photo_id: str) -> Response:
    """Give a photo."""
    deps: Deps = request.app.state.deps
    found = deps.photos.photo(vessel_id, photo_id) if sight.may_see(viewer, vessel_id) else None
    if found is None:
        raise ProblemError(404, "There is no such photo of her.")
    return Response(found.jpeg, media_type="image/jpeg", headers={"Cache-Control": CACHE, "ETag": f'"{found.id}"'})
