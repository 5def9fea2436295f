"""The spans of time that charts can show."""

from dataclasses import dataclass
from enum import StrEnum

from monitor.model.vessel import Vessel

HOUR_MS, DAY_MS = 3_600_000, 86_400_000


class ChartSpan(StrEnum):
    """How far back the charts go from now."""

    TWO_DAYS = "2d"
    FORTNIGHT = "14d"
    WINTER = "winter"

    @property
    def words(self) -> str:
        """The span on its button."""
        return {"2d": "2 days", "14d": "14 days", "winter": "This winter"}[self.value]

    @property
    def ahead_ms(self) -> int:
        """How far it looks ahead where something is foretold."""
        return {"2d": 18 * HOUR_MS, "14d": 3 * DAY_MS, "winter": 0}[self.value]

    def bounds(self, record: Vessel, now_ms: int) -> tuple[int, int]:
        """Give the start and the end of the span (ms UTC): the winter begins when she was laid up."""
        if self is ChartSpan.WINTER:
            laid_up_ms = round(record.laid_up.timestamp() * 1000)
            return min(laid_up_ms, now_ms - DAY_MS), now_ms
        days = 2 if self is ChartSpan.TWO_DAYS else 14
        return now_ms - days * DAY_MS, now_ms


@dataclass(frozen=True, slots=True)
class Shown:
    """What the charts of a page show.

    Attributes:
        from_ms: start of the time axis, ms UTC.
        to_ms: end of it; later than now where something is foretold.
        choice: the span that goes with the time; None where somebody chose its ends.
        query: what stands in an address that shows the same.
    """

    from_ms: int
    to_ms: int
    choice: ChartSpan | None
    query: str

    @property
    def length_ms(self) -> int:
        """How long it is."""
        return self.to_ms - self.from_ms
