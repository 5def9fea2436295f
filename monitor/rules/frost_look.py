"""One judgement's look ahead: the coldest that each thermometer's place comes to, and when a visit can be had.

A place is foretold from its thermometer's last reading on, at that reading's time: between readings what is foretold
stays as it is, and only the horizons move.
"""

from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

from monitor.model.reading import Seen
from monitor.model.surroundings import YardCalendar
from monitor.rules.frost_ahead import Outlook, follows, outside_ahead, slope_ahead, space_ahead
from monitor.rules.frost_findings import HORIZONS_H, Asked
from monitor.rules.frost_grade import WET_VISIT_K, asks_k, clear_degc, is_wet
from monitor.rules.frost_limits import LIMITS
from monitor.rules.frost_outside import Foretold, Outside, air_ahead, coldest_ahead
from monitor.rules.frost_things import Freezable
from monitor.rules.recent import Recent, slope_per_hour
from monitor.rules.rule import HOUR_MS
from monitor.science.cooling import LagFit

_GAIN_LEAST_K = LIMITS["gain_least"]


class WorkingDays:
    """What a yard's calendar said last: the same for hours on end, and dear to ask, since it goes by local time."""

    def __init__(self) -> None:
        self._calendar: YardCalendar | None = None
        self._noticed_ms = 0
        self._until_ms = self._turns_ms = self._asked_ms = self._notice_ms = 0

    def until_ms(self, calendar: YardCalendar, now_ms: int) -> int:
        """Give when the next working day ends (`YardCalendar.end_of_next_working_day`)."""
        self._ask(calendar, now_ms)
        return self._until_ms

    def turns_ms(self, calendar: YardCalendar, now_ms: int) -> int:
        """Give when the yard's next day begins: from then on another end may be looked to."""
        self._ask(calendar, now_ms)
        return self._turns_ms

    def next_notice_ms(self, calendar: YardCalendar, now_ms: int) -> int | None:
        """Give the next notice time, None where none comes (`YardCalendar.notice_times`)."""
        self._ask(calendar, now_ms)
        if not self._noticed_ms <= now_ms < self._notice_ms:
            self._noticed_ms, self._notice_ms = now_ms, next(calendar.notice_times(now_ms), 0)
        return self._notice_ms or None

    def _ask(self, calendar: YardCalendar, now_ms: int) -> None:
        if calendar is self._calendar and self._asked_ms <= now_ms < self._turns_ms:
            return
        if calendar is not self._calendar:
            self._notice_ms = 0
        self._calendar, self._asked_ms = calendar, now_ms
        self._until_ms = calendar.end_of_next_working_day(now_ms)
        self._turns_ms = _day_ends_ms(calendar, now_ms)


def _day_ends_ms(calendar: YardCalendar, now_ms: int) -> int:
    """Give when the yard's day ends, ms UTC."""
    zone = ZoneInfo(calendar.zone)
    tomorrow = datetime.fromtimestamp(now_ms / 1000, zone).date() + timedelta(days=1)
    return round(datetime.combine(tomorrow, time(0), zone).timestamp() * 1000)


class Look:
    """What is foretold at one time. Each thermometer and the yard's calendar are asked once, and only if need be.

    Args:
        now_ms: now, ms UTC.
        outside: outside air as it was.
        outside_stale_ms: how old its last word may be to stand for now.
        foretold: the forecast, None where there is none.
        calendar: the yard's working time.
        days: the same, as asked of it before.
        afloat: whether water holds her hull.
    """

    def __init__(
        self,
        now_ms: int,
        outside: Outside,
        outside_stale_ms: int,
        foretold: Foretold | None,
        calendar: YardCalendar,
        days: "WorkingDays",
        *,
        afloat: bool,
    ) -> None:
        self.now_ms, self.outside, self.outside_stale_ms = now_ms, outside, outside_stale_ms
        self.foretold, self.calendar, self.afloat, self.days = foretold, calendar, afloat, days
        self._lag_error_k = LIMITS["lag_error_afloat" if afloat else "lag_error_ashore"]
        self._floors: dict[int, float | None] = {}
        self._outlooks: dict[str, Outlook] = {}
        self._until_ms: int | None = None

    @property
    def until_ms(self) -> int:
        """When the next working day ends."""
        if self._until_ms is None:
            self._until_ms = self.days.until_ms(self.calendar, self.now_ms)
        return self._until_ms

    @property
    def day_turns(self) -> bool:
        """Whether another working day's end is looked to from the next whole hour on."""
        next_hour_ms = (self.now_ms // HOUR_MS + 1) * HOUR_MS
        return self.days.turns_ms(self.calendar, self.now_ms) <= next_hour_ms

    def near_h(self, seen: Seen) -> float:
        """Hours from a reading to the end of the coming night; it moves on at whole hours."""
        return (self.now_ms // HOUR_MS * HOUR_MS - seen.at_ms) / HOUR_MS + LIMITS["near"]

    def visit_h(self, seen: Seen) -> float:
        """Hours from a reading to the end of the next working day, as far as it is worth looking."""
        return min((self.until_ms - seen.at_ms) / HOUR_MS, LIMITS["farthest"])

    def clear_degc(self, thing: Freezable, freeze_degc: float) -> float:
        """Give what neither its thermometer nor the coldest that could come may reach, for it to be out of reach."""
        return clear_degc(thing, freeze_degc) + self._lag_error_k

    def coldest(self, thing: Freezable, seen: Seen) -> float | None:
        """Give a figure that its place cannot fall below, by outside air alone; None where nothing is foretold."""
        floor_degc = self._floor(seen.at_ms)
        if floor_degc is None:
            return None
        return floor_degc + (_GAIN_LEAST_K if thing.own_probe else 0.0)

    def outlook(self, thing: Freezable, seen: Seen, recent: Recent, fit: LagFit | None) -> Outlook:
        """Foretell where a thing's thermometer is, from its last reading on."""
        known = self._outlooks.get(seen.sensor)
        if known is None:
            known = self._outlooks[seen.sensor] = self._foretell(seen, recent, fit, is_outside=not thing.own_probe)
        return known

    def _floor(self, at_ms: int) -> float | None:
        if at_ms not in self._floors:
            self._floors[at_ms] = coldest_ahead(self.outside, self.foretold, at_ms)
        return self._floors[at_ms]

    def _foretell(self, seen: Seen, recent: Recent, fit: LagFit | None, *, is_outside: bool) -> Outlook:
        air = None
        if self._floor(seen.at_ms) is not None:
            farthest_h = max(HORIZONS_H[-1], self.visit_h(seen))
            air = air_ahead(
                self.outside, self.foretold, seen.at_ms, farthest_h=farthest_h, stale_ms=self.outside_stale_ms
            )
        if air is None:
            fall = slope_per_hour(recent, at_least_ms=HOUR_MS) or 0.0
            return slope_ahead(seen.value, min(fall, 0.0))
        if is_outside:
            return outside_ahead(seen.value, air)
        return space_ahead(seen.value, air, follows(fit, afloat=self.afloat))

    def asked(self, thing: Freezable, freeze_degc: float, seen: Seen, outlook: Outlook) -> Asked:
        """Say by when a visit must be asked for so that somebody comes before the low estimate needs it."""
        hours = outlook.low.first_below(freeze_degc + asks_k(thing))
        if hours is None:
            # What was left wet is warned of before it needs a visit by this estimate: one is asked for all the same.
            near = is_wet(thing) and outlook.low.first_below(freeze_degc + WET_VISIT_K) is not None
            by_ms = next(iter(self.calendar.notice_times(self.now_ms)), None) if near else None
            return Asked(self.until_ms, needed=by_ms is not None, visit_by=by_ms)
        visit_by = None
        for notice_ms in self.calendar.notice_times(self.now_ms):
            if notice_ms > seen.at_ms + hours * HOUR_MS:
                break
            visit_by = notice_ms
        return Asked(self.until_ms, needed=True, visit_by=visit_by)
