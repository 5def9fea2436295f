"""What comes and goes, as levels over time, with its short breaks bridged so that a winter stays readable."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

THREE = 3  # what stands before a dip, the dip, and what stands after it


@dataclass(frozen=True, slots=True)
class Level:
    """A time for which something stood at one level.

    Attributes:
        from_ms: since when, ms UTC.
        to_ms: until when.
        level: how high; 0 is not at all.
        breaks: how many short breaks in it were bridged.
    """

    from_ms: int
    to_ms: int
    level: int
    breaks: int = 0


def levels_of(changes: Iterable[tuple[int, int]], ends_ms: int) -> list[Level]:
    """Give the levels between changes, which are (when, level from then on) in order.

    >>> [(x.from_ms, x.to_ms, x.level) for x in levels_of([(5, 1), (7, 1), (9, 0)], 20)]
    [(5, 9, 1), (9, 20, 0)]
    """
    made: list[Level] = []
    for at_ms, level in changes:
        if made and made[-1].level == level:
            continue
        if made:
            last = replace(made.pop(), to_ms=at_ms)
            if last.to_ms > last.from_ms:
                made.append(last)
        if made and made[-1].level == level:
            made[-1] = replace(made[-1], to_ms=ends_ms)
        else:
            made.append(Level(at_ms, ends_ms, level))
    return made


def bridged(levels: Iterable[Level], short_ms: int) -> list[Level]:
    """Fill every dip that is shorter than this, up to the lower of what stands on its two sides. Peaks all stay.

    >>> bridged([Level(0, 5, 1), Level(5, 6, 0), Level(6, 9, 1)], 2)
    [Level(from_ms=0, to_ms=9, level=1, breaks=1)]
    """
    made: list[Level] = []
    for level in levels:
        made.append(level)
        while _is_short_dip(made[-THREE:], short_ms):
            made[-THREE:] = _filled(*made[-THREE:])
    return made


def _is_short_dip(three: Sequence[Level], short_ms: int) -> bool:
    if len(three) < THREE:
        return False
    before, dip, after = three
    return dip.level < min(before.level, after.level) and dip.to_ms - dip.from_ms < short_ms


def _filled(before: Level, dip: Level, after: Level) -> list[Level]:
    breaks = before.breaks + dip.breaks + after.breaks + 1
    if before.level == after.level:
        return [replace(before, to_ms=after.to_ms, breaks=breaks)]
    if before.level < after.level:
        return [replace(before, to_ms=dip.to_ms, breaks=before.breaks + dip.breaks + 1), after]
    return [before, replace(after, from_ms=dip.from_ms, breaks=after.breaks + dip.breaks + 1)]
