"""Lines of the yard page, kept: one is made again only where her vessel has changed, or time has brought it about.

A yard of thousands is looked at by many, and of most boats nothing has changed since the last look. A vessel who stands
as before comes from the journal as the same object (`YardView.vessels_now`), so that asking costs next to nothing.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from zoneinfo import ZoneInfo

from markupsafe import Markup

from monitor.model.finding import Finding
from monitor.model.vessel import Vessel
from monitor.model.views import VesselNow
from monitor.web.clock import QUARTER_MS, YardClock
from monitor.web.lines import Line, line_for, titled_afresh, unheard_after_ms, unproved_afresh

Draw = Callable[[Line, YardClock], Markup]
DrawHeard = Callable[[int | None, YardClock], Markup]


@dataclass(frozen=True, slots=True)
class _Title:
    """A title, and what it was made of."""

    finding: Finding
    vessel: Vessel
    day: tuple[ZoneInfo, int]
    text: str


@dataclass(frozen=True, slots=True)
class _Row:
    """A row's markup, what it was made of, and how much of it stands before when she was heard."""

    line: Line
    day: tuple[ZoneInfo, int]
    begins: Markup
    whole: Markup


@dataclass(frozen=True, slots=True)
class _KeptLine:
    """A line, what it was made of, and from when to when it holds (ms UTC)."""

    now: VesselNow
    deaf: bool
    day: tuple[ZoneInfo, int]
    from_ms: int
    until_ms: float
    line: Line


class KeptLines:
    """The lines that were made last, by vessel. Any thread may ask: the worst is that a line is made twice."""

    def __init__(self) -> None:
        self._lines: dict[str, _KeptLine] = {}
        self._titles: dict[str, _Title] = {}
        self._rows: dict[str, _Row] = {}
        self._unproved_of: dict[str, tuple[Vessel, str]] = {}

    def line_for(self, now: VesselNow, clock: YardClock, *, deaf: bool) -> Line:
        """Give a vessel's line as `lines.line_for` makes it."""
        vessel, day = now.stored.vessel, _day(clock)
        kept = self._lines.get(vessel.id)
        if (
            kept is not None
            and kept.now is now
            and kept.deaf is deaf
            and kept.day == day
            and kept.from_ms <= clock.now_ms < kept.until_ms
        ):
            return kept.line
        line = line_for(now, clock, deaf=deaf, titled=self._titled, unproved=self._unproved)
        self._lines[vessel.id] = _KeptLine(now, deaf, day, clock.now_ms, _holds_until_ms(now, clock), line)
        return line

    def row(self, line: Line, clock: YardClock, draw: Draw, draw_heard: DrawHeard) -> Markup:
        """Give the markup of a line: what ``draw`` makes of it, and after it what ``draw_heard`` does."""
        day = _day(clock)
        kept = self._rows.get(line.vessel.id)
        if kept is not None and kept.line is line and kept.day == day:
            return kept.whole
        is_same = kept is not None and kept.day == day and replace(line, heard_ms=kept.line.heard_ms) == kept.line
        begins = kept.begins if kept is not None and is_same else draw(line, clock)
        whole = begins + draw_heard(line.heard_ms, clock)
        self._rows[line.vessel.id] = _Row(line, day, begins, whole)
        return whole

    def _titled(self, finding: Finding, vessel: Vessel, clock: YardClock) -> str:
        day = _day(clock)
        kept = self._titles.get(vessel.id)
        if kept is not None and kept.finding is finding and kept.vessel is vessel and kept.day == day:
            return kept.text
        text = titled_afresh(finding, vessel, clock)
        self._titles[vessel.id] = _Title(finding, vessel, day, text)
        return text

    # What is proved changes with her record alone, and is gone through for no reading.
    def _unproved(self, vessel: Vessel) -> str:
        kept = self._unproved_of.get(vessel.id)
        if kept is not None and kept[0] is vessel:
            return kept[1]
        text = unproved_afresh(vessel)
        self._unproved_of[vessel.id] = (vessel, text)
        return text


def _day(clock: YardClock) -> tuple[ZoneInfo, int]:
    return clock.zone, clock.now_ms // QUARTER_MS


def _holds_until_ms(now: VesselNow, clock: YardClock) -> float:
    """Give when time alone changes a line: she has been silent for too long, or what is done aboard has run out."""
    ends = [] if now.aboard is None else [now.aboard.until_ms]
    if now.heard_ms is not None:
        ends.append(now.heard_ms + unheard_after_ms(now.stored.vessel) + 1)
    return min((at_ms for at_ms in ends if at_ms > clock.now_ms), default=float("inf"))
