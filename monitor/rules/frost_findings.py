"""What the frost rule says: its findings as data, with causes and advice by how the thing was left.

Facts whose name ends in ``_ms`` are times that have been: a message is as of the newest of them. Times to come have
names without it.
"""

from dataclasses import replace
from typing import NamedTuple

from monitor.model.finding import Figure, Finding, TimeToHarm
from monitor.model.reading import Seen
from monitor.model.scale import Priority, Sure
from monitor.rules.exposure import Exposure, Unheard
from monitor.rules.frost_advice import RUNS_THROUGH
from monitor.rules.frost_ahead import Low, Outlook
from monitor.rules.frost_grade import asks_k, error_k, is_wet
from monitor.rules.frost_things import Freezable
from monitor.rules.rule import HOUR_MS

GOOD_ERROR_K = 2.0
"""Up to this error of tester and thermometer together a finding calls itself likely; more is possible only."""
HORIZONS_H = (12, 24, 48, 96)
_HOUR_S = 3_600.0

_CAUSES = {
    "treated": ("coolant_weak", "cold_night", "probe_misplaced"),
    "wet": ("left_wet", "cold_night"),
    "not proven": ("state_not_proven", "cold_night"),
    "battery": ("battery_low", "cold_night"),
}
_CALLS = ("call_out", "call_today", "visit_by_notice")
_ANY_MOMENT = TimeToHarm(1.0, None)


class Asked(NamedTuple):
    """When a visit can be had, ms UTC.

    Attributes:
        until_ms: the end of the next working day.
        needed: whether it may get so cold that somebody has to come.
        visit_by: the last notice time before that, None where none is left.
    """

    until_ms: int
    needed: bool
    visit_by: int | None


def close_to_freezing(
    thing: Freezable, seen: Seen, freeze_degc: float, priority: Priority, outlook: Outlook, visit: Low, asked: Asked
) -> Finding:
    """Say that a thing is near or below its freezing point (degC), or will be before somebody comes."""
    t_degc, error, advice = seen.value, error_k(thing), thing.advice
    frozen = t_degc <= freeze_degc
    return Finding(
        rule="frost",
        subject=thing.subject,
        kind="wet" if is_wet(thing) else "battery" if thing.battery else "margin",
        priority=priority,
        figure=Figure(round(t_degc, 1), round(freeze_degc, 1), "degC"),
        harm=_time_to_harm(thing, freeze_degc, priority, outlook),
        sure=_sure(thing, freeze_degc, t_degc, visit),
        causes=_CAUSES[thing.how],
        first=_visit_first(priority, asked, frozen=frozen) + (advice.frozen if frozen else advice.ahead),
        never=advice.never,
        rests_on=(seen,),
        facts={
            "name": thing.name,
            "how": thing.how,
            "t_degc": round(t_degc, 1),
            "protected_to_degc": round(freeze_degc, 1),
            "margin_k": round(t_degc - freeze_degc - error, 1),
            "error_k": round(error, 1),
            "own_probe": thing.own_probe,
            "frozen": frozen,
            "foretold_by": outlook.by,
            "foretold_degc": round(visit.degc, 1),
            "foretold_low_degc": round(visit.low_degc, 1),
            "foretold_high_degc": round(visit.high_degc, 1),
            "foretold_at": _whole_hour(seen.at_ms, visit.hours),
            "carried_h": round(min(outlook.reach_h, (asked.until_ms - seen.at_ms) / HOUR_MS), 1),
            "until": asked.until_ms,
            "visit_by": asked.visit_by,
            "lag_h": None if outlook.lag_h is None else round(outlook.lag_h, 1),
            **_margins(outlook, visit, freeze_degc + error),
            **advice.facts,
        },
    )


def not_known(thing: Freezable, freeze_degc: float, last: Seen | None) -> Finding:
    """Say that nobody knows how cold a thing is."""
    return Finding(
        rule="frost",
        subject=thing.subject,
        kind="not known",
        priority=Priority.CAUTION,
        figure=Figure(None, round(freeze_degc, 1), "degC"),
        harm=None,
        sure=Sure.NOT_KNOWN,
        causes=("no_temperature",),
        first=("read_temperature_aboard",),
        never=(),
        rests_on=() if last is None else (last,),
        facts={"name": thing.name, "how": thing.how, "protected_to_degc": round(freeze_degc, 1)},
    )


def charge_not_known(thing: Freezable, freeze_degc: float, last_volts: Seen) -> Finding:
    """Say that nobody knows by now at what charge a battery is, and so where it freezes."""
    return replace(
        not_known(thing, freeze_degc, last_volts),
        kind="charge not known",
        causes=("no_volts_heard",),
        first=("read_volts_aboard",),
    )


def froze_unheard(thing: Freezable, freeze_degc: float, unheard: Unheard) -> Finding:
    """Say that a thing was below its freezing point while nobody heard it."""
    return Finding(
        rule="frost",
        subject=thing.subject,
        kind="froze unheard",
        priority=Priority.WARNING,
        figure=Figure(round(unheard.lowest_degc, 1), round(freeze_degc, 1), "degC"),
        harm=None,
        sure=Sure.LIKELY,
        causes=_CAUSES[thing.how],
        first=thing.advice.frozen,
        never=thing.advice.never,
        facts={
            "name": thing.name,
            "how": thing.how,
            "from_ms": unheard.from_ms,
            "to_ms": unheard.to_ms,
            "lowest_degc": round(unheard.lowest_degc, 1),
            "protected_to_degc": round(freeze_degc, 1),
            **thing.advice.facts,
        },
        latches=True,
    )


def thawed(thing: Freezable, exposure: Exposure, watch_until: int) -> Finding:
    """Say that a thing froze and has thawed: what the frost split leaks from now on."""
    lowest = round(exposure.lowest_degc, 1)
    return Finding(
        rule="frost",
        subject=thing.subject,
        kind="thaw",
        priority=Priority.WARNING,
        figure=Figure(lowest, None if thing.freeze_degc is None else round(thing.freeze_degc, 1), "degC"),
        harm=TimeToHarm(0.0, None),
        sure=Sure.LIKELY if thing.own_probe else Sure.POSSIBLE,
        causes=_CAUSES[thing.how],
        first=thing.advice.thawed,
        never=thing.advice.never_thawed,
        facts={
            "name": thing.name,
            "how": thing.how,
            "lowest_degc": lowest,
            "froze_ms": exposure.froze_ms,
            "thawed_ms": exposure.thawed_ms,
            "watch_until": watch_until,
            "exposed_h": round(exposure.hours, 1),
            "exposed_k_h": round(exposure.degree_hours, 1),
            **thing.advice.facts,
        },
        latches=True,
    )


def after_a_freeze(ahead: Finding, past: Finding) -> Finding:
    """Say what is to come of a thing together with what has been: it froze and has thawed, heard or unheard."""
    splits = past.first[:2]
    calls = tuple(step for step in ahead.first if step in _CALLS)
    rest = tuple(step for step in ahead.first if step not in {*calls, *splits, *RUNS_THROUGH})
    never = tuple(dict.fromkeys((*past.never, *ahead.never)))
    been = {
        "froze_ms": past.facts.get("froze_ms", past.facts.get("from_ms")),
        "thawed_ms": past.facts.get("thawed_ms", past.facts.get("to_ms")),
        "froze_to_degc": past.facts["lowest_degc"],
    }
    facts = {**ahead.facts, **been}
    return replace(ahead, first=calls + splits + rest, never=never, facts=facts, latches=past.latches)


def _visit_first(priority: Priority, asked: Asked, *, frozen: bool) -> tuple[str, ...]:
    if frozen or priority is Priority.CAUTION or not asked.needed:
        return ()
    if asked.visit_by is not None:
        return ("visit_by_notice",)
    return ("call_out",) if priority is Priority.ALARM else ("call_today",)


def _margins(outlook: Outlook, visit: Low, point_degc: float) -> dict[str, float | None]:
    """Give the lowest margin within each horizon, low, best and high; None past where anything is foretold."""
    ends = (outlook.within(hours) if outlook.reach_h >= hours else None for hours in HORIZONS_H)
    m12, m24, m48, m96 = (_margin(low, point_degc) for low in ends)
    until = _margin(visit, point_degc)
    return {
        "margin_12h_low_k": m12[0],
        "margin_12h_k": m12[1],
        "margin_12h_high_k": m12[2],
        "margin_24h_low_k": m24[0],
        "margin_24h_k": m24[1],
        "margin_24h_high_k": m24[2],
        "margin_48h_low_k": m48[0],
        "margin_48h_k": m48[1],
        "margin_48h_high_k": m48[2],
        "margin_96h_low_k": m96[0],
        "margin_96h_k": m96[1],
        "margin_96h_high_k": m96[2],
        "margin_until_low_k": until[0],
        "margin_until_k": until[1],
        "margin_until_high_k": until[2],
    }


def _margin(low: Low | None, point_degc: float) -> tuple[float | None, float | None, float | None]:
    if low is None:
        return None, None, None
    return round(low.low_degc - point_degc, 1), round(low.degc - point_degc, 1), round(low.high_degc - point_degc, 1)


def _sure(thing: Freezable, freeze_degc: float, t_degc: float, visit: Low) -> Sure:
    if not thing.own_probe or error_k(thing) > GOOD_ERROR_K:
        return Sure.POSSIBLE
    # What only the low end of the range reaches is possible; what is measured or best foretold is likely.
    point = freeze_degc + error_k(thing)
    return Sure.LIKELY if min(t_degc, visit.degc) <= point or visit.low_degc > point else Sure.POSSIBLE


def _time_to_harm(thing: Freezable, freeze_degc: float, priority: Priority, outlook: Outlook) -> TimeToHarm:
    if outlook.best.degc[0] <= freeze_degc:
        # It freezes. That harm has begun is an alarm's word: where nobody proved that there is water, it may yet begin.
        return TimeToHarm(0.0, None) if priority is Priority.ALARM else _ANY_MOMENT
    soonest = outlook.low.first_below(freeze_degc + asks_k(thing))
    if soonest == 0.0:
        # The room that is kept for errors is used up, and nothing has frozen by what is measured.
        soonest = outlook.low.first_below(freeze_degc)
    latest = outlook.high.first_below(freeze_degc - error_k(thing))
    return TimeToHarm(
        (outlook.reach_h if soonest is None else soonest) * _HOUR_S, None if latest is None else latest * _HOUR_S
    )


def _whole_hour(from_ms: int, hours: float) -> int:
    return round((from_ms + hours * HOUR_MS) / HOUR_MS) * HOUR_MS
