"""What all boats of a yard share and rules look ahead by: the yard's working time, its power plan and the forecast.

Both are inputs of the fold like any other: they stand in the journal, so that a replay sees what was known then.
"""

from collections.abc import Iterable, Iterator
from datetime import date, datetime, time, timedelta
from functools import lru_cache
from itertools import pairwise
from typing import Annotated, Self
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from pydantic import AwareDatetime, BaseModel, ConfigDict, Field, field_validator, model_validator

HOUR_MS = 3_600_000
LONGEST_FORECAST = 400
_DAYS_LOOKED_AHEAD = 30


class PlannedCut(BaseModel):
    """A time for which the yard's power is off on purpose."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    begins: AwareDatetime
    ends: AwareDatetime

    @model_validator(mode="after")
    def _ends_later(self) -> Self:
        if self.ends <= self.begins:
            raise ValueError("a planned cut ends after it begins")
        return self


class YardCalendar(BaseModel):
    """When somebody works at the yard, and when its power is off on purpose. Times of day are the yard's own.

    ``working_days`` counts Monday as 1. ``notice_by`` is the time of a working day by which a cold night that needs a
    visit is to be told. ``power_off`` is a daily span without power, such as a night cut; it may pass midnight.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    zone: str = "UTC"
    working_days: tuple[Annotated[int, Field(ge=1, le=7)], ...] = (1, 2, 3, 4, 5)
    begins: time = time(8)
    ends: time = time(17)
    notice_by: time = time(15)
    holidays: tuple[date, ...] = ()
    power_off: tuple[time, time] | None = None
    planned_cuts: tuple[PlannedCut, ...] = ()

    @field_validator("zone")
    @classmethod
    def _known_zone(cls, zone: str) -> str:
        try:
            ZoneInfo(zone)
        except (ZoneInfoNotFoundError, ValueError) as error:
            raise ValueError(f"{zone!r} is not a time zone of the IANA data base, such as Europe/Oslo") from error
        return zone

    @field_validator("working_days")
    @classmethod
    def _somebody_works(cls, days: tuple[int, ...]) -> tuple[int, ...]:
        if not days:
            raise ValueError("at least one day of the week must be a working day")
        return tuple(sorted(set(days)))

    @model_validator(mode="after")
    def _day_holds_together(self) -> Self:
        if not self.begins < self.notice_by <= self.ends:
            raise ValueError("begins, notice_by and ends of the working day must follow each other")
        return self

    def is_working_day(self, day: date) -> bool:
        """Whether somebody works that day."""
        return day.isoweekday() in self.working_days and day not in self.holidays

    def notice_times(self, now_ms: int) -> Iterator[int]:
        """Give the coming times (ms UTC) by which a visit must have been asked for, soonest first."""
        yield from self._coming(now_ms, self.notice_by)

    def end_of_next_working_day(self, now_ms: int) -> int:
        """Give when the first working day after today ends (ms UTC): until then nobody may come who is not called."""
        today = self._local(now_ms).date()
        ends = (at_ms for at_ms in self._coming(now_ms, self.ends) if self._local(at_ms).date() > today)
        return next(ends, now_ms + _DAYS_LOOKED_AHEAD * 24 * HOUR_MS)

    @property
    def plans_cuts(self) -> bool:
        """Whether the power is ever off on purpose."""
        return self.power_off is not None or bool(self.planned_cuts)

    def is_planned_cut(self, at_ms: int) -> bool:
        """Whether the yard's power is off on purpose at a time."""
        if any(c.begins.timestamp() * 1000 <= at_ms < c.ends.timestamp() * 1000 for c in self.planned_cuts):
            return True
        if self.power_off is None:
            return False
        off, on = self.power_off
        at = self._local(at_ms).time()
        return off <= at < on if off < on else at >= off or at < on

    def _coming(self, now_ms: int, at: time) -> Iterator[int]:
        zone = _zone(self.zone)
        day = self._local(now_ms).date()
        for ahead in range(_DAYS_LOOKED_AHEAD + 1):
            then = day + timedelta(days=ahead)
            if self.is_working_day(then):
                at_ms = round(datetime.combine(then, at, zone).timestamp() * 1000)
                if at_ms > now_ms:
                    yield at_ms

    def _local(self, at_ms: int) -> datetime:
        return datetime.fromtimestamp(at_ms / 1000, _zone(self.zone))


class ForecastHour(BaseModel):
    """Outside air foretold for one time; what a forecast does not give is None."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    at_ms: int
    degc: Annotated[float, Field(ge=-80, le=60)]


class Forecast(BaseModel):
    """Outside air foretold for the yard, by time, and when the forecast came."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    came_ms: int
    hours: Annotated[tuple[ForecastHour, ...], Field(min_length=1, max_length=LONGEST_FORECAST)]

    @field_validator("hours")
    @classmethod
    def _in_order(cls, hours: tuple[ForecastHour, ...]) -> tuple[ForecastHour, ...]:
        return tuple({hour.at_ms: hour for hour in sorted(hours, key=lambda h: h.at_ms)}.values())

    @classmethod
    def of(cls, came_ms: int, hours: Iterable[tuple[int, float]]) -> Self:
        """Make a forecast of (time ms UTC, degC) pairs."""
        return cls(came_ms=came_ms, hours=tuple(ForecastHour(at_ms=at, degc=t) for at, t in hours))

    def covers(self, from_ms: int, to_ms: int) -> bool:
        """Whether it says something at least every six hours between two times."""
        inside = [from_ms, *(h.at_ms for h in self.hours if from_ms < h.at_ms < to_ms), to_ms]
        first, last = self.hours[0].at_ms, self.hours[-1].at_ms
        gaps = (later - earlier for earlier, later in pairwise(inside))
        return first <= from_ms + HOUR_MS and last >= to_ms - HOUR_MS and max(gaps) <= 6 * HOUR_MS


class Surroundings(BaseModel):
    """What is known of the yard now."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    calendar: YardCalendar = YardCalendar()
    forecast: Forecast | None = None


@lru_cache(maxsize=8)
def _zone(name: str) -> ZoneInfo:
    return ZoneInfo(name)
