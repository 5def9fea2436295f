"""Between which readings the frost rule would say again what it said, so that it need not look ahead after each.

What is foretold moves with what is measured, degree by degree at most: a space that stands a kelvin from its next step
does not take it while its thermometer and outside air stay within that kelvin. Only half of the room is used, and never
more than a little: what is foretold also moves with the time, and is worked out anew with each hour.
"""

from dataclasses import dataclass, field
from typing import NamedTuple

from monitor.rules.frost_limits import LIMITS
from monitor.rules.rule import HOUR_MS

ANY = 1e6
"""Farther than any reading goes: no bound. Not infinite, since JSON has no word for it."""

_MOVED_K, _SHARE = LIMITS["looked_again"], 0.5


class Room(NamedTuple):
    """How much colder a thing may get before it is told of more urgently, and how much warmer before less so, K."""

    colder_k: float
    warmer_k: float

    def used(self, colder_taken_k: float, warmer_taken_k: float) -> "Room":
        """Give what of it is used, past what a freezing point that moves may take; what is told is kept fresh."""
        colder_k, warmer_k = self.colder_k - colder_taken_k, self.warmer_k - warmer_taken_k
        if self.warmer_k == ANY:  # nothing is told
            return Room(colder_k * _SHARE, ANY)
        return Room(min(colder_k * _SHARE, _MOVED_K), min(warmer_k * _SHARE, _MOVED_K))


@dataclass(slots=True)
class Guard:
    """Bounds on what each sensor may say, and the time up to which they hold.

    Attributes:
        to_ms: a reading of this time or later is judged after, ms UTC; 0 where every reading is.
        spans: least and most value by sensor, in its unit; a sensor that is not here is judged after.
    """

    to_ms: int = 0
    spans: dict[str, tuple[float, float]] = field(default_factory=dict)

    def holds(self, sensor: str, at_ms: int, value: float) -> bool:
        """Say whether nothing that the rule says can change by a reading."""
        span = self.spans.get(sensor)
        return span is not None and at_ms < self.to_ms and span[0] <= value <= span[1]

    def begin(self, heard_ms: int, to_ms: int | None) -> None:
        """Begin anew at a judgement: nothing is bounded yet, up to the first reading of another hour.

        Args:
            heard_ms: time of the newest reading that it rests on, ms UTC.
            to_ms: a time that ends it before the hour does, None where there is none.
        """
        hour_ms = (heard_ms // HOUR_MS + 1) * HOUR_MS
        self.to_ms = hour_ms if to_ms is None else min(to_ms, hour_ms)
        self.spans.clear()

    def heard(self, sensor: str) -> None:
        """Note that a sensor has been heard: it is bounded by what is told of it, and else by nothing."""
        self.spans.setdefault(sensor, (-ANY, ANY))

    def keep(self, sensor: str, least: float, most: float = ANY) -> None:
        """Bound a sensor."""
        low, high = self.spans.get(sensor, (-ANY, ANY))
        self.spans[sensor] = (max(low, least), min(high, most))

    def drop(self) -> None:
        """Have every reading judged after."""
        self.to_ms = 0
