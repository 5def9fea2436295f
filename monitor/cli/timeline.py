"""One vessel's winter as a timeline: the truth on the left, what the watch said on the right."""

import textwrap
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from monitor.cli.heard import Heard, Said
from monitor.cli.spells import Level, bridged, levels_of
from monitor.cli.told import Telling
from monitor.messages.words import put_into_words
from monitor.model.alert import AlertChange
from monitor.model.scale import Priority
from monitor.model.vessel import Vessel
from simulator.truth import Harm, HarmKind, TruthLog
from simulator.winter import Winter

DAY_MS = 86_400_000
AGAIN_MS = DAY_MS
"""What comes back so soon stands in one line with what went before."""

_ENDED: dict[str, str] = {
    HarmKind.FREEZES: "thawed",
    HarmKind.FROZEN: "frozen solid no more",
    HarmKind.WANTS_CHARGE: "battery charged again",
    HarmKind.HALF: "battery over half again",
    HarmKind.NO_PUMP: "battery can run the pump a day again",
    HarmKind.BATTERY_FROZEN: "battery thawed",
    HarmKind.NOT_HEARD: "heard again",
}
WHEN_CHARS = 16
GAP_CHARS = 2


@dataclass(frozen=True, slots=True)
class Entry:
    """A line: when (ms UTC), and what was true or what was said."""

    at_ms: int
    truth: str = ""
    said: str = ""


def entries_of(record: Vessel, winter: Winter, log: TruthLog, heard: Heard) -> list[Entry]:
    """Give a vessel's timeline, in order."""
    zone = ZoneInfo(winter.calendar.zone)
    telling = Telling(record, heard, winter.plan.begins_ms, winter.plan.ends_ms)
    entries = [*_causes(record.id, log), *_marks(record.id, log, zone), *_harms(record.id, log, telling, zone)]
    entries += _said(record, heard.of(record.id), winter.plan.ends_ms, zone)
    return sorted(entries, key=lambda e: (e.at_ms, not e.truth))


def lines_of(entries: Iterable[Entry], zone: ZoneInfo, chars: int) -> Iterator[str]:
    """Lay a timeline out in two columns, so many characters wide in all."""
    column = (chars - WHEN_CHARS - 2 * GAP_CHARS) // 2
    gap = " " * GAP_CHARS
    yield f"{'':{WHEN_CHARS}}{gap}{'WHAT WAS TRUE':{column}}{gap}WHAT THE WATCH SAID"
    for entry in entries:
        left, right = (textwrap.wrap(text, column, subsequent_indent="  ") for text in (entry.truth, entry.said))
        for n in range(max(len(left), len(right))):
            cells = [_when(entry.at_ms, zone) if n == 0 else ""]
            cells += [lines[n] if n < len(lines) else "" for lines in (left, right)]
            yield f"{cells[0]:>{WHEN_CHARS}}{gap}{cells[1]:{column}}{gap}{cells[2]}".rstrip()


def _causes(vessel: str, log: TruthLog) -> Iterator[Entry]:
    for cause in log.causes:
        if cause.vessel == vessel:
            yield Entry(cause.begins_ms, truth=f"{cause.kind} begins ({cause.subject})")
            if cause.ends_ms is not None:
                yield Entry(cause.ends_ms, truth=f"{cause.kind} is over ({cause.subject})")


def _marks(vessel: str, log: TruthLog, zone: ZoneInfo) -> Iterator[Entry]:
    times: dict[tuple[str, str], list[int]] = {}
    for mark in log.marks:
        if mark.vessel == vessel:
            times.setdefault((mark.kind, mark.subject), []).append(mark.at_ms)
    for (kind, subject), at in times.items():
        for spell in _spells([(t, t) for t in sorted(at)]):
            many = "" if len(spell) == 1 else f", {len(spell)} times until {_when(at[spell[-1]], zone)}"
            yield Entry(at[spell[0]], truth=f"- {kind} ({subject}){many}")


def _harms(vessel: str, log: TruthLog, telling: Telling, zone: ZoneInfo) -> Iterator[Entry]:
    harms: dict[tuple[str, str], list[Harm]] = {}
    for harm in sorted(log.harms, key=lambda h: h.at_ms):
        if harm.vessel == vessel:
            harms.setdefault((harm.kind, harm.subject), []).append(harm)
    for (kind, subject), each in harms.items():
        for spell in _spells([(h.at_ms, h.ended_ms) for h in each]):
            inside = [each[n] for n in spell]
            told = telling.words(inside)
            mark = "* " if told else ""
            many = "" if len(spell) == 1 else f", {len(spell)} times until {_when(inside[-1].at_ms, zone)}"
            yield Entry(inside[0].at_ms, truth=f"{mark}{kind} ({subject}){many}{': ' * bool(told)}{told}")
            ended_ms = inside[-1].ended_ms
            if ended_ms is not None:
                yield Entry(ended_ms, truth=f"{_ENDED.get(kind, f'no more {kind}')} ({subject})")


def _said(record: Vessel, said: Iterable[Said], ends_ms: int, zone: ZoneInfo) -> Iterator[Entry]:
    by_key: dict[tuple[str, str], list[Said]] = {}
    for one in said:
        by_key.setdefault(one.key, []).append(one)
    for key, each in by_key.items():
        levels = bridged(levels_of([(s.event.at_ms, s.level) for s in each], ends_ms), AGAIN_MS)
        before, title = 0, ""
        for level in levels:
            cause = next(s for s in reversed(each) if s.event.at_ms <= level.from_ms)
            change = f"{_change(before, level, cause)} ({'/'.join(key)})"
            if level.level:
                words = put_into_words(cause.finding, record, zone, level.from_ms).title
                change += "" if words == title else f": {words}"
                title = words
            yield Entry(level.from_ms, said=change + _breaks(level, zone))
            before = level.level


def _change(before: int, level: Level, cause: Said) -> str:
    if not level.level:
        return "ended" if cause.event.change is AlertChange.ENDED else "returned"
    word = Priority(level.level).word.upper()
    if before:
        return f"{'rose' if level.level > before else 'fell'} to {word}"
    return f"{word} {'opened' if cause.event.change is AlertChange.OPENED else 'reopened'}"


def _breaks(level: Level, zone: ZoneInfo) -> str:
    if not level.breaks:
        return ""
    many = "one short break" if level.breaks == 1 else f"{level.breaks} short breaks"
    return f"; with {many} until {_when(level.to_ms, zone)}"


def _spells(spans: Sequence[tuple[int, int | None]]) -> list[list[int]]:
    """Group spans by number, in order: what comes back within a day belongs to the same spell."""
    made: list[list[int]] = []
    until_ms: int | None = None
    for n, (from_ms, to_ms) in enumerate(spans):
        if made and (until_ms is None or from_ms - until_ms < AGAIN_MS):
            made[-1].append(n)
        else:
            made.append([n])
        until_ms = to_ms
    return made


def _when(at_ms: int, zone: ZoneInfo) -> str:
    at = datetime.fromtimestamp(at_ms / 1000, zone)
    return f"{at:%a} {at.day} {at:%b %H:%M}"
