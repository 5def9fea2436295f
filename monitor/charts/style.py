"""How every chart is dressed: quiet axes, text of 13 px, nothing for assistive technology that the sentences say."""

from typing import Any

from monitor.charts.palette import Palette


def style(palette: Palette, font: str) -> dict[str, Any]:
    """Give the configuration of a chart in these inks and this font family."""
    quiet = {"aria": False}
    return {
        "font": font,
        "view": {"stroke": None, "cursor": "default"},
        "aria": False,
        "mark": quiet,
        "axis": {
            "aria": False,
            "labelColor": palette.muted,
            "titleColor": palette.muted,
            "gridColor": palette.grid,
            "domainColor": palette.muted,
            "tickColor": palette.muted,
            "labelFontSize": 13,
            "titleFontSize": 13,
            "titleFontWeight": "normal",
            "titleAngle": 0,
            "titleAlign": "left",
            "titleAnchor": "end",
            "titleBaseline": "bottom",
            "titleX": -34,
            "titleY": -6,
        },
        "axisX": {"grid": False},
        "axisY": {"domain": False, "ticks": False, "minExtent": 44, "maxExtent": 44},
        "legend": {"aria": False, "labelColor": palette.ink, "labelFontSize": 13, "symbolSize": 400},
        "text": {"fontSize": 13},
    }
