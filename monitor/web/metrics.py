"""``/metrics`` in OpenMetrics for whoever watches the watch, and ``/healthz`` for whoever restarts it."""

from collections.abc import Iterator

from fastapi import APIRouter, Request
from fastapi.responses import JSONResponse, Response
from prometheus_client import CollectorRegistry
from prometheus_client.core import CounterMetricFamily, GaugeMetricFamily, Metric
from prometheus_client.openmetrics.exposition import CONTENT_TYPE_LATEST, generate_latest
from prometheus_client.registry import Collector

from monitor.model.scale import Priority
from monitor.web import sight
from monitor.web.clock import YardClock
from monitor.web.deps import Deps
from monitor.web.sight import Asking
from monitor.web.troubles import troubles

router = APIRouter()


class YardMetrics(Collector):
    """Reads the figures when they are asked for; nothing is counted twice."""

    def __init__(self, deps: Deps) -> None:
        self.deps = deps

    def collect(self) -> Iterator[Metric]:
        """Give every figure."""
        deps = self.deps
        yield CounterMetricFamily("coldberth_readings_stored", "Readings in the journal.", deps.intake.stored())
        rejects = CounterMetricFamily("coldberth_rejects", "Messages that could not be used.", labels=["reason"])
        by_reason: dict[str, int] = {}
        for line in deps.intake.rejects():
            by_reason[line.reason] = by_reason.get(line.reason, 0) + line.count
        for reason, count in sorted(by_reason.items()):
            rejects.add_metric([reason], count)
        yield rejects
        counted = CounterMetricFamily("coldberth_intake", "Duplicates, conflicts and the like.", labels=["what"])
        for name, count in sorted(deps.intake.tally().items()):
            counted.add_metric([name], count)
        yield counted
        alerts = deps.alerts.alerts(open_only=True, limit=1_000_000)
        opened = GaugeMetricFamily("coldberth_open_alerts", "Alerts that are open.", labels=["priority"])
        for priority in Priority:
            opened.add_metric([priority.word], sum(a.priority is priority for a in alerts))
        yield opened
        health = deps.health()
        yield GaugeMetricFamily("coldberth_connected", "1 while connected to the broker.", float(health.connected))
        yield GaugeMetricFamily("coldberth_caught_up", "1 when the backlog has been heard.", float(health.caught_up))
        if health.last_commit_ms is not None:
            age_s = max(health.wall_ms - health.last_commit_ms, 0) / 1000
            yield GaugeMetricFamily("coldberth_last_commit_age_seconds", "Time since the last commit.", age_s)


@router.get("/metrics")
def metrics(request: Request) -> Response:
    """Give the figures."""
    registry = CollectorRegistry()
    registry.register(YardMetrics(request.app.state.deps))
    return Response(_text(registry), media_type=CONTENT_TYPE_LATEST)


@router.get("/healthz")
def healthz(request: Request, viewer: Asking) -> JSONResponse:
    """Say whether the watch runs as it should; to those who may see the yard also what is wrong."""
    deps: Deps = request.app.state.deps
    health = deps.health()
    found = troubles(health, YardClock(deps.zone, deps.now_ms()))
    told: dict[str, object] = {"ok": not found}
    if sight.may_see(viewer, None):
        told |= {"reasons": found, "delays": list(health.delays)}
    return JSONResponse(told, 503 if found else 200)


def _text(registry: CollectorRegistry) -> bytes:
    return bytes(generate_latest(registry))  # type: ignore[no-untyped-call]  # the package leaves it untyped
