"""A specification holds everything it shows, and Vega-Lite takes it."""

import json
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest
import vl_convert
from drawing import HOUR_MS, T0, panel, points

from monitor.charts import DARK, LIGHT, Palette, Panel, specification
from monitor.charts.panel import AlertMark, LimitLine
from monitor.charts.specification import y_domain
from monitor.charts.walltime import wall_ms
from monitor.model.scale import Priority

LIMITS = (LimitLine("protected to −12.0 °C: engine", -12.0), LimitLine("protected to −12.5 °C: heads", -12.5))  # noqa: RUF001


def full_panel() -> Panel:
    flags = "." * 3 + "x" + "." * 40
    line = points([1.0, 2.0, 3.0, 2.5, None, None, None, None, None, 4.0, *[5.0] * 15], flags)
    return panel(line, points([0.5] * 25), limits=LIMITS, marks=[AlertMark(T0 + HOUR_MS, Priority.WARNING, "x")])


def test_limits_lie_inside_the_axis() -> None:
    low, high = y_domain(full_panel())
    assert low < -12.5
    assert high > 5.5


def test_an_axis_of_one_value_still_has_a_height() -> None:
    low, high = y_domain(panel([]))
    assert low < high


@pytest.mark.parametrize("palette", [LIGHT, DARK])
def test_vega_lite_draws_it(palette: Palette) -> None:
    made = specification(full_panel(), palette, width=700, font="sans-serif")
    json.dumps(made)
    svg = vl_convert.vegalite_to_svg(made, vl_version="6.4")
    assert "protected to −12.0 °C: engine" in svg  # noqa: RUF001
    assert "NaN" not in svg


def test_a_suspect_reading_is_drawn_with_a_cross() -> None:
    layers = specification(full_panel(), LIGHT)["layer"]
    crosses = [layer for layer in layers if layer["mark"].get("shape") == "cross"]
    assert [row["v"] for layer in crosses for row in layer["data"]["values"]] == [2.5]


def test_the_line_breaks_in_the_data_too() -> None:
    layers = specification(full_panel(), LIGHT)["layer"]
    line = next(layer for layer in layers if layer["mark"]["type"] == "line")
    assert {row["g"] for row in line["data"]["values"]} == {"line 0 0", "line 0 1", "line 1 0"}


def test_a_reading_alone_is_a_dot() -> None:
    layers = specification(panel(points([1.0, None, None, None, None, 2.0, 2.0])), LIGHT)["layer"]
    dots = [layer for layer in layers if layer["mark"].get("filled") and layer["mark"].get("size") == 14]
    assert [len(layer["data"]["values"]) for layer in dots] == [1]


def test_no_layer_is_empty_and_the_words_are_its_description() -> None:
    made = specification(panel(points([1.0] * 24)), LIGHT)
    assert all(layer["data"]["values"] for layer in made["layer"])
    assert made["description"].startswith("Temperatures.")


def test_times_are_the_yards_wall_times() -> None:
    zone = ZoneInfo("America/New_York")
    shown = datetime.fromtimestamp(wall_ms(T0, zone) / 1000, UTC)
    assert (shown.day, shown.hour) == (8, 19)
