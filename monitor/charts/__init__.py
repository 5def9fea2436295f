"""Chart specifications (Vega-Lite 6) as pure data: figures in, a dictionary out, for page and e-mail alike."""

from monitor.charts.palette import DARK, LIGHT, Palette
from monitor.charts.panel import Panel
from monitor.charts.panels import panels
from monitor.charts.specification import VEGA_LITE, specification

__all__ = ["DARK", "LIGHT", "VEGA_LITE", "Palette", "Panel", "panels", "specification"]
