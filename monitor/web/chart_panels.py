"""A vessel's charts over a span, with what else stands on their time axis."""

from collections.abc import Iterator
from itertools import pairwise

from monitor.charts import Panel, panels
from monitor.charts.beside import Beside
from monitor.charts.panel import Happening, MarkKind
from monitor.model.alert import Alert, AlertChange
from monitor.model.vessel import Vessel
from monitor.model.views import StoredRecord, VesselNow
from monitor.web.clock import YardClock
from monitor.web.deps import Deps
from monitor.web.spans import Shown

PIXELS = 720
CHARTS_OF = {
    "frost": ("temperatures",),
    "damp": ("humidity", "dew-point"),
    "battery": ("volts",),
    "power": ("volts",),
    "bilge": ("bilge",),
}
"""Which charts show what a rule's alert is about."""
_ASIDE = {AlertChange.SHELVED, AlertChange.SUPPRESSED, AlertChange.OUT_OF_SERVICE}
_OVER = {AlertChange.BACK, AlertChange.ENDED}


def panels_of(deps: Deps, now: VesselNow, shown: Shown, clock: YardClock) -> list[Panel]:
    """Give a vessel's charts over a span; those that were made a moment ago where nothing has changed."""
    record = now.stored.vessel

    def made() -> list[Panel]:
        alerts = deps.alerts.alerts_between(record.id, shown.from_ms, shown.to_ms)
        return panels(
            record,
            lambda sensor: deps.readings.buckets(record.id, sensor, shown.from_ms, shown.to_ms, PIXELS),
            alerts,
            shown.from_ms,
            shown.to_ms,
            clock.zone,
            beside=_beside(deps, now, alerts, shown, clock),
        )

    return deps.panels.panels(record.id, shown.query, clock, deps.changes, made)


def happenings(deps: Deps, now: VesselNow, shown: Shown) -> list[Happening]:
    """Give what people did in a span: visits, new versions of the record, and where she was brought, oldest first."""
    found = [
        Happening(v.at_ms, MarkKind.VISIT, f"visit by {v.actor}")
        for v in deps.visits.visits(now.stored.vessel.id)
        if shown.from_ms <= v.at_ms <= shown.to_ms
    ]
    if now.stored.version > 1:
        # A record of one version, the most usual, is not read again.
        versions = deps.records.versions(now.stored.vessel.id)
        found += [h for h in _versions(versions) if shown.from_ms <= h.at_ms <= shown.to_ms]
    return sorted(found, key=lambda h: h.at_ms)


def _versions(newest_first: list[StoredRecord]) -> Iterator[Happening]:
    for later, earlier in pairwise(newest_first):
        was, lies = _where(earlier.vessel), _where(later.vessel)
        if was == lies:
            yield Happening(later.from_ms, MarkKind.RECORD, f"record, version {later.version}, by {later.actor}")
        else:
            yield Happening(later.from_ms, MarkKind.MOVE, f"brought from {was} to {lies}, by {later.actor}")


def _where(vessel: Vessel) -> str:
    return f"{vessel.place}, {vessel.mode}"


def _beside(deps: Deps, now: VesselNow, alerts: list[Alert], shown: Shown, clock: YardClock) -> Beside:
    return Beside(
        now_ms=clock.now_ms,
        forecast=None if deps.forecasts is None else deps.forecasts.forecast(),
        happenings=happenings(deps, now, shown),
        aside=[span for alert in alerts for span in _aside(deps, alert, clock.now_ms)],
    )


def _aside(deps: Deps, alert: Alert, now_ms: int) -> Iterator[tuple[str, int, int]]:
    """Give when an alert was put aside."""
    since_ms = None
    for event in deps.alerts.events(alert.id):
        if event.change in _ASIDE and since_ms is None:
            since_ms = event.at_ms
        elif event.change in _OVER and since_ms is not None:
            yield alert.rule, since_ms, event.at_ms
            since_ms = None
    if since_ms is not None and alert.state.is_aside:
        yield alert.rule, since_ms, now_ms
