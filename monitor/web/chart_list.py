"""What stands on a chart's time axis as a list: for who cannot point at it, with links to all of it."""

from dataclasses import dataclass

from monitor.charts.marks import NUMBERS
from monitor.charts.panel import Happening, MarkKind
from monitor.messages.words import title_of
from monitor.model.alert import Alert
from monitor.model.vessel import Vessel
from monitor.model.views import VesselNow
from monitor.web.chart_panels import happenings
from monitor.web.clock import YardClock
from monitor.web.deps import Deps
from monitor.web.round_words import said
from monitor.web.spans import Shown

LISTED = 30


@dataclass(frozen=True, slots=True)
class Marked:
    """One mark: what stands in it, its time, its words, and its page; empty where it has none."""

    at_ms: int
    sign: str
    words: str
    link: str = ""


@dataclass(frozen=True, slots=True)
class MarkedList:
    """The newest marks of a span, newest first, and how many are left out."""

    lines: tuple[Marked, ...]
    more: int


def marked(deps: Deps, now: VesselNow, shown: Shown, clock: YardClock) -> MarkedList:
    """Give what stands on the time axis of a vessel's charts."""
    record = now.stored.vessel
    found = {v.at_ms: said("found_past", v.visit.found.value) for v in deps.visits.visits(record.id)}
    done = [_done(record.id, one, found.get(one.at_ms, "")) for one in happenings(deps, now, shown)]
    alerts = deps.alerts.alerts_between(record.id, shown.from_ms, shown.to_ms)
    opened = [alert for alert in alerts if shown.from_ms <= alert.opened_ms <= shown.to_ms]
    # Only what is listed is put into words.
    every: list[Marked | Alert] = [*done, *opened]
    newest = sorted(every, key=lambda one: one.at_ms if isinstance(one, Marked) else one.opened_ms)
    listed = [one if isinstance(one, Marked) else _opened(one, record, clock) for one in reversed(newest[-LISTED:])]
    return MarkedList(tuple(listed), max(len(newest) - LISTED, 0))


def _done(vessel: str, one: Happening, found: str) -> Marked:
    words = f"{one.words[:1].upper()}{one.words[1:]}"
    if one.kind is not MarkKind.VISIT:
        return Marked(one.at_ms, one.kind.value, words)
    return Marked(one.at_ms, one.kind.value, f"{words}: {found}", f"/vessels/{vessel}/visits/{one.at_ms}")


def _opened(alert: Alert, record: Vessel, clock: YardClock) -> Marked:
    title = title_of(alert.finding, record, clock.zone, clock.now_ms)
    return Marked(alert.opened_ms, NUMBERS[alert.highest], title, f"/alerts/{alert.id}")
