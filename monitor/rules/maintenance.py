"""Maintenance: what falls due while she lies there, and what her record leaves open.

Coolant past the life of its inhibitors or tested before it was changed, safety kit past its date, visits overdue or
owed since a thaw, and things whose state nobody proved or nobody can see. Everything here is a caution: it is told
once, and stands until it is put right. Days are the yard's own.
"""

from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from monitor.model.finding import Finding
from monitor.model.reading import Reading
from monitor.model.vessel import Vessel
from monitor.model.visit import VisitNote
from monitor.rules.maintenance_findings import RULE, of_safety_kit, of_systems, of_the_unseen, of_visits
from monitor.rules.maintenance_limits import LIMITS
from monitor.rules.maintenance_thaw import Thaw, feel_outside
from monitor.rules.rule import Changes, Rule

VISITS_KEPT = 4
"""Only the last visit counts; those before it are kept for days that are judged late, when it is still to come."""


@dataclass(slots=True)
class MaintenanceState:
    """What the rule keeps.

    Attributes:
        thaw: the frost under way and the last thaw.
        visits_ms: when somebody was last aboard by what they reported, the newest `VISITS_KEPT`, oldest first.
    """

    thaw: Thaw = field(default_factory=Thaw)
    visits_ms: list[int] = field(default_factory=list)


class Maintenance(Rule[MaintenanceState]):
    """What falls due, and what the record leaves open."""

    name = RULE
    version = 3  # visits fall due by the record's own interval where it has one
    state_type = MaintenanceState
    limits = LIMITS

    def __init__(self, record: Vessel) -> None:
        super().__init__(record)
        self.sensors = frozenset({record.outside_sensor} if record.outside_sensor is not None else ())

    def see(self, state: MaintenanceState, reading: Reading) -> Changes:
        """Take a temperature of the air outside in."""
        thaw = state.thaw
        owed_ms = thaw.thawed_ms
        feel_outside(thaw, reading.event_ms, reading.value)
        if owed_ms is not None and thaw.thawed_ms != owed_ms and not self._visited(state, owed_ms, reading.event_ms):
            # The visit that an earlier thaw asked for is still owed.
            thaw.thawed_ms = owed_ms
        return Changes.NOTHING if thaw.thawed_ms == owed_ms else Changes.ANYTHING

    def visited(self, state: MaintenanceState, at_ms: int, visit: VisitNote) -> None:  # noqa: ARG002 - any visit counts
        """Count a visit that was reported like one of the record."""
        state.visits_ms = sorted({*state.visits_ms, at_ms})[-VISITS_KEPT:]

    def judge(self, state: MaintenanceState, now_ms: int) -> list[Finding]:
        """Say what is due today, and what the record leaves open."""
        record = self.record
        if not record.mode.is_laid_up:
            return []
        today, thawed_ms = self._day(now_ms), state.thaw.thawed_ms
        thawed = None if thawed_ms is None else self._day(thawed_ms)
        last = max([record.laid_up.astimezone(self._zone).date(), *self._visits(state, today)])
        visit = of_visits(record, last, thawed, today)
        return [
            *of_systems(record, today),
            *of_the_unseen(record),
            *of_safety_kit(record, today),
            *(() if visit is None else (visit,)),
        ]

    def next_look(self, state: MaintenanceState, now_ms: int) -> int | None:  # noqa: ARG002 - days alone change it
        """Look again when the yard's next day begins."""
        if not self.record.mode.is_laid_up:
            return None
        tomorrow = self._day(now_ms) + timedelta(days=1)
        return round(datetime.combine(tomorrow, datetime.min.time(), self._zone).timestamp() * 1000)

    def _visited(self, state: MaintenanceState, since_ms: int, now_ms: int) -> bool:
        since = self._day(since_ms)
        return any(since <= day for day in self._visits(state, self._day(now_ms)))

    def _visits(self, state: MaintenanceState, today: date) -> list[date]:
        """Give the days of the visits that have been, by the record and as they were reported."""
        days = [visit.on for visit in self.record.visits] + [self._day(at_ms) for at_ms in state.visits_ms]
        return [day for day in days if day <= today]

    @property
    def _zone(self) -> ZoneInfo:
        return ZoneInfo(self.surroundings.calendar.zone)

    def _day(self, at_ms: int) -> date:
        return datetime.fromtimestamp(at_ms / 1000, self._zone).date()
