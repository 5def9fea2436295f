"""What everything in telling looks at: the state, the people, the settings, and where notices are written."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from monitor.model.people import Ladder, YardPerson
from monitor.model.roster import Roster
from monitor.model.urgency import SILENCE, pressing
from monitor.model.vessel import Vessel
from monitor.model.walk import walking_key
from monitor.telling.index import Index
from monitor.telling.limits import MINUTE_MS, NAMED_AT_MOST
from monitor.telling.standing import Standing
from monitor.telling.state import OpenCall, State
from monitor.telling.timers import Timers
from monitor.telling.times import quiet_until
from monitor.telling.written import Written


def ms(minutes: float) -> int:
    """Give minutes in milliseconds."""
    return round(minutes * MINUTE_MS)


@dataclass(slots=True)
class Scene:
    """One batch's look at it all.

    Attributes:
        index: what is kept, and where in it to find what.
        timers: when what of it is due.
        roster: everybody who may be told.
        ladder: when who is told.
        zone: the yard's time zone (IANA).
        record: gives a vessel's valid record.
        written: the notices planned so far.
        walks: where a vessel lies on the walk, by her id, with the record that says so; it outlives the batch.
        touched: ids of the calls that changed.
    """

    index: Index
    timers: Timers
    roster: Roster
    ladder: Ladder
    zone: str
    record: Callable[[str], Vessel | None]
    written: Written
    walks: dict[str, tuple[Vessel | None, object]]
    touched: set[str] = field(default_factory=set)

    @property
    def state(self) -> State:
        """What is kept."""
        return self.index.state

    def person(self, person_id: str) -> YardPerson | None:
        """Find somebody of the yard by id alone; None for who is gone, though the id begins somebody else's name."""
        return next((person for person in self.roster.everybody() if person.id == person_id), None)

    def standing(self, call: OpenCall) -> list[Standing]:
        """Give a call's alerts that are told of: in force, warnings and alarms."""
        return [alert for alert in self.index.members(call) if alert.is_told]

    def wanting(self, call: OpenCall) -> list[Standing]:
        """Give those of them that nobody has."""
        return [alert for alert in self.index.members(call) if alert.wants_somebody]

    def untold(self, call: OpenCall) -> list[Standing]:
        """Give those of these that duty has not been told of as they are now."""
        return [alert for alert in self.wanting(call) if not alert.told]

    def ranked(self, alerts: Sequence[Standing]) -> tuple[str, ...]:
        """Give alerts' ids: as they press, then as the yard is walked."""
        return tuple(alert.id for alert in sorted(alerts, key=self._rank))

    def quiet_until(self, person: YardPerson, at_ms: int) -> int | None:
        """Give when somebody's quiet hours end, None where they are awake."""
        return quiet_until(at_ms, person.quiet, self.zone)

    def named(self, vessels: Sequence[str]) -> str:
        """Give vessels' names for a reason; of many, how many more there are."""
        records = [(vessel, self.record(vessel)) for vessel in vessels[:NAMED_AT_MOST]]
        names = [vessel if record is None else record.name for vessel, record in records]
        more = len(vessels) - len(names)
        if more:
            return f"{', '.join(names)} and {more} more"
        return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"

    def _rank(self, alert: Standing) -> tuple[object, ...]:
        record, walk = self.record(alert.vessel), self.walks.get(alert.vessel)
        if walk is None or walk[0] is not record:
            walk = self.walks[alert.vessel] = (record, () if record is None else walking_key(record))
        silence = alert.rule == SILENCE
        presses = pressing(alert.priority, water=alert.water, silence=silence, harm=alert.harm_ms)
        return presses, walk[1], alert.opened_ms, alert.id
