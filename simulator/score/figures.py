"""The score's figures: what the lines of many vessel-winters come to."""

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from math import ceil
from typing import Any

from monitor.model.scale import Priority
from simulator.score.bounds import most_events, most_likely_missed
from simulator.score.results import Side, VesselWinter
from simulator.score.rows import ROWS, Measure, Row

YARD_BOATS = 300
"""The yard that alerts a day are told for."""

ALLOWED = {Priority.ALARM: 0.02, Priority.WARNING: 0.2}
"""False alerts a vessel-winter that are allowed: the issue's, 6 and 60 a winter for 300 boats."""

SIDES = ("watch", "fixed")
WORST_TENTH = 0.1


@dataclass(frozen=True, slots=True)
class RowFigures:
    """The figures of one row.

    Attributes:
        name: the row.
        n: episodes.
        caught: those that were told in time.
        missed: the others.
        missed_most: upper 95 % bound of the rate of misses, None without episodes.
        median_s: median warning or delay. A missed one counts as warned 0 s before, or told a year after.
        worst_tenth_s: a tenth of the episodes had less warning, or a longer delay, than this.
        within: share of the episodes within the row's target, None where it has none.
        reached: whether the row reaches what it asks for, None where nothing is asked or there were no episodes.
    """

    name: str
    n: int
    caught: int
    missed: int
    missed_most: float | None
    median_s: float | None
    worst_tenth_s: float | None
    within: float | None
    reached: bool | None


@dataclass(frozen=True, slots=True)
class FalseFigures:
    """The false alerts of one priority.

    Attributes:
        priority: which.
        n: how many.
        per_vessel_winter: a vessel-winter.
        most: upper 95 % bound of that, as for a Poisson count.
        allowed: what is allowed.
    """

    priority: str
    n: int
    per_vessel_winter: float
    most: float
    allowed: float


@dataclass(frozen=True, slots=True)
class Figures:
    """The figures of one side.

    Attributes:
        vessel_winters: how many there were.
        rows: a row each, in the order of the table.
        false: the false alerts by priority, alarms first.
        yard_day: warnings and alarms that open in a day at a yard of `YARD_BOATS` boats.
    """

    vessel_winters: int
    rows: tuple[RowFigures, ...]
    false: tuple[FalseFigures, ...]
    yard_day: float

    def as_data(self) -> dict[str, Any]:
        """Give them for a file."""
        return asdict(self)


def figures_of(lines: Sequence[VesselWinter], side: str) -> Figures:
    """Reckon the figures of one side, ``watch`` or ``fixed``.

    Raises:
        ValueError: where there are no lines.
    """
    if not lines:
        raise ValueError("a score needs at least one vessel-winter")
    sides: list[Side] = [getattr(line, side) for line in lines]
    days = sum(line.days for line in lines)
    return Figures(
        vessel_winters=len(lines),
        rows=tuple(_row_figures(row, sides) for row in ROWS),
        false=tuple(_false_figures(priority, sides) for priority in ALLOWED),
        yard_day=sum(s.opened for s in sides) / days * YARD_BOATS,
    )


def quantile(values: Sequence[float], weights: Sequence[int], share: float) -> float | None:
    """Give the least value that a share of the weight lies at or under, None without weight.

    Args:
        values: rising.
        weights: how often each counts.
        share: 0 to 1.
    """
    wanted = max(ceil(share * sum(weights)), 1)
    passed = 0
    for value, weight in zip(values, weights, strict=True):
        passed += weight
        if passed >= wanted:
            return value
    return None


def worst_share(measure: Measure) -> float:
    """Give the quantile at which the worst tenth begins: the lowest of warnings, the highest of delays."""
    return WORST_TENTH if measure is Measure.WARNING else 1 - WORST_TENTH


def _row_figures(row: Row, sides: Sequence[Side]) -> RowFigures:
    told = [t for side in sides for t in side.told if t.row == row.name]
    caught = sum(t.caught for t in told)
    seconds = sorted(t.seconds for t in told)
    once = [1] * len(told)
    judged = [t.within for t in told if t.within is not None]
    within = sum(judged) / len(judged) if judged else None
    return RowFigures(
        name=row.name,
        n=len(told),
        caught=caught,
        missed=len(told) - caught,
        missed_most=most_likely_missed(len(told) - caught, len(told)),
        median_s=quantile(seconds, once, 0.5),
        worst_tenth_s=quantile(seconds, once, worst_share(row.measure)),
        within=within,
        reached=_reached(row, len(told), caught, within),
    )


def _reached(row: Row, n: int, caught: int, within: float | None) -> bool | None:
    if n == 0 or not (row.all_caught or row.promise):
        return None
    return (caught == n or not row.all_caught) and (within is None or within >= row.share)


def _false_figures(priority: Priority, sides: Sequence[Side]) -> FalseFigures:
    n = sum(f.priority == priority.word for side in sides for f in side.false)
    return FalseFigures(
        priority=priority.word,
        n=n,
        per_vessel_winter=n / len(sides),
        most=most_events(n) / len(sides),
        allowed=ALLOWED[priority],
    )
