"""When a vessel's next visit falls due, by the interval that the maintenance rule holds her to."""

from dataclasses import dataclass
from datetime import date, timedelta
from zoneinfo import ZoneInfo

from monitor.model.vessel import Vessel
from monitor.rules.maintenance_findings import visit_interval_d


@dataclass(frozen=True, slots=True)
class VisitDue:
    """When somebody was last aboard, and the day by which somebody should be again; the yard's days.

    Attributes:
        last: the last visit that is written down, or the lay-up.
        on: the last day that is not too late: the rule calls her overdue on the next.
        visited: whether anybody is known to have been aboard since the lay-up.
    """

    last: date
    on: date
    visited: bool = True


def visit_due(record: Vessel, reported: date | None, today: date, zone: ZoneInfo) -> VisitDue | None:
    """Say when her next visit is due; None where she is not laid up, so that people use her.

    Args:
        record: her valid record; visits in it that are still to come do not count.
        reported: the day of the last visit that somebody wrote down aboard, None where nobody has.
        today: the yard's day.
        zone: the yard's time zone.
    """
    if not record.mode.is_laid_up:
        return None
    written = [v.on for v in record.visits if v.on <= today]
    visits = [*written, *([] if reported is None else [reported])]
    last = max([record.laid_up.astimezone(zone).date(), *visits])
    return VisitDue(last, last + timedelta(days=visit_interval_d(record)), last in visits)
