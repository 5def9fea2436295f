"""The mould index of a space's coldest surface, carried through the winter, and when it reaches first growth.

The index is that of the VTT model. Each heard hour is a step; over hours that were not heard it is held, and they are
counted, so that a finding can say how much of the winter it does not know.
"""

from dataclasses import dataclass, field

from monitor.model.equipment import Sensitivity
from monitor.model.scale import Priority
from monitor.rules.damp_limits import LIMITS
from monitor.rules.damp_surface import AirHour
from monitor.science.mould import Mould, mould_step

SOFT = frozenset({Sensitivity.VERY_SENSITIVE, Sensitivity.SENSITIVE})
"""Classes in which first growth is harm: cloth, foam, paper and wood are spoilt by it, glass and metal are wiped."""

_DAY_HOURS = 24
_RATE_DAYS = round(LIMITS["mould_rate"])


@dataclass(slots=True)
class DayMark:
    """The index with which a day began, and the number of that day since 1970."""

    day: int
    index: float


@dataclass(slots=True)
class Growth:
    """What is kept of one surface.

    Attributes:
        mould: the index, and the hours that were not heard.
        until_hour: the first hour that is not counted yet, None before the first.
        heard_h: hours that were counted.
        days: the last week's beginnings, oldest first.
        days_low, days_high: days to first growth at the faster and the slower of the present rates; None for never.
        held: priority held.
    """

    mould: Mould = field(default_factory=Mould)
    until_hour: int | None = None
    heard_h: int = 0
    days: list[DayMark] = field(default_factory=list)
    days_low: float | None = None
    days_high: float | None = None
    held: Priority | None = None


def grow(growth: Growth, air: AirHour, sensitivity: Sensitivity) -> None:
    """Take an hour in, or the few that one reading stands for."""
    mould, ends = growth.mould, air.hour + air.hours
    begins = air.hour if growth.until_hour is None else max(growth.until_hour, air.hour)
    if growth.until_hour is not None and air.hour > growth.until_hour:
        mould.unheard_h += air.hour - growth.until_hour
    number = air.hour // _DAY_HOURS
    if not growth.days or growth.days[-1].day != number:
        growth.days.append(DayMark(number, mould.index))
        while growth.days[0].day < number - _RATE_DAYS:
            del growth.days[0]
    for _ in range(begins, ends):
        mould = mould_step(mould, 1.0, air.surface_degc, air.surface_rh, sensitivity)
    growth.mould = mould
    growth.heard_h += max(ends - begins, 0)
    growth.until_hour = max(ends, begins)
    _look_ahead(growth)
    growth.held = _grade(growth, sensitivity)


def _look_ahead(growth: Growth) -> None:
    """Find the days to first growth at the rate of the last week, and at that of its last two days."""
    left = LIMITS["mould_index"] - growth.mould.index
    if left <= 0.0:
        growth.days_low, growth.days_high = 0.0, 0.0
        return
    now_d = (growth.until_hour or 0) / _DAY_HOURS
    times = []
    for mark in (growth.days[0], growth.days[-2] if len(growth.days) > 1 else growth.days[-1]):
        passed_d = now_d - mark.day
        grown = growth.mould.index - mark.index
        times.append(left * passed_d / grown if passed_d >= 1.0 and grown > 0.0 else None)
    known = [t for t in times if t is not None]
    growth.days_low = min(known, default=None)
    growth.days_high = max(known) if len(known) == len(times) else None


def _grade(growth: Growth, sensitivity: Sensitivity) -> Priority | None:
    index, held, soonest = growth.mould.index, growth.held, growth.days_low
    if index >= LIMITS["mould_index"] - (LIMITS["mould_deadband"] if held is Priority.WARNING else 0.0):
        return Priority.WARNING if sensitivity in SOFT else Priority.CAUTION
    room = 0.0 if held is None else LIMITS["mould_deadband"]
    if index >= LIMITS["mould_near"] - room:
        return Priority.CAUTION
    longer = 1.0 if held is None else 2.0
    is_soon = soonest is not None and soonest <= LIMITS["mould_soon"] * longer
    return Priority.CAUTION if is_soon and index >= LIMITS["mould_begun"] - room else None
