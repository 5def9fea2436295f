"""The score as plain text: what was caught, how soon, what cried wolf, and the fixed thresholds beside it."""

from collections.abc import Iterator, Sequence
from datetime import UTC, datetime
from textwrap import wrap

from simulator.score.compare import Change
from simulator.score.figures import YARD_BOATS, Figures, RowFigures
from simulator.score.judge import NEVER_S
from simulator.score.results import VesselWinter
from simulator.score.rows import BY_NAME

_NAME = 50
_LISTED = 20
_WIDEST = 160
_STEPS = ((86_400.0, 48 * 3_600.0, "d"), (3_600.0, 7_200.0, "h"), (60.0, 120.0, "min"))


def print_figures(watch: Figures, fixed: Figures) -> Iterator[str]:
    """Give the lines of the table."""
    days = f"{watch.vessel_winters} vessel-winters"
    yield f"{days}. Beneath each row, after '=', the fixed thresholds on the same messages."
    yield ""
    head = ("measured", "episodes", "caught", "missed", "at most", "median", "worst 10th", "in target")
    yield f"{'told before harm, or after a cause':{_NAME}}" + "".join(f"{h:>11}" for h in head) + "  target"
    for mine, theirs in zip(watch.rows, fixed.rows, strict=True):
        if mine.n:
            yield f"{mine.name:{_NAME}}{BY_NAME[mine.name].measure:>11}{_cells(mine)}  {_target(mine)}"
            yield f"{'   =':{_NAME}}{'':11}{_cells(theirs)}"
    empty = [row.name for row in watch.rows if not row.n]
    if empty:
        yield from wrap(f"not asked by these winters: {'; '.join(empty)}", _WIDEST, subsequent_indent="   ")
    yield ""
    heads = ("n", "mean", "at most", "allowed")
    yield f"{'false alerts, a vessel-winter':{_NAME}}" + "".join(f"{h:>11}" for h in heads)
    for mine_false, theirs_false in zip(watch.false, fixed.false, strict=True):
        for name, f in ((f"priority {mine_false.priority}", mine_false), ("   =", theirs_false)):
            yield f"{name:{_NAME}}{f.n:>11}{f.per_vessel_winter:>11.3f}{f.most:>11.3f}{f.allowed:>11.2f}"
    yield ""
    yield (
        f"warnings and alarms that open in a day at a yard of {YARD_BOATS} boats: "
        f"{watch.yard_day:.1f}; fixed thresholds {fixed.yard_day:.1f}"
    )
    yield "at most: upper 95 % bound, exact; median, worst 10th: of the warning or the delay, missed ones counted in."


def print_misses(lines: Sequence[VesselWinter]) -> Iterator[str]:
    """Give the episodes that the watch missed, and its false alerts, as a developer wants them: the first of each."""
    missed = [
        f"   {t.row}: {line.winter}, seed {line.seed}, {line.vessel}, {at(t.at_ms)}"
        for line in lines
        for t in line.watch.told
        if not t.caught and BY_NAME[t.row].all_caught
    ]
    false = [
        f"   {f.priority} {f.key}: {line.winter}, seed {line.seed}, {line.vessel}, {at(f.at_ms)}"
        for line in lines
        for f in line.watch.false
    ]
    for title, found in (("missed", missed), ("false", false)):
        if found:
            rest = f" (the first {_LISTED} of {len(found)}; all stand in the JSON)" if len(found) > _LISTED else ""
            yield f"{title}{rest}:"
            yield from found[:_LISTED]


def print_changes(
    changes: Sequence[Change], against: str, before: Sequence[VesselWinter], after: Sequence[VesselWinter]
) -> Iterator[str]:
    """Give what got better and worse, then how much else there is to compare."""
    old = {line.name: line for line in before}
    both = [line for line in after if line.name in old]
    alike = sum(line == old[line.name] for line in both)
    yield f"{len(both)} vessel-winters are in both; {alike} of them came out the same in everything"
    if len(both) < max(len(old), len(after)):
        yield f"   {len(old) - len(both)} are in {against} alone, {len(after) - len(both)} in this one alone"
    yield f"against {against}, beyond chance (95 % interval of the difference, bootstrap over vessel-winters):"
    told = [c for c in changes if c.word in {"better", "worse"}]
    for change in told:
        was, now = _figure(change.before, change.unit), _figure(change.after, change.unit)
        low, high = _figure(change.low, change.unit), _figure(change.high, change.unit)
        what = f"{change.name}: {change.figure}"
        yield f"   {change.word:7}{what:78} {was} -> {now}  (difference {low} to {high})"
    if not told:
        yield "   nothing got better or worse"
    chance = sum(c.word == "no more than chance" for c in changes)
    few = sum(c.word == "too few to tell" for c in changes)
    yield f"   {chance} figures changed by no more than chance; {few} rest on too few vessel-winters to tell"


def at(at_ms: int) -> str:
    """Write a time, UTC."""
    return datetime.fromtimestamp(at_ms / 1000, UTC).strftime("%Y-%m-%d %H:%M")


def duration(seconds: float | None) -> str:
    """Write a span of time in the unit that fits it.

    >>> duration(45), duration(5400), duration(5 * 86_400.0), duration(None)
    ('45 s', '90 min', '5.0 d', '-')
    """
    if seconds is None:
        return "-"
    size = abs(seconds)
    if size >= NEVER_S:
        return "never"
    for unit_s, from_s, unit in _STEPS:
        if size >= from_s:
            return f"{seconds / unit_s:.0f} {unit}" if unit == "min" else f"{seconds / unit_s:.1f} {unit}"
    return f"{seconds:.0f} s"


def _cells(row: RowFigures) -> str:
    cells = (
        str(row.n),
        str(row.caught),
        str(row.missed),
        _share(row.missed_most),
        duration(row.median_s),
        duration(row.worst_tenth_s),
        _share(row.within),
    )
    return "".join(f"{cell:>11}" for cell in cells)


def _target(row: RowFigures) -> str:
    asked = BY_NAME[row.name]
    words = [*(["all caught"] if asked.all_caught else []), *([asked.promise] if asked.promise else [])]
    if row.reached is None:
        return ", ".join(words)
    return f"{'reached' if row.reached else 'NOT REACHED'}: {', '.join(words)}"


def _share(share: float | None) -> str:
    return "-" if share is None else f"{100 * share:.1f} %"


def _figure(value: float | None, unit: str) -> str:
    if unit == "s":
        return duration(value)
    if unit == "share":
        return _share(value)
    return "-" if value is None else f"{value:.3f}"
