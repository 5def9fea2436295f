"""The calendar of visits due and planned power cuts, as iCalendar (RFC 5545).

An event of a visit keeps its UID for good. Its day moves, and SEQUENCE and LAST-MODIFIED rise with every change, so
that a calendar program moves the event it has. Both follow from what is written down and from no clock: asked twice
with nothing changed between, the feed is the same to the byte.
"""

import re
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from icalendar import Calendar, Event

from monitor.messages.plain import one_line
from monitor.model.inputs import CalendarVersion
from monitor.model.surroundings import PlannedCut
from monitor.model.vessel import Vessel
from monitor.record.visit_due import VisitDue
from monitor.web.round_words import figures, say

PRODID = "-//Coldberth//Visits due//EN"


@dataclass(frozen=True, slots=True)
class DueVisit:
    """A visit that falls due.

    Attributes:
        vessel: her record.
        due: when, and the last visit before it.
        first_ms: when she first came into the journal.
        changed_ms: when something was last written down that could move the day; it never goes back.
        address: of the form.
    """

    vessel: Vessel
    due: VisitDue
    first_ms: int
    changed_ms: int
    address: str


def calendar_of(yard_name: str, zone: ZoneInfo, visits: list[DueVisit], yard: CalendarVersion | None) -> bytes:
    """Give the whole calendar, lines folded and ended as RFC 5545 wants them."""
    made = Calendar()
    made.add("prodid", PRODID)
    made.add("version", "2.0")
    made.add("x-wr-calname", say("calendar", "name", yard=one_line(yard_name)))
    for visit in visits:
        made.add_component(_visit(visit))
    if yard is not None:
        for event in _cuts(yard, zone, _slug(yard_name)):
            made.add_component(event)
    made.add_missing_timezones()
    return bytes(made.to_ical())


def _visit(visit: DueVisit) -> Event:
    vessel, due = visit.vessel, visit.due
    due_on, last = figures().date(due.on.isoformat()), figures().date(due.last.isoformat())
    event = _event(f"{vessel.id}.visit@{vessel.yard}", visit.changed_ms)
    event.add("sequence", max(visit.changed_ms - visit.first_ms, 0) // 1000)
    event.add("summary", say("calendar", "visit", name=one_line(vessel.name), place=one_line(vessel.place)))
    event.add("description", say("calendar", "visit_why", due=due_on, last=last, visited=due.visited))
    event.add("location", one_line(vessel.place))
    event.add("dtstart", due.on)
    event.add("transp", "TRANSPARENT")
    event.add("url", visit.address)
    return event


def _cuts(yard: CalendarVersion, zone: ZoneInfo, slug: str) -> list[Event]:
    """Give the times without power. A cut has no name but its times: one that is moved is another event."""
    found = [_cut(cut, yard.at_ms, slug) for cut in yard.calendar.planned_cuts]
    if yard.calendar.power_off is not None:
        off, on = yard.calendar.power_off
        known = datetime.fromtimestamp(yard.at_ms / 1000, zone).date()
        ends = known if off < on else known + timedelta(days=1)
        event = _cut_event(f"power-off.{off:%H%M}-{on:%H%M}@{slug}", yard.at_ms)
        event.add("dtstart", _local(known, off, zone))
        event.add("dtend", _local(ends, on, zone))
        event.add("rrule", {"freq": "daily"})
        found.append(event)
    return found


def _cut(cut: PlannedCut, known_ms: int, slug: str) -> Event:
    begins, ends = cut.begins.astimezone(UTC), cut.ends.astimezone(UTC)
    event = _cut_event(f"power-cut.{begins:%Y%m%dT%H%M%SZ}-{ends:%Y%m%dT%H%M%SZ}@{slug}", known_ms)
    event.add("dtstart", begins)
    event.add("dtend", ends)
    return event


def _cut_event(uid: str, known_ms: int) -> Event:
    event = _event(uid, known_ms)
    event.add("sequence", 0)
    event.add("summary", say("calendar", "cut"))
    event.add("description", say("calendar", "cut_why"))
    event.add("transp", "TRANSPARENT")
    return event


def _event(uid: str, changed_ms: int) -> Event:
    changed = datetime.fromtimestamp(changed_ms // 1000, UTC)
    event = Event()
    event.add("uid", uid)
    # Without a METHOD, DTSTAMP is when the event was last revised (RFC 5545, 3.8.7.2), and not when it was asked for.
    event.add("dtstamp", changed)
    event.add("last-modified", changed)
    return event


def _local(day: date, at: time, zone: ZoneInfo) -> datetime:
    return datetime.combine(day, at.replace(tzinfo=None), zone)


def _slug(name: str) -> str:
    """Give a name fit for the right side of a UID.

    >>> _slug("Eiderhythe Yard")
    'eiderhythe-yard'
    """
    return re.sub(r"[^a-z0-9]+", "-", name.casefold()).strip("-") or "yard"
