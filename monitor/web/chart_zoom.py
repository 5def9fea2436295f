"""Where one can go from what the charts show: a night, a day, earlier and later, in and out. Each is a plain link."""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

from monitor.web.chart_span import FORETOLD_DAYS, LONGEST_DAYS, SHORTEST_MS, between
from monitor.web.spans import DAY_MS, Shown

DUSK, MORNING = time(18), time(9)
"""A night on the charts: from when the yard has gone home until somebody has looked."""
HALF_DAY_MS, MINUTE_MS = DAY_MS // 2, 60_000


@dataclass(frozen=True, slots=True)
class Step:
    """A way to go on: its name for scripts, its word, and what its address asks; None where it leads nowhere."""

    key: str
    word: str
    query: str | None
    is_here: bool = False


def steps(shown: Shown, now_ms: int, zone: ZoneInfo) -> list[Step]:
    """Give the ways to go from what is shown."""
    return [*_days(shown, now_ms, zone), *_moves(shown, now_ms, zone)]


def _days(shown: Shown, now_ms: int, zone: ZoneInfo) -> Iterator[Step]:
    now = datetime.fromtimestamp(now_ms / 1000, zone)
    yield _whole("night", "Last night", _night_after(now - timedelta(days=1)), shown, zone)
    yield _whole("day", "Today", _day_of(now), shown, zone)
    middle = datetime.fromtimestamp((shown.from_ms + shown.to_ms) / 2000, zone)
    if shown.choice is None and middle.date() != now.date() and shown.length_ms < LONGEST_DAYS * DAY_MS:
        yield _whole("that-day", f"All of {middle.day} {middle:%b}", _day_of(middle), shown, zone)
        evening = middle if middle.time() >= MORNING else middle - timedelta(days=1)
        yield _whole("that-night", f"The night after {evening.day} {evening:%b}", _night_after(evening), shown, zone)


def _moves(shown: Shown, now_ms: int, zone: ZoneInfo) -> Iterator[Step]:
    yield Step("earlier", "Earlier", _moved(shown, -1, zone).query)
    later = _moved(shown, 1, zone)
    yield Step("later", "Later", later.query if later.from_ms < now_ms and _is_foretold(later, now_ms) else None)
    factor = max(0.5, SHORTEST_MS / shown.length_ms)
    yield Step("in", "Closer", _scaled(shown, factor, now_ms, zone).query if factor < 1 else None)
    factor = min(2.0, LONGEST_DAYS * DAY_MS / shown.length_ms)
    yield Step("out", "Wider", _scaled(shown, factor, now_ms, zone).query if factor > 1 else None)


def _scaled(shown: Shown, factor: float, now_ms: int, zone: ZoneInfo) -> Shown:
    """Give a shorter or longer span about now, where that is shown, else about the middle; to whole minutes."""
    has_now = shown.from_ms <= now_ms <= shown.to_ms
    fixed = now_ms if has_now else (shown.from_ms + shown.to_ms) / 2
    latest = now_ms + FORETOLD_DAYS * DAY_MS if has_now else max(shown.to_ms, now_ms)
    end = min(fixed + (shown.to_ms - fixed) * factor, latest)
    begin = end - shown.length_ms * factor if not has_now else fixed - (fixed - shown.from_ms) * factor
    from_ms = math.floor(begin / MINUTE_MS) * MINUTE_MS
    return between(from_ms, from_ms + math.ceil((end - begin) / MINUTE_MS) * MINUTE_MS, zone)


def _moved(shown: Shown, way: int, zone: ZoneInfo) -> Shown:
    """Give the span before or after, by the wall: a night is followed by the next night."""
    length = timedelta(milliseconds=shown.length_ms)
    by = timedelta(days=1) if HALF_DAY_MS <= shown.length_ms <= DAY_MS else length
    ends = (datetime.fromtimestamp(at / 1000, zone) + way * by for at in (shown.from_ms, shown.to_ms))
    from_ms, to_ms = (round(at.timestamp() * 1000) for at in ends)
    return between(from_ms, to_ms, zone)


def _is_foretold(later: Shown, now_ms: int) -> bool:
    return later.to_ms <= now_ms + FORETOLD_DAYS * DAY_MS


def _whole(key: str, word: str, ends: tuple[datetime, datetime], shown: Shown, zone: ZoneInfo) -> Step:
    from_ms, to_ms = (round(at.timestamp() * 1000) for at in ends)
    return Step(
        key, word, between(from_ms, to_ms, zone).query, is_here=(shown.from_ms, shown.to_ms) == (from_ms, to_ms)
    )


def _night_after(evening: datetime) -> tuple[datetime, datetime]:
    """Give the night that follows a day."""
    morning = evening + timedelta(days=1)
    return _on(evening, DUSK), _on(morning, MORNING)


def _day_of(at: datetime) -> tuple[datetime, datetime]:
    return _on(at, time()), _on(at + timedelta(days=1), time())


def _on(day: datetime, at: time) -> datetime:
    return datetime.combine(day.date(), at, day.tzinfo)
