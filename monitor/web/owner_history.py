"""Her history by date, newest first: what was done, who was aboard, what came up, where she went."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime, time

from monitor.model.alert import Alert
from monitor.model.inputs import VisitReport
from monitor.model.scale import Priority
from monitor.model.vessel import Vessel
from monitor.model.views import StoredRecord
from monitor.model.work import JobEnd
from monitor.web.clock import YardClock
from monitor.web.deps import Deps
from monitor.web.owner_layup import where_words
from monitor.web.owner_words import listed, lowered, say, what_is, within
from monitor.web.ranks import waits_for_visit

ALERTS_AT_MOST, VISITS_AT_MOST = 500, 200


@dataclass(frozen=True, slots=True)
class Entry:
    """One line of it.

    Attributes:
        at_ms: when it was.
        day: the yard's day, as it is written.
        text: what happened.
    """

    at_ms: int
    day: str
    text: str


@dataclass(frozen=True, slots=True)
class Month:
    """A month's lines, newest first."""

    name: str
    entries: tuple[Entry, ...]


def history(deps: Deps, record: Vessel, clock: YardClock) -> list[Month]:
    """Give all that happened since she was laid up, newest first."""
    return _History(deps, record, clock).months()


class _History:
    """One boat's history."""

    def __init__(self, deps: Deps, record: Vessel, clock: YardClock) -> None:
        self._record, self._clock = record, clock
        self._versions = deps.records.versions(record.id)
        self._visits = deps.visits.visits(record.id, limit=VISITS_AT_MOST)
        self._alerts = deps.alerts.alerts(open_only=False, vessel=record.id, limit=ALERTS_AT_MOST)
        self._today = datetime.fromtimestamp(clock.now_ms / 1000, clock.zone).date()

    def months(self) -> list[Month]:
        """Give the months."""
        lines = [*self._laid_up(), *self._done(), *self._moves(), *self._aboard(), *self._came_up()]
        by_month: dict[tuple[int, int], list[Entry]] = {}
        for at_ms, text in sorted(lines, key=lambda line: -line[0]):
            day = self._day(at_ms)
            by_month.setdefault((day.year, day.month), []).append(Entry(at_ms, self._written(day), text))
        return [Month(self._month(*month), tuple(entries)) for month, entries in by_month.items()]

    def _laid_up(self) -> Iterator[tuple[int, str]]:
        yield _ms(self._record.laid_up), say("history", "laid_up", by=self._record.engineer)
        taken_on = self._record.watch_taken_on
        if taken_on is not None:
            yield _ms(taken_on.at), say("history", "commissioned", by=taken_on.by)

    def _done(self) -> Iterator[tuple[int, str]]:
        """Give the jobs of her lay-up, a line for each day and person; what was not done, each by itself."""
        by_day: dict[tuple[date, str], list[str]] = {}
        for job in self._record.jobs:
            if job.end is JobEnd.DONE:
                by_day.setdefault((job.on, job.by), []).append(lowered(job.system))
            elif job.end is JobEnd.NOT_DONE:
                yield self._noon(job.on), say("history", "job_left", what=job.what, reason=job.reason)
        for (day, by), systems in by_day.items():
            names = listed(list(dict.fromkeys(systems)))
            yield self._noon(day), say("history", "jobs", count=len(systems), by=by, systems=names)
        for item in self._record.open_items:
            if item.closed is not None:
                yield self._noon(item.closed), say("history", "put_right", what=item.what)

    def _moves(self) -> Iterator[tuple[int, str]]:
        """Give where she was moved, and how her mode changed; the first version is her lay-up."""
        before: StoredRecord | None = None
        for stored in reversed(self._versions):
            if before is not None and _lies(before.vessel) != _lies(stored.vessel):
                yield stored.from_ms, say("history", "mode", where=where_words(stored.vessel))
            before = stored

    def _aboard(self) -> Iterator[tuple[int, str]]:
        """Give the visits: those that somebody wrote down aboard, and those of the record on other days."""
        reported = {self._day(visit.at_ms) for visit in self._visits}
        for visit in self._visits:
            found = within("found", visit.visit.found.value)
            yield visit.at_ms, say("history", "visit_found", by=visit.actor, found=found, note=visit.visit.note.strip())
        for written in self._record.visits:
            if written.on <= self._today and written.on not in reported:
                yield self._noon(written.on), say("history", "visit", by=written.by)

    def _came_up(self) -> Iterator[tuple[int, str]]:
        """Give what came up and what came of it; of small things only how many a month had."""
        small: dict[tuple[int, int], list[int]] = {}
        for alert in self._alerts:
            if alert.highest >= Priority.WARNING or alert.confirmed_ms is not None:
                yield alert.opened_ms, self._of_alert(alert)
            elif not alert.is_open:
                day = self._day(alert.opened_ms)
                small.setdefault((day.year, day.month), []).append(alert.opened_ms)
        for times in small.values():
            yield min(times), say("history", "small", count=len(times))

    def _of_alert(self, alert: Alert) -> str:
        if alert.ended_ms is None:
            key = "alert_waits" if waits_for_visit(alert) else "alert_open"
            over = alert.returned_ms is not None or alert.finding.over
            return say("history", key, what=what_is(alert.finding, self._record, over=over))
        looked = alert.confirmed_by or _looked(alert, self._visits)
        if any(alert.id in visit.visit.nothing_wrong for visit in self._visits):
            what = what_is(alert.finding, self._record, over=False)
            return say("history", "alert_nothing", what=what, looked=looked)
        what = what_is(alert.finding, self._record, over=True)
        return say("history", "alert_over", what=what, ended=self._clock.at(alert.ended_ms), looked=looked)

    def _day(self, at_ms: int) -> date:
        return datetime.fromtimestamp(at_ms / 1000, self._clock.zone).date()

    def _noon(self, day: date) -> int:
        return _ms(datetime.combine(day, time(12), self._clock.zone))

    def _written(self, day: date) -> str:
        calendar = self._clock.figures.calendar
        return f"{calendar['weekdays'][day.weekday()]} {day.day} {calendar['months'][day.month - 1]}"

    def _month(self, year: int, month: int) -> str:
        return f"{self._clock.figures.calendar['months'][month - 1]} {year}"


def _lies(record: Vessel) -> tuple[str, str]:
    return record.mode.value, record.place


def _looked(alert: Alert, visits: Iterable[VisitReport]) -> str:
    return next((visit.actor for visit in visits if alert.id in visit.visit.confirmed), "")


def _ms(at: datetime) -> int:
    return round(at.timestamp() * 1000)
