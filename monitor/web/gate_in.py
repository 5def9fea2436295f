"""What people say at the gate, as they send it, and how the watch takes it."""

import re
from datetime import datetime, timedelta
from typing import Annotated, NoReturn
from zoneinfo import ZoneInfo

from fastapi.concurrency import run_in_threadpool
from pydantic import BaseModel, ConfigDict, Field

from monitor.model.access import Grade
from monitor.model.gate import GateAct, GateWord, gate_refusal
from monitor.record.gate import Gate
from monitor.record.gate_now import read_gate
from monitor.record.gate_people import may_be_one
from monitor.record.gate_says import verdict
from monitor.web.acts import Name, Words
from monitor.web.commands import hand_in, name_of
from monitor.web.deps import Deps
from monitor.web.found import vessel_now
from monitor.web.problems import Mistake, ProblemError
from monitor.web.sight import Viewer
from monitor.web.turns import Turns

_CLOCK = re.compile(r"([01]?\d|2[0-3]):([0-5]\d)")
_FOR_ENGINEERS = frozenset({GateAct.OVERRIDE, GateAct.IN_SLINGS})
_turns = Turns()
"""Whose turn it is to say something, by vessel: who comes second sees what the first said."""


class ItemIn(BaseModel):
    """Who says what of an item: ``done``, ``sight``, ``reopen`` or ``override``; an override needs its reason."""

    model_config = ConfigDict(extra="forbid")

    name: Name
    act: GateAct
    note: Words = ""


class SlingsIn(ItemIn):
    """Who says that she is ``in the slings``, or that they looked ``since`` a time on and she stayed ``dry``."""

    since: Annotated[str, Field(max_length=40, description="14:30 yard time, or ISO 8601")] = ""


def gate_now(deps: Deps, viewer: Viewer, vessel_id: str) -> Gate:
    """Give a vessel's launch gate.

    Raises:
        HTTPException: 404 where there is no such vessel, or this viewer may not see her.
    """
    vessel_now(deps, viewer, vessel_id)
    gate = read_gate(vessel_id, deps.records, deps.readings, deps.alerts, deps.now_ms(), deps.zone)
    if gate is None:
        raise ProblemError(404, f"There is no boat with the id {vessel_id!r} in this yard.")
    return gate


def may_override(viewer: Viewer) -> bool:
    """Say whether somebody may override what is due, and open her for the lift."""
    return viewer.known is not None and viewer.known.grade.may(Grade.ENGINEER)


async def say(deps: Deps, viewer: Viewer, vessel_id: str, said: ItemIn, item_id: str = "") -> GateWord:
    """Say something at the gate, and wait until it is committed.

    Raises:
        HTTPException: 404 where there is no such vessel.
        ProblemError: where there is no such item, or it cannot be said as things stand, in words.
    """
    async with _turns.of(vessel_id):
        gate = await run_in_threadpool(gate_now, deps, viewer, vessel_id)
        if item_id and gate.item(item_id) is None:
            raise ProblemError(404, f"There is nothing called {item_id!r} on her spring list.")
        if said.act in _FOR_ENGINEERS and not may_override(viewer):
            raise ProblemError(403, "Only an engineer or a manager opens her for the lift, or overrides what is due.")
        name = await run_in_threadpool(name_of, deps, viewer, said.name, vessel_id)
        at_ms = deps.now_ms()
        from_ms = _from_ms(said, at_ms, deps.zone)
        word = GateWord(vessel_id, at_ms, name, said.act, item_id, said.note, from_ms)
        if said.act is GateAct.OVERRIDE and not said.note:
            _wrong("note", gate_refusal(word))
        refused = gate_refusal(word) or _refused_now(gate, word)
        if refused:
            raise ProblemError(409, f"{refused[:1].upper()}{refused[1:]}.")
        await hand_in(deps, word)
        return word


def _refused_now(gate: Gate, word: GateWord) -> str:
    """Say why it cannot be said as things stand; empty where it can."""
    item = gate.item(word.item)
    if item is not None and word.act is GateAct.SIGHT:
        same = next((said.by for said in item.sighted if may_be_one(said.by, word.actor)), None)
        if same is not None:
            called = word.actor if same == word.actor else f"{word.actor} may be {same}, who"
            whole = "" if same == word.actor else ", and writes their whole name"
            return f"{called} has sighted it already: another person looks for themselves{whole}"
        return "two people have seen it closed already" if item.is_closed else ""
    return _refused_of_slings(gate, word)


def _refused_of_slings(gate: Gate, word: GateWord) -> str:
    if word.act is GateAct.IN_SLINGS:
        afloat = "she is afloat by her record"
        return afloat if gate.dryness is None else "" if gate.is_ready else verdict(gate)
    if word.act is GateAct.DRY:
        slings = None if gate.dryness is None else gate.dryness.slings
        if slings is None:
            return "say first that she is in the slings"
        if word.from_ms is not None and word.from_ms < slings.at_ms:
            return "that is before she was in the slings: only what was seen since counts"
    return ""


def _from_ms(said: ItemIn, now_ms: int, zone: ZoneInfo) -> int | None:
    """Give the time from which on somebody looked: the last time the yard's clock showed it."""
    if said.act is not GateAct.DRY or not isinstance(said, SlingsIn):
        return None
    now, text = datetime.fromtimestamp(now_ms / 1000, zone), said.since.strip()
    clock = _CLOCK.fullmatch(text)
    if clock is not None:
        at = now.replace(hour=int(clock[1]), minute=int(clock[2]), second=0, microsecond=0)
        return _ms(at if at <= now else at - timedelta(days=1))
    try:
        at = datetime.fromisoformat(text)
    except ValueError:
        _wrong("since", f"{said.since!r} is no time: write since when you have looked, as 14:30")
    return _ms(at if at.tzinfo is not None else at.replace(tzinfo=zone))


def _wrong(key: str, reason: str) -> NoReturn:
    raise ProblemError(422, f"{reason}.", [Mistake(key=key, reason=reason)])


def _ms(at: datetime) -> int:
    return round(at.timestamp() * 1000)
