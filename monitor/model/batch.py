"""What one transaction commits: the readings, and everything they brought about."""

from dataclasses import dataclass, field

from monitor.model.alert import Alert, AlertEvent
from monitor.model.call import Call
from monitor.model.finding import Finding
from monitor.model.inputs import AlertCommand, Command, RecordVersion, VesselCommand, YardInput
from monitor.model.notice import Notice
from monitor.model.parcel import Reject
from monitor.model.reading import Reading


@dataclass(slots=True)
class Batch:
    """Inputs in the order of their ``seq``, and the alert events they caused.

    Attributes:
        readings: accepted readings with their seq.
        settled: readings stored before, or in this batch, whose flag has become final.
        inputs: the other inputs with their seq.
        events: alert events with the seq of the input that caused them and their place among its events.
        alerts: latest form of every alert that changed, by id.
        not_known: what the rules cannot say of a vessel, whole, for the vessels where it changed.
        notices: what is to be sent to whom because of the events.
        calls: latest form of every call that changed, by id.
        telling: the state of whoever plans the notices, as JSON; None where it has not changed.
        wall_ms: the wall's time (ms UTC), by which people are told even while the broker is away; None in a stream.
        rejects: what could not be used, with when it came (ms UTC).
        counts: how often something worth counting happened: duplicates, conflicts, clock faults, late readings.
        snapshots: watch states by vessel, all after ``last_seq``.
        last_seq: seq of the last input; 0 where there was none.
    """

    readings: list[tuple[int, Reading]] = field(default_factory=list)
    settled: list[Reading] = field(default_factory=list)
    inputs: list[tuple[int, Command | YardInput]] = field(default_factory=list)
    events: list[tuple[int, int, AlertEvent]] = field(default_factory=list)
    alerts: dict[str, Alert] = field(default_factory=dict)
    not_known: dict[str, list[Finding]] = field(default_factory=dict)
    notices: list[Notice] = field(default_factory=list)
    calls: dict[str, Call] = field(default_factory=dict)
    telling: str | None = None
    wall_ms: int | None = None
    rejects: list[tuple[int, Reject]] = field(default_factory=list)
    counts: dict[str, int] = field(default_factory=dict)
    snapshots: dict[str, str] = field(default_factory=dict)
    last_seq: int = 0

    @property
    def is_empty(self) -> bool:
        """Whether there is nothing to commit."""
        kept = (self.readings, self.inputs, self.rejects, self.counts, self.snapshots, self.notices, self.not_known)
        return self.telling is None and not any(kept)

    @property
    def vessels(self) -> set[str]:
        """The vessels that anything in it is about."""
        named = {r.vessel for _, r in self.readings}
        named |= {i.vessel.id for _, i in self.inputs if isinstance(i, RecordVersion)}
        named |= {i.vessel for _, i in self.inputs if isinstance(i, (AlertCommand, VesselCommand))}
        return named | {e.vessel for _, _, e in self.events}
