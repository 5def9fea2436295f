"""A winter's charts as pictures: those of the pages, drawn for paper."""

from collections.abc import Sequence
from zoneinfo import ZoneInfo

import vl_convert

from monitor.charts import LIGHT, VEGA_LITE, Panel, panels, specification
from monitor.charts.beside import Beside
from monitor.charts.panel import Happening, MarkKind
from monitor.charts.small_png import small_png
from monitor.model.inputs import VisitReport
from monitor.model.vessel import Vessel
from monitor.model.views import AlertView, ReadingView

MOST_BUCKETS = 720
"""As the pages have it."""
WIDTH_PX = 700
SCALE = 2.0
FONT = "sans-serif"
ALERTS_AT_MOST = 200
ONE_ROW = 4
"""So many names of lines stand beside each other on paper."""


def charts_of(
    record: Vessel,
    readings: ReadingView,
    alerts: AlertView,
    visits: Sequence[VisitReport],
    from_ms: int,
    to_ms: int,
    zone: ZoneInfo,
) -> list[Panel]:
    """Lay the charts of a span out that have anything in them."""
    heard = readings.newest(record.id).items()
    last = {sensor: (n.event_ms, n.value) for sensor, n in heard if from_ms <= n.event_ms <= to_ms}
    aboard = [Happening(v.at_ms, MarkKind.VISIT, f"visit by {v.actor}") for v in visits if from_ms <= v.at_ms <= to_ms]
    made = panels(
        record,
        lambda sensor: readings.buckets(record.id, sensor, from_ms, to_ms, MOST_BUCKETS),
        alerts.alerts_between(record.id, from_ms, to_ms, ALERTS_AT_MOST),
        from_ms,
        to_ms,
        zone,
        last,
        Beside(now_ms=to_ms + 1, happenings=aboard),
    )
    return [panel for panel in made if not panel.is_empty]


def drawn(panel: Panel) -> bytes:
    """Draw a chart as PNG."""
    columns = 0 if len(panel.series) <= ONE_ROW else ONE_ROW
    spec = specification(panel, LIGHT, width=WIDTH_PX, font=FONT, columns=columns)
    return small_png(bytes(vl_convert.vegalite_to_png(spec, vl_version=VEGA_LITE, allowed_base_urls=[], scale=SCALE)))
