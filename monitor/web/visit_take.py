"""Takes a visit in: compares what was read with the sensors, hands in the report and what it says of alerts."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from fastapi.concurrency import run_in_threadpool

from monitor.model.alert import Alert
from monitor.model.inputs import Confirm, VisitReport
from monitor.model.vessel import Vessel
from monitor.model.views import Newest
from monitor.model.visit import HandReading, VisitNote
from monitor.record.round import Stop, stop_at
from monitor.web.clock import YardClock
from monitor.web.commands import hand_in, name_of
from monitor.web.deps import Deps
from monitor.web.found import vessel_now
from monitor.web.problems import Mistake, ProblemError
from monitor.web.sight import Viewer
from monitor.web.turns import Turns
from monitor.web.visit_in import ReadingIn, VisitIn, mistakes_in

SAME_WITHIN_MS = 10 * 60_000
LATELY = 50
"""How many visits back the same one is looked for: more than go to one boat within that time."""
MOST_SPOKEN_OF = 200
"""So many alerts a visit can speak of (`VisitIn.alerts`)."""
_turns = Turns()
"""Whose turn it is to hand in a visit, by vessel."""


@dataclass(frozen=True, slots=True)
class Taken:
    """A visit that was taken in, to which boat, and what the watch refused of it: (alert id, reason)."""

    report: VisitReport
    vessel: Vessel
    refused: tuple[tuple[str, str], ...] = ()


def stop_of(deps: Deps, viewer: Viewer, vessel_id: str, spoken_of: Iterable[str] = ()) -> Stop:
    """Give what there is to do aboard a vessel.

    Args:
        deps: where she is read.
        viewer: who asks.
        vessel_id: which.
        spoken_of: alerts of which somebody says what they found. Those of hers that have ended meanwhile stand among
            her alerts as cleared: an alert that ends while its form is filled in is looked into all the same.

    Raises:
        HTTPException: 404 where there is no such vessel, or this viewer may not see her.
    """
    now = vessel_now(deps, viewer, vessel_id)
    stop = stop_at(now, last_visit(deps, vessel_id), deps.now_ms(), deps.zone)
    return replace(stop, alerts=(*stop.alerts, *_ended(deps, stop, spoken_of)))


def _ended(deps: Deps, stop: Stop, spoken_of: Iterable[str]) -> Iterator[Alert]:
    still = {alert.id for alert in stop.alerts}
    for key in list(dict.fromkeys(key for key in spoken_of if key not in still))[:MOST_SPOKEN_OF]:
        alert = deps.alerts.alert(key)
        if alert is not None and alert.vessel == stop.vessel.id:
            yield replace(alert, returned_ms=alert.ended_ms if alert.returned_ms is None else alert.returned_ms)


def last_visit(deps: Deps, vessel_id: str) -> VisitReport | None:
    """Give the last visit that somebody wrote down."""
    return next(iter(deps.visits.visits(vessel_id, limit=1)), None)


async def take(deps: Deps, viewer: Viewer, vessel_id: str, made: VisitIn) -> Taken:
    """Hand a visit in, and wait until it is committed. Sent again, by a double tap or for want of an answer, it is one.

    Raises:
        HTTPException: 404 where there is no such vessel, or this viewer may not see her.
        ProblemError: where there are mistakes in it, all of them; or where the watch refused it, in its words.
    """
    # One after the other: of two sent at once, the second finds the first in the journal.
    async with _turns.of(vessel_id):
        stop = await run_in_threadpool(stop_of, deps, viewer, vessel_id, [seen.alert for seen in made.alerts])
        newest = await run_in_threadpool(deps.readings.newest, vessel_id)
        name, unclear = await run_in_threadpool(_name, deps, viewer, made, vessel_id)
        report = VisitReport(vessel_id, deps.now_ms(), name, _note(made, stop, newest))
        lately = await run_in_threadpool(deps.visits.visits, vessel_id, LATELY)
        before = next((visit for visit in lately if _is_same(visit, report)), None)
        if before is not None:
            # Before any look for mistakes: what it closed the first time is no open alert of hers any more.
            waiting = await run_in_threadpool(_not_confirmed, deps, before)
            return Taken(before, stop.vessel, await _confirm(deps, before, waiting))
        mistakes = [*unclear, *mistakes_in(made, stop, YardClock(deps.zone, deps.now_ms()))]
        if mistakes:
            raise ProblemError(422, f"{len(mistakes)} mistake{'s' * (len(mistakes) != 1)} in the visit.", mistakes)
        await hand_in(deps, report)
        return Taken(report, stop.vessel, await _confirm(deps, report, _still_open(stop, report)))


def _name(deps: Deps, viewer: Viewer, made: VisitIn, vessel_id: str) -> tuple[str, list[Mistake]]:
    """Give the name of whoever was aboard, and what is wrong with how they wrote it."""
    try:
        return name_of(deps, viewer, made.name, vessel_id), []
    except ProblemError as error:
        return made.name, list(error.mistakes or [])


async def _confirm(deps: Deps, report: VisitReport, alerts: Iterable[str]) -> tuple[tuple[str, str], ...]:
    """Hand in what a visit says of alerts, and give what was refused of it: alert and reason."""
    refused = []
    visit = report.visit
    for alert in alerts:
        nothing_wrong = alert in visit.nothing_wrong
        try:
            await hand_in(deps, Confirm(report.vessel, alert, report.at_ms, report.actor, visit.note, nothing_wrong))
        except ProblemError as error:
            # The visit stands: what is refused of it is said, and the alert stays as it is.
            now = await run_in_threadpool(deps.alerts.alert, alert)
            if now is not None and not now.is_open:
                continue  # it ended in this moment, and the visit has what was said of it
            refused.append((alert, error.detail))
    return tuple(refused)


def _still_open(stop: Stop, report: VisitReport) -> list[str]:
    """Give the alerts of a visit that can be confirmed: of those that have ended it is the visit that tells."""
    still = {alert.id for alert in stop.alerts if alert.is_open}
    return [alert for alert in report.visit.confirmed if alert in still]


def _not_confirmed(deps: Deps, report: VisitReport) -> list[str]:
    """Give the alerts of a visit that are open still and not confirmed by it: its answer was lost between."""
    found = [a for name in report.visit.confirmed if (a := deps.alerts.alert(name)) is not None and a.is_open]
    since_ms = report.at_ms - SAME_WITHIN_MS
    return [a.id for a in found if a.confirmed_by != report.actor or (a.confirmed_ms or 0) < since_ms]


def _note(made: VisitIn, stop: Stop, newest: dict[str, Newest]) -> VisitNote:
    sensors = {(t.what, t.subject): t.sensor for t in stop.all_takings}
    return VisitNote(
        found=made.found,
        checked=tuple(made.checked),
        readings=tuple(_beside(r, sensors.get((r.what, r.subject)), newest) for r in made.readings),
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
    """Say whether a report is one sent again: all that a person wrote is the same."""

    def written(r: VisitReport) -> object:
        v = r.visit
        readings = [(x.what, x.subject, x.value) for x in v.readings]
        return r.actor, v.found, v.checked, readings, v.note, v.confirmed, v.nothing_wrong

    return 0 <= report.at_ms - before.at_ms <= SAME_WITHIN_MS and written(before) == written(report)
