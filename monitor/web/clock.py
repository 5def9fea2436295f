"""Times as the yard's clock shows them."""

from dataclasses import dataclass
from datetime import date, datetime
from functools import lru_cache
from zoneinfo import ZoneInfo

from monitor.messages.figures import Figures
from monitor.messages.phrases import FALLBACK_LANGUAGE, common

MINUTE_MS, QUARTER_MS = 60_000, 900_000
"""Times are told to the minute; which day it is now, in every zone of today, changes at a whole quarter of an hour."""


@dataclass(frozen=True, slots=True)
class YardClock:
    """The yard's time zone and the time now, for one page."""

    zone: ZoneInfo
    now_ms: int

    @property
    def figures(self) -> Figures:
        """How figures are written."""
        return common(FALLBACK_LANGUAGE).figures

    def at(self, at_ms: int) -> str:
        """Give a time as short as it can be: ``14:02``, ``Tue 14:02``, ``Tue 3 Jan 14:02``."""
        return _at(at_ms // MINUTE_MS, self.now_ms // QUARTER_MS, self.zone)

    def whole(self, at_ms: int) -> str:
        """Give a time with its whole date."""
        return self.figures.date_clock(at_ms, self.zone)

    def iso(self, at_ms: int) -> str:
        """Give a time for a machine, in the yard's zone."""
        return datetime.fromtimestamp(at_ms / 1000, self.zone).isoformat(timespec="seconds")

    def since(self, at_ms: int) -> str:
        """Give how long ago it is, such as ``3 hours``."""
        return self.figures.span(max(self.now_ms - at_ms, 0) / 1000)

    def day(self, day: date) -> str:
        """Give a day, such as ``3 Jan 2014``."""
        month = self.figures.calendar["months"][day.month - 1]
        return f"{day.day} {month} {day.year}"

    @property
    def now(self) -> str:
        """The time now, with its weekday and date."""
        at = datetime.fromtimestamp(self.now_ms / 1000, self.zone)
        weekday, month = self.figures.calendar["weekdays"][at.weekday()], self.figures.calendar["months"][at.month - 1]
        return f"{weekday} {at.day} {month}, {at:%H:%M}"


@lru_cache(maxsize=4_096)
def _at(minute: int, quarter: int, zone: ZoneInfo) -> str:
    """Give a time; thousands of boats were heard in the same few minutes."""
    return common(FALLBACK_LANGUAGE).figures.clock(minute * MINUTE_MS, quarter * QUARTER_MS, zone)
