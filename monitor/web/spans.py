"""The spans of time that charts can show."""

from enum import StrEnum

from monitor.model.vessel import Vessel

DAY_MS = 86_400_000


class ChartSpan(StrEnum):
    """How far back the charts go from now."""

    TWO_DAYS = "2d"
    FORTNIGHT = "14d"
    WINTER = "winter"

    @property
    def words(self) -> str:
        """The span on its button."""
        return {"2d": "2 days", "14d": "14 days", "winter": "This winter"}[self.value]

    def bounds(self, record: Vessel, now_ms: int) -> tuple[int, int]:
        """Give the start and the end of the span (ms UTC): the winter begins when she was laid up."""
        if self is ChartSpan.WINTER:
            laid_up_ms = round(record.laid_up.timestamp() * 1000)
            return min(laid_up_ms, now_ms - DAY_MS), now_ms
        days = 2 if self is ChartSpan.TWO_DAYS else 14
        return now_ms - days * DAY_MS, now_ms
