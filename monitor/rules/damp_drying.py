"""Whether a dehumidifier still dries its space: the level it holds is learnt, and the hours above it are counted.

A running machine cuts the humidity off at its humidistat's level, so that its days are flat; a stopped one lets the
space follow the weather. Hours in which the space holds much less water than outside air can (by mixing ratio) are not
counted: something dries it then, though not enough. A cold dry spell keeps the humidity low without any machine, and
then nobody can tell.
"""

from dataclasses import dataclass, field
from statistics import fmean, median

from monitor.model.scale import Priority
from monitor.rules.damp_limits import LIMITS

_WINDOW_H = round(LIMITS["over_window"])
_BACK_H = round(LIMITS["back_hours"])
_DAY_HOURS = 24
_HELD_DAYS = 7
_UPPER = 0.9


@dataclass(slots=True)
class DryingHour:
    """One heard hour: its number, how many it stands for, its humidity (%), and whether the air was pulled dry."""

    hour: int
    hours: int
    rh: float
    pulled: bool


@dataclass(slots=True)
class Drying:
    """What is kept of one dehumidifier.

    Attributes:
        since_hour: when it was first heard, or heard again after work aboard.
        window: the last two days' hours.
        held: upper tenth of each of the last days that were held.
        stopped: whether it is held to have stopped.
        humid: priority held because the air is too damp though something dries it.
        over_h: hours above the held level that count against it.
    """

    since_hour: int | None = None
    window: list[DryingHour] = field(default_factory=list)
    held: list[float] = field(default_factory=list)
    stopped: bool = False
    humid: Priority | None = None
    over_h: int = 0


def held_rh(drying: Drying, hold_below_rh: float) -> float:
    """Give the level it holds: as learnt, near the recorded one; the recorded one where nothing is learnt yet."""
    if not drying.held:
        return hold_below_rh
    return min(max(median(drying.held), hold_below_rh - LIMITS["held_room"]), hold_below_rh)


def dry_hour(drying: Drying, heard: DryingHour, hold_below_rh: float) -> None:
    """Take an hour in."""
    window = drying.window
    if drying.since_hour is None:
        drying.since_hour = heard.hour
    if window and window[-1].hour // _DAY_HOURS != heard.hour // _DAY_HOURS:
        _learn(drying, window[-1].hour // _DAY_HOURS, hold_below_rh)
    window.append(heard)
    while window[0].hour <= heard.hour - _WINDOW_H:
        del window[0]
    if heard.hour - drying.since_hour < LIMITS["pull_down"]:
        return
    level = held_rh(drying, hold_below_rh)
    over_rh = level + LIMITS["held_over"]
    drying.over_h = sum(h.hours for h in window if h.rh > over_rh and not h.pulled)
    if not drying.stopped:
        drying.stopped = drying.over_h >= LIMITS["over_hours"]
    else:
        back = [h for h in window if h.hour > heard.hour - _BACK_H]
        quiet = all(h.rh <= level + LIMITS["held_back"] for h in back)
        drying.stopped = not (quiet and sum(h.hours for h in back) >= _BACK_H * 2 // 3)
    drying.humid = _grade_band(drying, hold_below_rh)


def _grade_band(drying: Drying, hold_below_rh: float) -> Priority | None:
    over_h = sum(h.hours for h in drying.window if h.rh > hold_below_rh + LIMITS["band_over"])
    limit = LIMITS["band_hours"] - (0.0 if drying.humid is None else LIMITS["band_deadband"])
    if drying.stopped or over_h < limit:
        return None
    lately = fmean(h.rh for h in drying.window[-_DAY_HOURS:])
    mould_rh = LIMITS["mould_rh"] - (LIMITS["held_back"] if drying.humid is Priority.WARNING else 0.0)
    return Priority.WARNING if lately >= mould_rh else Priority.CAUTION


def _learn(drying: Drying, day: int, hold_below_rh: float) -> None:
    """Learn from a day that is over, if it was held: flat, not above what was wanted, and nothing against it."""
    values = sorted(h.rh for h in drying.window if h.hour // _DAY_HOURS == day)
    known_h = sum(h.hours for h in drying.window if h.hour // _DAY_HOURS == day)
    if drying.stopped or not values or known_h < LIMITS["held_day"]:
        return
    upper = values[min(int(_UPPER * len(values)), len(values) - 1)]
    flat = upper - median(values) <= LIMITS["held_flat"]
    if flat and upper <= hold_below_rh + LIMITS["held_over"] and drying.over_h < LIMITS["over_hours"] / 2:
        drying.held.append(upper)
        del drying.held[:-_HELD_DAYS]
