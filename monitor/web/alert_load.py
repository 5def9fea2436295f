"""How many alerts the yard has had to bear, and which of them wear people out."""

from collections.abc import Iterable
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


@dataclass(frozen=True, slots=True)
class Worn:
    """An alert that wears people out, with its boat; how often it came back within a day, where that is why."""

    alert: Alert
    vessel: Vessel
    times: int | None = None


@dataclass(frozen=True, slots=True)
class Load:
    """The alerts of a span that ends now."""

    measured: AlertLoad
    standing: tuple[Worn, ...]
    chattering: tuple[Worn, ...]

    def per_day(self, priority: Priority) -> float:
        """Give how many of a priority opened a day."""
        return self.measured.opened.get(priority, 0) / self.measured.days


def measure(deps: Deps, viewer: Viewer, days: int) -> Load:
    """Measure the days up to now. It is the yard's: whoever may not see the yard as a whole finds nothing here.

    Raises:
        HTTPException: 404 where this viewer may not see it.
    """
    if not sight.may_see(viewer, None):
        raise HTTPException(404)
    to_ms = deps.now_ms()
    found = deps.calls.load(to_ms - days * DAY_MS, to_ms)
    standing = [(alert, None) for alert in found.standing]
    return Load(found, _worn(deps, viewer, standing), _worn(deps, viewer, found.chattering))


def _worn(deps: Deps, viewer: Viewer, alerts: Iterable[tuple[Alert, int | None]]) -> tuple[Worn, ...]:
    worn = []
    for alert, times in alerts:
        stored = deps.records.record(alert.vessel)
        if stored is not None and sight.may_see(viewer, alert.vessel):
            worn.append(Worn(alert, stored.vessel, times))
    return tuple(worn)
