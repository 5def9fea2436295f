"""One vessel's winter as the score's rows are asked of it: her record, her truth, and what the yard knew."""

from collections.abc import Iterator
from dataclasses import dataclass

from monitor.model.surroundings import YardCalendar
from monitor.model.vessel import Vessel
from simulator.truth import Cause, Harm, HarmKind, Mark, TruthLog

DAY_MS = 86_400_000
AGAIN_MS = DAY_MS // 4
"""A harm that begins again so soon after its end is the same episode: one night, and not the next."""

GATEWAY_DOWN = {"gateway silent", "link lost"}
"""The kinds of cause by which nothing is heard of a boat."""

BLINDING = {"sensor sticks", "sensor dies", "sensor drifts", "sensors swapped between boats"}
"""The kinds of cause by which a sensor, their subject, does not say what is so; spikes leave enough that is."""

BLIND_FROM_MS = 3_600_000
"""A sensor that was at fault for less than an hour kept nothing from being seen."""


@dataclass(frozen=True, slots=True)
class Case:
    """One vessel's winter.

    Attributes:
        log: the truth of the winter; what is other vessels' is passed by.
        record: her lay-up record.
        calendar: the yard's.
        has_forecast: whether the yard has a forecast.
        begins_ms: beginning of the winter, ms UTC.
        ends_ms: its end, ms UTC.
    """

    log: TruthLog
    record: Vessel
    calendar: YardCalendar
    has_forecast: bool
    begins_ms: int
    ends_ms: int

    def causes(self) -> Iterator[Cause]:
        """Give what befell her."""
        return (c for c in self.log.causes if c.vessel == self.record.id)

    def harms(self, *kinds: HarmKind) -> Iterator[Harm]:
        """Give the harms of some kinds, one that begins again within hours as one episode."""
        last: dict[tuple[HarmKind, str], Harm] = {}
        for harm in sorted(self.log.harms, key=lambda h: h.at_ms):
            if harm.vessel != self.record.id or harm.kind not in kinds:
                continue
            before = last.get((harm.kind, harm.subject))
            last[harm.kind, harm.subject] = harm
            if before is not None and (before.ended_ms is None or harm.at_ms < before.ended_ms + AGAIN_MS):
                continue
            yield harm

    def mark(self, kind: str, subjects: set[str], from_ms: int, to_ms: int) -> Mark | None:
        """Find the first mark of a kind on one of the subjects between two times, None where there is none."""
        found = (
            m
            for m in self.log.marks
            if m.kind == kind and m.vessel == self.record.id and m.subject in subjects and from_ms <= m.at_ms <= to_ms
        )
        return min(found, key=lambda m: m.at_ms, default=None)

    def end_of(self, cause: Cause) -> int:
        """Give when a cause ended; the end of the winter where nobody put it right."""
        return self.ends_ms if cause.ends_ms is None else min(cause.ends_ms, self.ends_ms)

    def sensors_at_fault(self, sensors: set[str], from_ms: int, to_ms: int) -> set[str]:
        """Give which of the sensors were at fault for a while between two times; ``gateway`` where it was silent."""
        return {
            cause.subject
            for cause in self.causes()
            if (cause.kind in GATEWAY_DOWN or (cause.kind in BLINDING and cause.subject in sensors))
            and cause.begins_ms <= to_ms
            and self.end_of(cause) > from_ms
            and self.end_of(cause) - cause.begins_ms >= BLIND_FROM_MS
        }
