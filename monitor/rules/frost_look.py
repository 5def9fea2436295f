"""One judgement's look ahead: the coldest that each thermometer's place comes to, and when a visit can be had."""

from monitor.model.surroundings import YardCalendar
from monitor.rules.frost_ahead import Outlook, follows, outside_ahead, slope_ahead, space_ahead
from monitor.rules.frost_findings import HORIZONS_H, Asked
from monitor.rules.frost_grade import asks_k, is_out_of_reach
from monitor.rules.frost_limits import LIMITS
from monitor.rules.frost_outside import Foretold, Outside, air_ahead, coldest_ahead
from monitor.rules.frost_things import Freezable
from monitor.rules.recent import Recent, slope_per_hour
from monitor.rules.rule import HOUR_MS
from monitor.science.cooling import LagFit


class Look:
    """What is foretold at one time. Each thermometer and the yard's calendar are asked once, and only if need be.

    Args:
        now_ms: now, ms UTC.
        outside: outside air as it was.
        outside_stale_ms: how old its last word may be to stand for now.
        foretold: the forecast, None where there is none.
        calendar: the yard's working time.
        afloat: whether water holds her hull.
    """

    def __init__(
        self,
        now_ms: int,
        outside: Outside,
        outside_stale_ms: int,
        foretold: Foretold | None,
        calendar: YardCalendar,
        *,
        afloat: bool,
    ) -> None:
        self.now_ms, self.outside, self.outside_stale_ms = now_ms, outside, outside_stale_ms
        self.foretold, self.calendar, self.afloat = foretold, calendar, afloat
        self.floor_degc = coldest_ahead(outside, foretold, now_ms)
        self._lag_error_k = LIMITS["lag_error_afloat" if afloat else "lag_error_ashore"]
        self._outlooks: dict[str, Outlook] = {}
        self._until_ms: int | None = None

    @property
    def until_ms(self) -> int:
        """When the next working day ends."""
        if self._until_ms is None:
            self._until_ms = self.calendar.end_of_next_working_day(self.now_ms)
        return self._until_ms

    @property
    def visit_h(self) -> float:
        """Hours until then, as far as it is worth looking."""
        return min((self.until_ms - self.now_ms) / HOUR_MS, LIMITS["farthest"])

    def is_out_of_reach(self, thing: Freezable, freeze_degc: float, now_degc: float) -> bool:
        """Whether neither what is measured nor the coldest that could come is near its freezing point."""
        if self.floor_degc is None:
            return False
        gain_k = LIMITS["gain_least"] if thing.own_probe else 0.0
        floor_degc = min(now_degc, self.floor_degc + gain_k) - self._lag_error_k
        return is_out_of_reach(thing, freeze_degc, floor_degc)

    def outlook(self, thing: Freezable, sensor: str, recent: Recent, fit: LagFit | None) -> Outlook:
        """Foretell where a thing's thermometer is."""
        known = self._outlooks.get(sensor)
        if known is None:
            known = self._outlooks[sensor] = self._foretell(recent, fit, is_outside=not thing.own_probe)
        return known

    def _foretell(self, recent: Recent, fit: LagFit | None, *, is_outside: bool) -> Outlook:
        now_degc = recent.points[-1][1]
        air = None
        if self.floor_degc is not None:
            farthest_h = max(HORIZONS_H[-1], self.visit_h)
            air = air_ahead(
                self.outside, self.foretold, self.now_ms, farthest_h=farthest_h, stale_ms=self.outside_stale_ms
            )
        if air is None:
            fall = slope_per_hour(recent, at_least_ms=HOUR_MS) or 0.0
            return slope_ahead(now_degc, min(fall, 0.0))
        if is_outside:
            return outside_ahead(now_degc, air)
        return space_ahead(now_degc, air, follows(fit, afloat=self.afloat))

    def asked(self, thing: Freezable, freeze_degc: float, outlook: Outlook) -> Asked:
        """Say by when a visit must be asked for so that somebody comes before the low estimate needs it."""
        hours = outlook.low.first_below(freeze_degc + asks_k(thing))
        if hours is None:
            return Asked(self.now_ms, self.until_ms, needed=False, visit_by=None)
        visit_by = None
        for notice_ms in self.calendar.notice_times(self.now_ms):
            if notice_ms > self.now_ms + hours * HOUR_MS:
                break
            visit_by = notice_ms
        return Asked(self.now_ms, self.until_ms, needed=True, visit_by=visit_by)
