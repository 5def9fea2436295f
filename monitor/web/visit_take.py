"""Takes a visit in: compares what was read with the sensors, hands in the report and what it says of alerts."""

from dataclasses import dataclass

from fastapi.concurrency import run_in_threadpool

from monitor.model.inputs import Confirm, VisitReport
from monitor.model.views import Newest
from monitor.model.visit import HandReading, VisitNote
from monitor.record.round import Stop, stop_at
from monitor.web.commands import hand_in
from monitor.web.deps import Deps
from monitor.web.found import vessel_now
from monitor.web.problems import ProblemError
from monitor.web.sight import Viewer
from monitor.web.visit_in import ReadingIn, VisitIn

SAME_WITHIN_MS = 10 * 60_000


@dataclass(frozen=True, slots=True)
class Taken:
    """A visit that was taken in, and what the watch refused of its confirmations: (alert id, reason)."""

    report: VisitReport
    refused: tuple[tuple[str, str], ...] = ()


def stop_of(deps: Deps, viewer: Viewer, vessel_id: str) -> Stop:
    """Give what there is to do aboard a vessel.

    Raises:
        HTTPException: 404 where there is no such vessel, or this viewer may not see her.
    """
    now = vessel_now(deps, viewer, vessel_id)
    return stop_at(now, last_visit(deps, vessel_id), deps.now_ms(), deps.zone)


def last_visit(deps: Deps, vessel_id: str) -> VisitReport | None:
    """Give the last visit that somebody wrote down."""
    return next(iter(deps.visits.visits(vessel_id, limit=1)), None)


async def take(deps: Deps, stop: Stop, made: VisitIn) -> Taken:
    """Hand a visit in, and wait until it is committed. Sent twice by a double tap, it is taken once.

    Raises:
        ProblemError: where the watch refused the visit itself, in its words.
    """
    vessel, at_ms, name = stop.vessel.id, deps.now_ms(), " ".join(made.name.split())
    newest = await run_in_threadpool(deps.readings.newest, vessel)
    report = VisitReport(vessel, at_ms, name, _note(made, stop, newest))
    before = await run_in_threadpool(last_visit, deps, vessel)
    if before is not None and _is_same(before, report):
        return Taken(before)
    await hand_in(deps, report)
    refused = []
    for seen in made.alerts:
        confirm = Confirm(vessel, seen.alert, at_ms, name, report.visit.note, seen.nothing_wrong)
        try:
            await hand_in(deps, confirm)
        except ProblemError as error:
            # The visit stands: what is refused of it is said, and the alert stays as it is.
            refused.append((seen.alert, error.detail))
    return Taken(report, tuple(refused))


def _note(made: VisitIn, stop: Stop, newest: dict[str, Newest]) -> VisitNote:
    sensors = {(t.what, t.subject): t.sensor for t in stop.all_takings}
    return VisitNote(
        found=made.found,
        checked=tuple(made.checked),
        readings=tuple(_beside(r, sensors[r.what, r.subject], newest) for r in made.readings),
        note=" ".join(made.note.split()),
        confirmed=tuple(seen.alert for seen in made.alerts),
        nothing_wrong=tuple(seen.alert for seen in made.alerts if seen.nothing_wrong),
    )


def _beside(reading: ReadingIn, sensor: str | None, newest: dict[str, Newest]) -> HandReading:
    said = None if sensor is None else newest.get(sensor)
    if said is None:
        return HandReading(reading.what, reading.subject, reading.value, sensor)
    return HandReading(reading.what, reading.subject, reading.value, sensor, said.value, said.event_ms)


def _is_same(before: VisitReport, report: VisitReport) -> bool:
    """Say whether a report is the last one sent again: all that a person wrote is the same."""

    def written(r: VisitReport) -> object:
        v = r.visit
        readings = [(x.what, x.subject, x.value) for x in v.readings]
        return r.actor, v.found, v.checked, readings, v.note, v.confirmed, v.nothing_wrong

    return 0 <= report.at_ms - before.at_ms <= SAME_WITHIN_MS and written(before) == written(report)
