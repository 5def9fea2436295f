"""Messages that could not be used, why, and what to do about each."""

from fastapi import APIRouter, HTTPException, Request
from fastapi.responses import HTMLResponse

from monitor.model.parcel import RejectReason
from monitor.web import sight
from monitor.web.deps import Deps
from monitor.web.sight import Asking
from monitor.web.templates import render

router = APIRouter()

REMEDIES = {
    RejectReason.MALFORMED: "The sensor sends a form this program does not read. Send SenML JSON or a bare number, or "
    "describe its JSON in the settings' sources table.",
    RejectReason.OVERSIZED: "The message is over 64 KiB. Let the device send fewer readings at a time.",
    RejectReason.UNKNOWN_TOPIC: "The topic is none of ours. Correct it in the device, or add it to the sources table.",
    RejectReason.UNKNOWN_VESSEL: "No boat of this id has a record here. Correct the topic, or import her record.",
    RejectReason.UNKNOWN_SENSOR: "Her record has no such sensor. Add it there, or correct its name in the device.",
    RejectReason.WRONG_UNIT: "The unit does not fit the quantity in her record. Correct one of the two.",
    RejectReason.NOT_A_NUMBER: "The value is no number. Look at the sensor and its wiring.",
    RejectReason.WRONG_TIME: "The device's clock is wrong. Set it, or let the device send no time.",
}
COUNTED = {
    "duplicate": "came twice with the same value: kept once",
    "conflict": "came twice with another value: the first is kept",
    "late": "came behind their time: kept, and judged for what they tell of the past",
    "clock fault": "stated a time that cannot be: taken as of when they came",
    "unknown vessel": "of a boat that has no record here",
    "sent again after its time": "so old that nobody can say whether they had come before: left out",
}
"""What is counted of readings, in words."""


@router.get("/rejects")
def rejects(request: Request, viewer: Asking) -> HTMLResponse:
    """Show what could not be used."""
    if not sight.may_see(viewer, None):
        raise HTTPException(404)
    deps: Deps = request.app.state.deps
    lines = deps.intake.rejects()
    remedies = {reason.value: text for reason, text in REMEDIES.items()}
    tally = [(name, COUNTED.get(name, ""), count) for name, count in sorted(deps.intake.tally().items())]
    return render(request, "rejects.html", lines=lines, remedies=remedies, tally=tally)
