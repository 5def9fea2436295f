"""A winter folded through the watch, and all that it said: alerts, what happened to them, and why at that time."""

from collections import deque
from collections.abc import Callable
from dataclasses import dataclass, field

from monitor.fleet import Fleet, NothingStored
from monitor.model.alert import Alert, AlertChange, AlertEvent
from monitor.model.finding import Finding
from monitor.model.inputs import RecordVersion
from monitor.model.parcel import ClockMessage, Parcel, RawReading
from monitor.model.reading import Reading
from simulator.score.stretches import AFTERMATH
from simulator.truth import TruthLog
from simulator.winter import ForecastIssued, Message, RecordChanged, Winter

# A reading's flag is final when the next of its sensor has come; one more is left for those that come out of order.
SETTLES_AFTER = 2
OVER = {AlertChange.RETURNED, AlertChange.LATCHED, AlertChange.ENDED}


@dataclass(frozen=True, slots=True)
class Said:
    """What happened to an alert, and the finding behind it then."""

    event: AlertEvent
    finding: Finding

    @property
    def key(self) -> tuple[str, str]:
        """Rule and subject of the alert."""
        return self.finding.rule, self.finding.subject

    @property
    def level(self) -> int:
        """The priority that it stands at from then on; 0 where its condition has cleared."""
        return 0 if self.event.change in OVER else int(self.event.priority)


@dataclass(slots=True)
class Heard:
    """What the watch of a winter said.

    Attributes:
        readings: how many readings it took.
        alerts: every alert in its last form, by id.
        said: what happened to them, in order.
        warning: the same events by vessel, but that an alert counts as returned while it tells only of what is over.
    """

    readings: int = 0
    alerts: dict[str, Alert] = field(default_factory=dict)
    said: list[Said] = field(default_factory=list)
    warning: dict[str, list[AlertEvent]] = field(default_factory=dict)
    _over: set[str] = field(default_factory=set)

    def hear(self, fleet: Fleet) -> list[Reading]:
        """Take over what the fleet has said since the last time, and give the readings that it took."""
        batch = fleet.hand_over()
        self.readings += len(batch.readings)
        for alert in batch.alerts.values():
            self.alerts[alert.id] = alert
            self._turn(alert, fleet.clock_ms or alert.opened_ms)
        for _, _, event in batch.events:
            self.said.append(Said(event, self.alerts[event.alert].finding))
            if event.alert not in self._over:
                self.warning.setdefault(event.vessel, []).append(event)
        return [reading for _, reading in batch.readings]

    def of(self, vessel: str) -> list[Said]:
        """Give what was said of one vessel."""
        return [said for said in self.said if said.event.vessel == vessel]

    def keys(self) -> dict[str, tuple[str, str]]:
        """Give rule and subject of every alert, by its id."""
        return {alert.id: (alert.rule, alert.subject) for alert in self.alerts.values()}

    def _turn(self, alert: Alert, now_ms: int) -> None:
        """Note that an alert now tells of what is over, or of what is or is to come again."""
        over = (alert.rule, alert.finding.kind) in AFTERMATH
        if over == (alert.id in self._over):
            return
        self._over ^= {alert.id}
        stands = alert.returned_ms is None and alert.ended_ms is None
        change = AlertChange.REOPENED if stands and not over else AlertChange.RETURNED
        event = AlertEvent(alert.id, alert.vessel, now_ms, change, alert.state, alert.priority, "replay")
        self.warning.setdefault(alert.vessel, []).append(event)


def fold(
    winter: Winter,
    log: TruthLog | None = None,
    see: Callable[[Reading], None] | None = None,
    overhear: Callable[[Message], None] | None = None,
) -> Heard:
    """Fold a winter.

    Args:
        winter: the winter.
        log: where the truth is noted, None where nobody asks.
        see: is given every reading once its quality is settled, None where nobody asks.
        overhear: is given every message as the watch is, None where nobody else listens.
    """
    fleet = Fleet(NothingStored())
    fleet.calendar(winter.calendar, 0)
    for vessel in winter.vessels:
        fleet.command(RecordVersion(vessel, winter.plan.begins_ms, vessel.engineer))
    heard = Heard()
    waiting: dict[tuple[str, str], deque[Reading]] = {}
    for message in winter.stream(log):
        take(fleet, message)
        if overhear is not None:
            overhear(message)
        readings = heard.hear(fleet)
        if see is not None:
            for reading in readings:
                queue = waiting.setdefault((reading.vessel, reading.sensor), deque())
                queue.append(reading)
                if len(queue) > SETTLES_AFTER:
                    see(queue.popleft())
    if see is not None:
        for queue in waiting.values():
            for reading in queue:
                see(reading)
    return heard


def take(fleet: Fleet, message: Message) -> None:
    """Give the fleet a message of the winter's stream, as intake would."""
    if isinstance(message, ClockMessage):
        fleet.clock(message.at_ms)
        return
    if isinstance(message, ForecastIssued):
        fleet.forecast(message.hours, message.at_ms)
        return
    if isinstance(message, RecordChanged):
        fleet.command(RecordVersion(message.record, message.at_ms, message.record.engineer))
        return
    raws = [RawReading(message.vessel, sensor, value, stated) for sensor, _, stated, value in message.readings]
    fleet.take(Parcel(0, 0, 0, retained=message.retained, topic="", readings=raws), fleet.clock_ms, caught_up=True)
