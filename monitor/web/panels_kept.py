"""What a vessel's charts show, kept for a moment: her page says it in sentences, and then asks for the charts.

It is reckoned from thousands of hours of readings, and is the same for whoever looks within a few seconds.
"""

from collections.abc import Callable
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from monitor.charts import Panel
from monitor.web.changes import Changes
from monitor.web.clock import YardClock

KEPT_MS = 5_000
"""The charts' axis ends at most so long before now."""
KEPT_AT_MOST = 32


@dataclass(frozen=True, slots=True)
class _Kept:
    """Panels, with when they were made and up to which change of their vessel."""

    changed_at: int
    made_ms: int
    zone: ZoneInfo
    panels: list[Panel]


class KeptPanels:
    """The panels that were made last. Any thread may ask: the worst is that some are made twice."""

    def __init__(self) -> None:
        self._kept: dict[tuple[str, str], _Kept] = {}

    def panels(
        self, vessel: str, span: str, clock: YardClock, changes: Changes, make: Callable[[], list[Panel]]
    ) -> list[Panel]:
        """Give a vessel's panels over a span, which goes by the words that ask for it.

        ``make`` makes them where she has changed, or some seconds have gone by.
        """
        kept, changed_at = self._kept.get((vessel, span)), changes.changed_at(vessel)
        if (
            kept is not None
            and kept.changed_at == changed_at
            and kept.zone is clock.zone
            and 0 <= clock.now_ms - kept.made_ms < KEPT_MS
        ):
            return kept.panels
        made = make()
        if len(self._kept) >= KEPT_AT_MOST:
            self._kept = {}
        self._kept[vessel, span] = _Kept(changed_at, clock.now_ms, clock.zone, made)
        return made
