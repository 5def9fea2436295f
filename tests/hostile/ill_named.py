"""A yard whose every name, note and topic means ill: what a boat, an owner, a visitor and a device may be called."""

import json
from pathlib import Path
from typing import Any

from watched import WatchedYard
from yards import record

from monitor.model.batch import Batch
from monitor.model.inputs import Aboard as Why
from monitor.model.inputs import Accept, Acknowledge, HandOver, Suppress, VisitReport
from monitor.model.parcel import Reject, RejectReason
from monitor.model.vessel import Vessel
from monitor.model.visit import Found, VisitNote

MARKUP = "'\"><script>hit()</script><img src=x onerror=hit()>"
ILL = f"{MARKUP}\x1b[2J\x07\r\nBcc: a@b.example\u202e{{{{7*7}}}}"
SHORT = '"><img src=x onerror=hit()>\x1b[2J\r\nX:1'
TOPIC = "layup/eiderhythe/" + MARKUP
BOAT = "amber-lark"
_TEXTS = {"name": 80, "engineer": 80, "plot": 40, "place": 80, "what": 80, "reason": 80, "by": 80}


def ill_named(vessel: Vessel) -> Vessel:
    """Give a record with markup, an escape sequence and a header in every text a person writes."""
    document = vessel.model_dump(mode="json")
    document["card"] = dict.fromkeys(document["card"], ILL)
    return Vessel.model_validate_json(json.dumps(_spoilt(document)))


def _spoilt(tree: Any) -> Any:
    if isinstance(tree, dict):
        return {k: _text(k) if k in _TEXTS and isinstance(v, str) else _spoilt(v) for k, v in tree.items()}
    if isinstance(tree, list):
        return [_spoilt(v) for v in tree]
    return tree


def _text(key: str) -> str:
    return SHORT if key == "plot" else ILL[: _TEXTS[key]]


def ill_named_yard(path: Path) -> WatchedYard:
    """Give a yard of one such boat with water aboard, of which such people have said and done what can be."""
    yard = WatchedYard(path)
    yard.watch(ill_named(record(BOAT, "Amber Lark", "B1")))
    yard.sensed(BOAT, "float", 1.0)
    yard.passes(0.01)
    alert = yard.alert_of(BOAT, "bilge")
    name, at = ILL[:80], yard.now_ms
    for command in (
        Acknowledge(BOAT, alert.id, at, name, ILL),
        HandOver(BOAT, alert.id, at, name, f"{name[:78]} 2", ILL),
        Accept(BOAT, alert.id, at, name, ILL),
        VisitReport(BOAT, at, name, VisitNote(Found.NOT_TOLD, note=ILL)),
        Suppress(BOAT, at, name, Why.PEOPLE, at + 3_600_000, ILL),
    ):
        yard.fleet.command(command)
    yard.flush()
    reject = Reject(RejectReason.MALFORMED, TOPIC, f"record 1: {MARKUP}")
    yard.journal.append(Batch(rejects=[(at, reject)], last_seq=yard.journal.ends_at()[0]))
    yard.passes(1.5)
    return yard
