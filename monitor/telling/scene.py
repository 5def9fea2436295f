"""What everything in telling looks at: the state, the people, the settings, and where notices are written."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from monitor.model.people import Ladder, YardPerson
from monitor.model.roster import Roster
from monitor.model.scale import Priority
from monitor.model.vessel import Vessel
from monitor.model.walk import walking_key
from monitor.telling.membership import members
from monitor.telling.state import OpenCall, Standing, State
from monitor.telling.times import quiet_until
from monitor.telling.written import Written

_NEVER_MS = 1 << 62


@dataclass(slots=True)
class Scene:
    """One batch's look at it all.

    Attributes:
        state: what is kept.
        roster: everybody who may be told.
        ladder: when who is told.
        zone: the yard's time zone (IANA).
        record: gives a vessel's valid record.
        written: the notices planned so far.
        touched: ids of the calls that changed.
    """

    state: State
    roster: Roster
    ladder: Ladder
    zone: str
    record: Callable[[str], Vessel | None]
    written: Written
    touched: set[str] = field(default_factory=set)

    def standing(self, call: OpenCall) -> list[Standing]:
        """Give a call's alerts that are told of: in force, warnings and alarms."""
        return [alert for alert in members(self.state, call) if alert.is_told]

    def wanting(self, call: OpenCall) -> list[Standing]:
        """Give those of them that nobody has."""
        return [alert for alert in members(self.state, call) if alert.wants_somebody]

    def ranked(self, alerts: Sequence[Standing]) -> tuple[str, ...]:
        """Give alerts' ids: alarms first, then least time to harm, then as the yard is walked."""
        return tuple(alert.id for alert in sorted(alerts, key=self._rank))

    def quiet_until(self, person: YardPerson, at_ms: int) -> int | None:
        """Give when somebody's quiet hours end, None where they are awake."""
        return quiet_until(at_ms, person.quiet, self.zone)

    def _rank(self, alert: Standing) -> tuple[object, ...]:
        record = self.record(alert.vessel)
        walk: object = () if record is None else walking_key(record)
        harm_ms = _NEVER_MS if alert.harm_ms is None else alert.harm_ms
        # Of the fleet's alarms and warnings the one with least time comes first, whatever its priority is called.
        return -int(alert.priority is Priority.ALARM), harm_ms, walk, alert.opened_ms, alert.id
