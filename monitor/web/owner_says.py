"""What an owner is told of their boat: one sentence first, then who has it, what comes next, and whom to ring."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from monitor.model.alert import Alert
from monitor.model.scale import Priority
from monitor.model.urgency import SILENCE
from monitor.model.vessel import Mode, Vessel
from monitor.model.views import VesselNow
from monitor.record.commission import watch_state
from monitor.web.clock import YardClock
from monitor.web.deps import Deps
from monitor.web.lines import ON_PURPOSE, under_way, unheard_after_ms
from monitor.web.owner_told import in_hand
from monitor.web.owner_words import listed, say, what_is, within
from monitor.web.ranks import urgency
from monitor.web.visit_take import last_visit

QUIET, WRONG, UNKNOWN = "quiet", "wrong", "unknown"
_BY_MODE = {
    Mode.IN_COMMISSION: "in_commission",
    Mode.LAYING_UP: "laying_up",
    Mode.MOVING: "moving",
    Mode.IN_SLINGS: "in_slings",
    Mode.FIRST_24_H_AFLOAT: "first_24_h_afloat",
    Mode.WORK_ABOARD: "work_aboard",
}


@dataclass(frozen=True, slots=True)
class OwnerSays:
    """How a boat stands, for her owner.

    Attributes:
        tone: whether nothing is wrong, something is, or that is not known.
        first: the one sentence.
        then: what stands under it, a sentence each.
        also: what else is wrong, a line each.
        offered: the alerts that are handed to whoever looks, each with what it is.
        ring: whom to ring, a line each.
    """

    tone: str
    first: str
    then: tuple[str, ...] = ()
    also: tuple[str, ...] = ()
    offered: tuple[tuple[Alert, str], ...] = ()
    ring: tuple[str, ...] = ()


def owner_says(deps: Deps, now: VesselNow, clock: YardClock, reader: str = "") -> OwnerSays:
    """Say how a boat stands.

    Args:
        deps: where it is read.
        now: how she stands.
        clock: the yard's clock.
        reader: the name of the owner who looks, empty where it is not known.
    """
    record = now.stored.vessel
    alerts = sorted((a for a in now.alerts if not a.state.is_aside), key=urgency)
    worst = alerts[0] if alerts else None
    around = tuple(_around(deps, now, clock))
    unseen = _nothing_seen(now, clock)
    offered = tuple((a, _title(a, record)) for a in now.alerts if reader and _is_for(a, reader))
    # Where nothing at all is heard of her, that comes before whatever can wait, and before what the watch says of it.
    if unseen is not None and (worst is None or _can_wait(worst) or worst.rule == SILENCE):
        silent = worst is not None and worst.rule == SILENCE and worst.returned_ms is None
        told = tuple(in_hand(deps, worst, alerts, record, clock, reader)) if worst is not None and silent else ()
        also = tuple(_title(a, record) for a in alerts if not (silent and a is worst))
        return OwnerSays(UNKNOWN, unseen[0], (*unseen[1], *told, *around), also, offered, _ring(deps, record, clock))
    if worst is None:
        partly = _partly_seen(now)
        if partly is None:
            return OwnerSays(QUIET, _quiet(deps, now, clock), around, ring=_ring(deps, record, clock))
        if record.mode in _BY_MODE:  # people see to her, and where she is comes first
            return OwnerSays(QUIET, _quiet(deps, now, clock), (partly, *around), ring=_ring(deps, record, clock))
        under = say("then", "part" if record.watch_taken_on is not None else "not_taken_on")
        return OwnerSays(UNKNOWN, partly, (under, *around), ring=_ring(deps, record, clock))
    return OwnerSays(
        WRONG,
        f"{_title(worst, record)}.",
        (*in_hand(deps, worst, alerts, record, clock, reader), *around),
        tuple(_title(a, record) for a in alerts[1:]),
        offered,
        _ring(deps, record, clock),
    )


def visited(deps: Deps, now: VesselNow, clock: YardClock) -> str:
    """Say inside a sentence when somebody was last aboard, or else that nobody has been since the lay-up."""
    record = now.stored.vessel
    today = datetime.fromtimestamp(clock.now_ms / 1000, clock.zone).date()
    last = last_visit(deps, record.id)
    days = [v.on for v in record.visits if v.on <= today]
    if last is not None:
        days.append(datetime.fromtimestamp(last.at_ms / 1000, clock.zone).date())
    laid_up = record.laid_up.astimezone(clock.zone).date()
    since = [day for day in days if day >= laid_up] or days
    day, how = (max(since), "visited") if since else (laid_up, "laid_up")
    # In the winter at hand nobody asks which January.
    written = clock.day(day) if abs((today - day).days) > 300 else clock.day(day).rpartition(" ")[0]  # noqa: PLR2004
    return within("first", how, day=written)


def _quiet(deps: Deps, now: VesselNow, clock: YardClock) -> str:
    record = now.stored.vessel
    heard = "never" if now.heard_ms is None else clock.at(now.heard_ms)
    names = {"heard": heard, "visited": visited(deps, now, clock)}
    if deps.health().deaf:
        return say("first", "deaf", **names)
    if record.mode in _BY_MODE:
        return say("first", _BY_MODE[record.mode], **names)
    return say("first", "quiet_aside" if any(a.state.is_aside for a in now.alerts) else "quiet", **names)


def _nothing_seen(now: VesselNow, clock: YardClock) -> tuple[str, tuple[str, ...]] | None:
    """Say that nothing of her is seen, and what stands under it; None where something is."""
    vessel = now.stored.vessel
    if not vessel.sensors:
        return say("first", "no_sensors"), (say("then", "no_sensors"),)
    if now.heard_ms is None:
        return say("first", "never_heard"), (say("then", "never_heard"),)
    if clock.now_ms - now.heard_ms > unheard_after_ms(vessel):
        first = say("first", "unheard", heard=clock.at(now.heard_ms))
        return first, (say("then", "no_data"),)
    return None


def _partly_seen(now: VesselNow) -> str | None:
    """Say what of her is not seen; None where nothing is missing."""
    if now.unheard:
        return say("first", "part_unheard", place=listed(list(now.unheard)))
    record = now.stored.vessel
    if record.mode.is_laid_up and record.sensors and not watch_state(record).is_whole:
        return say("first", "not_taken_on" if record.watch_taken_on is None else "not_proved")
    missing = [finding for finding in now.not_known if finding.kind not in ON_PURPOSE]
    return say("first", "part_unknown", what=what_is(missing[0], now.stored.vessel, over=False)) if missing else None


def _around(deps: Deps, now: VesselNow, clock: YardClock) -> Iterator[str]:
    """Say what goes on beside: work aboard, what is put aside, that the watch hears nothing."""
    record = now.stored.vessel
    aboard = under_way(now, clock)
    if aboard is not None:
        yield say("then", "aboard", what=say("aboard", aboard.reason.value), until=clock.at(aboard.until_ms))
    aside = [a for a in now.alerts if a.state.is_aside]
    if len(aside) == 1:
        until = "" if aside[0].aside_until_ms is None else clock.at(aside[0].aside_until_ms)
        yield say("then", "aside", until=until, what=_title(aside[0], record))
    elif aside:
        yield say("then", "asides", count=len(aside))
    if deps.health().deaf:
        yield say("then", "deaf")


def _ring(deps: Deps, record: Vessel, clock: YardClock) -> tuple[str, ...]:
    lines = []
    if record.card.contacts.strip():
        lines.append(say("ring", "contacts", text=record.card.contacts.strip()))
    duty = [person.name for person in deps.roster.next_to_tell(clock.now_ms)]
    if duty:
        lines.append(say("ring", "duty", who=listed(duty)))
    return tuple(lines) or (say("ring", "yard", yard=deps.yard_name),)


def _can_wait(alert: Alert) -> bool:
    return alert.returned_ms is not None or alert.priority is Priority.CAUTION


def _title(alert: Alert, record: Vessel) -> str:
    return what_is(alert.finding, record, over=alert.returned_ms is not None or alert.finding.over)


def _is_for(alert: Alert, reader: str) -> bool:
    return (alert.offered_to or "").casefold() == reader.casefold()
