"""How fast a winter goes: evenly through the whole of it, or in haste to a time and from there at the wall's pace."""

from dataclasses import dataclass
from time import monotonic


@dataclass(slots=True)
class Pace:
    """When, by the machine's own steady clock, a time of the winter is due.

    Attributes:
        begins_ms: the winter's begin, ms UTC.
        wall_s_per_ms: seconds of the wall in a millisecond of the winter, up to `live_from_ms`.
        live_from_ms: from when on a second takes a second; None where it never does.
        started: when the winter began, by the steady clock.
        live_since: when `live_from_ms` was come to, None before.
    """

    begins_ms: int
    wall_s_per_ms: float
    live_from_ms: int | None = None
    started: float = 0.0
    live_since: float | None = None

    def due(self, at_ms: int) -> float:
        """Give when a time of the winter is due; times are asked in their order."""
        if self.live_from_ms is None or at_ms <= self.live_from_ms:
            return self.started + (at_ms - self.begins_ms) * self.wall_s_per_ms
        if self.live_since is None:
            # The hasty part takes as long as it takes, however fast it should have been.
            hasty = self.started + (self.live_from_ms - self.begins_ms) * self.wall_s_per_ms
            self.live_since = max(monotonic(), hasty)
        return self.live_since + (at_ms - self.live_from_ms) / 1000

    def now_ms(self, now: float) -> int | None:
        """Give the winter's time now, where it goes at the pace of the wall; None where it does not."""
        if self.live_since is None or self.live_from_ms is None or now < self.live_since:
            return None
        return self.live_from_ms + int((now - self.live_since) * 1000)
