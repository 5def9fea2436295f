"""What of the journal goes into history, as line protocol, in the order of its seq.

A point is known by its series and time, and nothing in it is ever written again with another value, since a server may
keep either of two: the value stands in ``value``, or in ``failed`` where its quality test failed, and ``flag`` is
written once it is final. A reading whose flag settles with its sensor's next one is then sent again, with it.

Not sent is what charts leave out as well: what may be old and carries no time, and what a clock that is wrong stated.
"""

from dataclasses import dataclass

from monitor.model.scale import Flag
from monitor.store.reader import Reader
from monitor.store.rows import CLOCK_FAULT, LATE, NOT_NEWS

MOST_POINTS = 1_000
MEASUREMENT, VALUE, FAILED, FLAG = "reading", "value", "failed", "flag"

_NEXT = (
    "SELECT seq, series, stated_ms, event_ms, value, flag, mark FROM reading"
    f" WHERE seq > ? ORDER BY seq LIMIT {MOST_POINTS}"
)
# What may have waited for a reading: the one before it that neither failed nor came late.
_BEFORE = (
    f"SELECT stated_ms, value, flag FROM reading WHERE series = ? AND stated_ms < ? AND flag < {int(Flag.FAIL)}"
    f" AND mark & {LATE | CLOCK_FAULT | NOT_NEWS} = 0 ORDER BY stated_ms DESC LIMIT 1"
)
_ONE = "SELECT stated_ms, value, flag FROM reading WHERE series = ? AND stated_ms = ?"


@dataclass(frozen=True, slots=True)
class Pack:
    """What is sent at once.

    Attributes:
        lines: the points; none where nothing of these readings is sent.
        last_seq: the last seq looked at.
        full: whether there may be more.
    """

    lines: list[str]
    last_seq: int
    full: bool


class Points:
    """Reads what is to be sent.

    Args:
        reader: the journal.
        yard: the yard's id, a tag of every point.
    """

    def __init__(self, reader: Reader, yard: str) -> None:
        self._reader = reader
        self._yard = yard
        self._tags: dict[int, str] = {}
        self._met: set[int] = set()
        self._waiting: dict[int, int] = {}

    def begin(self) -> None:
        """Forget what was sent: what waited for the first reading of each series is looked up again."""
        self._met.clear()
        self._waiting.clear()

    def after(self, seq: int) -> Pack:
        """Give the points of the next readings after a seq, and those sent before that have settled with them."""
        rows = self._reader.rows(_NEXT, (seq,))
        lines: list[str] = []
        for _, series, stated_ms, event_ms, value, flag, mark in rows:
            if not mark & (LATE | NOT_NEWS) and flag != Flag.FAIL:
                lines += self._settled_with(series, event_ms)
            if mark & (CLOCK_FAULT | NOT_NEWS):
                continue
            if flag == Flag.NOT_EVALUATED and not mark & LATE:
                self._waiting[series] = stated_ms
            lines.append(self._line(series, stated_ms, value, flag))
        return Pack(lines, int(rows[-1][0]) if rows else seq, len(rows) == MOST_POINTS)

    def _settled_with(self, series: int, event_ms: int) -> list[str]:
        """Give the reading of a series that waited for this one, where it was sent before and is settled now."""
        if series not in self._met:
            self._met.add(series)
            found = self._reader.row(_BEFORE, (series, event_ms))
        elif series in self._waiting:
            found = self._reader.row(_ONE, (series, self._waiting.pop(series)))
        else:
            return []
        return [] if found is None or found[2] == Flag.NOT_EVALUATED else [self._line(series, *found)]

    def _line(self, series: int, stated_ms: int, value: float, flag: int) -> str:
        tags = self._tags.get(series) or self._look_up(series)
        field = FAILED if flag == Flag.FAIL else VALUE
        final = "" if flag == Flag.NOT_EVALUATED else f",{FLAG}={flag}i"
        return f"{tags} {field}={value!r}{final} {stated_ms}"

    def _look_up(self, series: int) -> str:
        row = self._reader.row("SELECT vessel, sensor FROM series WHERE id = ?", (series,))
        if row is None:
            raise LookupError(f"series {series} of a reading is gone from the journal: coldberth check")
        # Ids are slugs, so nothing in them needs escaping.
        tags = self._tags[series] = f"{MEASUREMENT},yard={self._yard},vessel={row[0]},sensor={row[1]}"
        return tags
