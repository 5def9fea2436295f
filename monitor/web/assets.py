"""Style sheet, scripts and the chart bundle: the address carries the version, so that they are fetched once."""

from fastapi import APIRouter, HTTPException, Request
from fastapi.responses import FileResponse, Response

from monitor.web.bundle import ChartBundle
from monitor.web.templates import STATIC, static_digest

router = APIRouter()
KEPT = "public, max-age=31536000, immutable"
TYPES = {
    "coldberth.css": "text/css; charset=utf-8",
    "coldberth.js": "text/javascript; charset=utf-8",
    "kept_forms.js": "text/javascript; charset=utf-8",
    "listener.js": "text/javascript; charset=utf-8",
    "charts.js": "text/javascript; charset=utf-8",
    "icon.svg": "image/svg+xml",
}


@router.get("/static/charts/{name}")
def chart_bundle(request: Request, name: str) -> FileResponse:
    """Give the script that draws charts."""
    bundle: ChartBundle = request.app.state.bundle
    if name != bundle.name:
        raise HTTPException(404)
    return FileResponse(bundle.file(), media_type="text/javascript; charset=utf-8", headers={"Cache-Control": KEPT})


@router.get("/static/{digest}/{name}")
def static_file(digest: str, name: str) -> Response:
    """Give a static file; an old address still finds the new file, but is not kept."""
    if name not in TYPES:
        raise HTTPException(404)
    kept = KEPT if digest == static_digest(name) else "no-cache"
    return Response((STATIC / name).read_bytes(), media_type=TYPES[name], headers={"Cache-Control": kept})
