"""Figures as people read them: a true minus sign, the unit in words where a word is shorter to think."""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

MINUS = "−"  # noqa: RUF001 - a true minus sign is meant
MINUTE_S, HOUR_S, DAY_S, WEEK_S = 60, 3_600, 86_400, 604_800
YEAR_S = 365.25 * DAY_S
MONTH_S = YEAR_S / 12
_RECENT_DAYS = 6
_YEAR_PLAIN_DAYS = 180  # in the winter at hand nobody asks which January

Number = float | None


@dataclass(frozen=True, slots=True)
class Figures:
    """Formats figures in one language.

    Attributes:
        units: words of units by name; pairs are (one, many).
        calendar: names of weekdays (Monday first) and months.
    """

    units: Mapping[str, Any]
    calendar: Mapping[str, Any]

    def number(self, value: Number, digits: int = 0) -> str:
        """Give a plain number, such as ``-4.0`` with a true minus sign; never minus nought."""
        if value is None or not math.isfinite(value):
            return str(self.units["not_known"])
        text = f"{abs(value):.{digits}f}".replace(".", self.units["decimal"])
        return f"{MINUS}{text}" if round(value, digits) < 0 else text

    def degc(self, value: Number) -> str:
        """Give a temperature."""
        return self._with(value, 1, "°C")

    def kelvin(self, value: Number) -> str:
        """Give a difference of temperatures, in words that nobody takes for a temperature."""
        return self._counted(value, 1, "degree")

    def mm(self, value: Number) -> str:
        """Give a height or a depth from millimetres."""
        return self._with(value, 0, "mm")

    def mm_an_hour(self, value: Number) -> str:
        """Give how fast water rises, from millimetres an hour: one digit below ten."""
        return self._with(value, _digits(value), str(self.units["mm_an_hour"]))

    def mm_a_day(self, value: Number) -> str:
        """Give how fast water rises, from millimetres a day: one digit below ten."""
        return self._with(value, _digits(value), str(self.units["mm_a_day"]))

    def metres(self, value: Number) -> str:
        """Give a height or a depth from metres, in millimetres below ten metres."""
        return self.mm(None if value is None else value * 1000)

    def litres(self, value: Number) -> str:
        """Give a volume from litres: one digit below ten."""
        return self._counted(value, _digits(value), "litre")

    def volts(self, value: Number) -> str:
        """Give a voltage."""
        return self._with(value, 2, "V")

    def amps(self, value: Number) -> str:
        """Give a current, in milliamperes below one ampere."""
        small = value is not None and abs(value) < 1
        return self._with(value * 1000, 0, "mA") if small and value is not None else self._with(value, 1, "A")

    def ah(self, value: Number) -> str:
        """Give a charge from ampere-hours."""
        return self._with(value, 0, "Ah")

    def pct(self, value: Number) -> str:
        """Give a share from per cent."""
        return self._with(value, 0, "%")

    def minutes(self, value: Number) -> str:
        """Give a time from minutes."""
        return self.span(None if value is None else value * MINUTE_S)

    def hours(self, value: Number) -> str:
        """Give a time from hours."""
        return self.span(None if value is None else value * HOUR_S)

    def days(self, value: Number) -> str:
        """Give a time from days."""
        return self.span(None if value is None else value * DAY_S)

    def span(self, seconds: Number, rounding: Callable[[float], int] = round) -> str:
        """Give a time in the unit that leaves a small whole number: from minutes to years."""
        if seconds is None or not math.isfinite(seconds):
            return str(self.units["not_known"])
        name, count = spanned(seconds, rounding)
        return self._counted(count, 0, name)

    def spans(self, low_s: float, high_s: float) -> tuple[str, str]:
        """Give a low and a high time; the unit stands once where both have the same: ``6`` and ``14 hours``."""
        low, high = spanned(low_s, math.floor), spanned(high_s, math.ceil)
        if low[0] == high[0] and low[1] != high[1]:
            return self.number(low[1]), self._counted(high[1], 0, high[0])
        return self._counted(low[1], 0, low[0]), self._counted(high[1], 0, high[0])

    def clock(self, at_ms: int, now_ms: int, zone: ZoneInfo) -> str:
        """Give a time of day in the yard: with its weekday where not today, with its date where not this week."""
        at, now = datetime.fromtimestamp(at_ms / 1000, zone), datetime.fromtimestamp(now_ms / 1000, zone)
        away = abs((now.date() - at.date()).days)
        day = self.calendar["weekdays"][at.weekday()]
        if away > _RECENT_DAYS:
            day = f"{day} {at.day} {self.calendar['months'][at.month - 1]}"
            if at.year != now.year:
                day = f"{day} {at.year}"
        return f"{at:%H:%M}" if away == 0 else f"{day} {at:%H:%M}"

    def day(self, at_ms: int, now_ms: int, zone: ZoneInfo) -> str:
        """Give a day in the yard, for what is foretold and has no time of day: ``Fri 10 Jan``."""
        at, now = datetime.fromtimestamp(at_ms / 1000, zone), datetime.fromtimestamp(now_ms / 1000, zone)
        day = f"{self.calendar['weekdays'][at.weekday()]} {at.day} {self.calendar['months'][at.month - 1]}"
        return day if at.year == now.year or 0 <= (at - now).days < _YEAR_PLAIN_DAYS else f"{day} {at.year}"

    def date(self, written: str) -> str:
        """Give a day of a record, written as ISO 8601, as people write it: ``12 Oct 2009``."""
        at = datetime.fromisoformat(written)
        return f"{at.day} {self.calendar['months'][at.month - 1]} {at.year}"

    def date_clock(self, at_ms: int, zone: ZoneInfo) -> str:
        """Give a time with its whole date, for what may be read on another day."""
        at = datetime.fromtimestamp(at_ms / 1000, zone)
        day, month = self.calendar["weekdays"][at.weekday()], self.calendar["months"][at.month - 1]
        return f"{day} {at.day} {month} {at.year}, {at:%H:%M}"

    def yes(self, value: object) -> str:
        """Give yes or no."""
        return str(self.units["yes" if value else "no"])

    def _with(self, value: Number, digits: int, unit: str) -> str:
        text = self.number(value, digits)
        return text if value is None or not math.isfinite(value) else f"{text} {unit}"

    def _counted(self, value: Number, digits: int, name: str) -> str:
        text = self.number(value, digits)
        if value is None or not math.isfinite(value):
            return text
        one, many = self.units[name]
        return f"{text} {one if text == '1' else many}"


def _digits(value: Number) -> int:
    return 1 if value is not None and abs(value) < 9.95 else 0  # noqa: PLR2004 - 9.95 is written 10


def spanned(seconds: float, rounding: Callable[[float], int] = round) -> tuple[str, int]:
    """Give the unit in which a time is a small whole number, and that number.

    >>> spanned(50 * 60), spanned(6 * 3600), spanned(4 * 86400)
    (('minute', 50), ('hour', 6), ('day', 4))
    """
    if seconds < 55 * MINUTE_S:
        count = rounding(seconds / MINUTE_S)
        return "minute", rounding(count / 5) * 5 if count > 10 else count  # noqa: PLR2004 - nobody believes 47 minutes
    if seconds < 2 * DAY_S:
        return "hour", rounding(seconds / HOUR_S)
    if seconds < 8 * WEEK_S:
        return "day", rounding(seconds / DAY_S)
    if seconds < 26 * WEEK_S:
        return "week", rounding(seconds / WEEK_S)
    if seconds < 2 * YEAR_S:
        return "month", rounding(seconds / MONTH_S)
    return "year", rounding(seconds / YEAR_S)
