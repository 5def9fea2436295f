"""Two results held against each other: what got better and what got worse beyond chance.

Bootstrap over vessel-winters (Efron, Annals of Statistics 7, 1979): both results are drawn anew, again and again, and
the differences of each figure give its 95 % interval. A vessel-winter that is in both results is drawn in both at once,
so that what befell her does not blur what changed.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from random import Random

from simulator.score.figures import YARD_BOATS, quantile, worst_share
from simulator.score.results import VesselWinter
from simulator.score.rows import ROWS, Measure, Row

DRAWS = 500
INTERVAL = 0.95
SEED = 20131101
MORE, LESS = True, False

FEWEST = 10
"""Of fewer vessel-winters that a figure rests on, none drawn anew is much like others that could have been."""


@dataclass(frozen=True, slots=True)
class Change:
    """One figure in both results.

    Attributes:
        name: the row, or what is counted.
        figure: which of its figures.
        unit: ``share``, ``s``, ``per vessel-winter`` or ``per day``.
        before: the figure in the earlier result, None where nothing was to be counted.
        after: in the later one.
        low: lower end of the 95 % interval of the difference, None where too little was to be counted.
        high: its upper end.
        word: ``better``, ``worse``, ``no more than chance`` or ``too few to tell``.
    """

    name: str
    figure: str
    unit: str
    before: float | None
    after: float | None
    low: float | None
    high: float | None
    word: str


@dataclass(frozen=True, slots=True)
class _Gauge:
    """A figure as it is reckoned from lines that count more than once.

    Attributes:
        more_is_better: which way it should go.
        share: the quantile that is asked for, None where it is the mean.
        values: for the lines at `lines`, the value and by how much it is divided; for a quantile, rising values.
    """

    name: str
    figure: str
    unit: str
    more_is_better: bool
    share: float | None
    values: tuple[float, ...]
    over: tuple[float, ...]
    lines: tuple[int, ...]

    def reckon(self, counts: Sequence[int]) -> float | None:
        """Give the figure with each line counted so often."""
        weights = [counts[line] for line in self.lines]
        if self.share is not None:
            return quantile(self.values, weights, self.share)
        under = sum(w * o for w, o in zip(weights, self.over, strict=True))
        return sum(w * v for w, v in zip(weights, self.values, strict=True)) / under if under else None


def compare(before: Sequence[VesselWinter], after: Sequence[VesselWinter], draws: int = DRAWS) -> list[Change]:
    """Compare the watch's figures in two results. The same results give the same answer."""
    random = Random(SEED)
    gauges = list(zip(_gauges(before), _gauges(after), strict=True))
    differences: list[list[float]] = [[] for _ in gauges]
    for old_counts, new_counts in _drawn(before, after, draws, random):
        for (old, new), found in zip(gauges, differences, strict=True):
            was, now = old.reckon(old_counts), new.reckon(new_counts)
            if was is not None and now is not None:
                found.append(now - was)
    return [_change(old, new, found, draws) for (old, new), found in zip(gauges, differences, strict=True)]


def _change(old: _Gauge, new: _Gauge, differences: list[float], draws: int) -> Change:
    before = old.reckon([1] * (max(old.lines, default=0) + 1))
    after = new.reckon([1] * (max(new.lines, default=0) + 1))
    low = high = None
    word = "too few to tell"
    if min(len(set(old.lines)), len(set(new.lines))) >= FEWEST and len(differences) >= INTERVAL * draws:
        ordered = sorted(differences)
        cut = (1 - INTERVAL) / 2
        low = ordered[round(cut * (len(ordered) - 1))]
        high = ordered[round((1 - cut) * (len(ordered) - 1))]
        rose, fell = low > 0, high < 0
        word = "no more than chance"
        if rose or fell:
            word = "better" if rose == old.more_is_better else "worse"
    return Change(old.name, old.figure, old.unit, before, after, low, high, word)


def _drawn(
    before: Sequence[VesselWinter], after: Sequence[VesselWinter], draws: int, random: Random
) -> Iterator[tuple[list[int], list[int]]]:
    """Draw how often each line counts in each result."""
    place = {line.name: n for n, line in enumerate(after)}
    both = [(n, place[line.name]) for n, line in enumerate(before) if line.name in place]
    only_old = sorted(set(range(len(before))) - {old for old, _ in both})
    only_new = sorted(set(range(len(after))) - {new for _, new in both})
    for _ in range(draws):
        old_counts, new_counts = [0] * len(before), [0] * len(after)
        for old, new in random.choices(both, k=len(both)) if both else ():
            old_counts[old] += 1
            new_counts[new] += 1
        for alone, counts in ((only_old, old_counts), (only_new, new_counts)):
            for n in random.choices(alone, k=len(alone)) if alone else ():
                counts[n] += 1
        yield old_counts, new_counts


def _gauges(lines: Sequence[VesselWinter]) -> Iterator[_Gauge]:
    for row in ROWS:
        yield from _row_gauges(row, lines)
    everybody = tuple(range(len(lines)))
    for priority in ("alarm", "warning"):
        false = tuple(float(sum(f.priority == priority for f in line.watch.false)) for line in lines)
        over = (1.0,) * len(lines)
        yield _Gauge(f"false, priority {priority}", "count", "per vessel-winter", LESS, None, false, over, everybody)
    opened = tuple(float(line.watch.opened * YARD_BOATS) for line in lines)
    days = tuple(line.days for line in lines)
    yield _Gauge("warnings and alarms at the yard", "count", "per day", LESS, None, opened, days, everybody)


def _row_gauges(row: Row, lines: Sequence[VesselWinter]) -> Iterator[_Gauge]:
    told = [(t, n) for n, line in enumerate(lines) for t in line.watch.told if t.row == row.name]
    at = tuple(n for _, n in told)
    caught = tuple(float(t.caught) for t, _ in told)
    yield _Gauge(row.name, "caught", "share", MORE, None, caught, (1.0,) * len(told), at)
    ordered = sorted(((t.seconds, n) for t, n in told), key=lambda pair: pair[0])
    seconds, where = tuple(s for s, _ in ordered), tuple(n for _, n in ordered)
    warns = row.measure is Measure.WARNING
    for figure, share in (("median", 0.5), ("worst tenth", worst_share(row.measure))):
        yield _Gauge(row.name, f"{figure} {row.measure}", "s", warns, share, seconds, (), where)
    judged = [(t.within, n) for t, n in told if t.within is not None]
    within = tuple(float(w) for w, _ in judged)
    yield _Gauge(
        row.name, "within target", "share", MORE, None, within, (1.0,) * len(judged), tuple(n for _, n in judged)
    )
