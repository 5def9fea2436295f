"""How many alerts the yard has had to bear, and which of them wear people out."""

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from fastapi import HTTPException

from monitor.model.alert import Alert
from monitor.model.scale import Priority
from monitor.model.vessel import Vessel
from monitor.model.views import AlertLoad
from monitor.web import sight
from monitor.web.deps import Deps
from monitor.web.sight import Viewer
from monitor.web.spans import DAY_MS

SPANS_DAYS = (1, 7, 30, 200)
LONGEST_DAYS = 400
FIRST_ASKED = 500


@dataclass(frozen=True, slots=True)
class Worn:
    """An alert that wears people out, with its boat; how often it came back within a day, where that is why."""

    alert: Alert
    vessel: Vessel
    times: int | None = None


@dataclass(frozen=True, slots=True)
class Load:
    """The alerts of a span that ends now.

    Attributes:
        measured: what the journal counts.
        highest: how many opened, by the highest priority each has reached since.
        standing: those that are open for long.
        chattering: those that come and go.
    """

    measured: AlertLoad
    highest: Mapping[Priority, int]
    standing: tuple[Worn, ...]
    chattering: tuple[Worn, ...]

    def per_day(self, priority: Priority) -> float:
        """Give how many a day opened that have reached a priority and none above it."""
        return self.highest.get(priority, 0) / self.measured.days


def measure(deps: Deps, viewer: Viewer, days: int) -> Load:
    """Measure the days up to now. It is the yard's: whoever may not see the yard as a whole finds nothing here.

    Raises:
        HTTPException: 404 where this viewer may not see it.
    """
    if not sight.may_see(viewer, None):
        raise HTTPException(404)
    to_ms = deps.now_ms()
    from_ms = to_ms - days * DAY_MS
    found = deps.calls.load(from_ms, to_ms)
    standing = [(alert, None) for alert in found.standing]
    highest = Counter(alert.highest for alert in _opened(deps, from_ms, to_ms))
    return Load(found, highest, _worn(deps, viewer, standing), _worn(deps, viewer, found.chattering))


def _opened(deps: Deps, from_ms: int, to_ms: int) -> list[Alert]:
    """Give the alerts that opened in a span. They come newest first: more are asked for until the span is whole."""
    limit = FIRST_ASKED
    while True:
        found = deps.alerts.alerts(open_only=False, limit=limit)
        if len(found) < limit or found[-1].opened_ms < from_ms:
            return [alert for alert in found if from_ms <= alert.opened_ms < to_ms]
        limit *= 8


def _worn(deps: Deps, viewer: Viewer, alerts: Iterable[tuple[Alert, int | None]]) -> tuple[Worn, ...]:
    worn = []
    for alert, times in alerts:
        stored = deps.records.record(alert.vessel)
        if stored is not None and sight.may_see(viewer, alert.vessel):
            worn.append(Worn(alert, stored.vessel, times))
    return tuple(worn)
