"""What is foretold is a band into the time to come; what people did and what was put aside stand on the axis."""

from dataclasses import replace
from typing import Any

import pytest
import vl_convert
from drawing import HOUR_MS, T0, ZONE, panel, points

from monitor.charts import DARK, LIGHT, Palette, Panel, specification
from monitor.charts.foretold import foretold_band
from monitor.charts.gaps import gaps
from monitor.charts.panel import AlertMark, Happening, LimitLine, MarkKind
from monitor.charts.sentences import sentences
from monitor.charts.specification import y_domain
from monitor.charts.walltime import wall_ms
from monitor.model.scale import Priority
from monitor.model.surroundings import Forecast
from monitor.rules.frost_limits import LIMITS

NOW = T0 + 24 * HOUR_MS
FORECAST = Forecast.of(NOW - 3 * HOUR_MS, [(NOW + h * HOUR_MS - HOUR_MS // 2, -2.0 - h) for h in range(-3, 60)])
KEEL = LimitLine("protected to −8.0 °C: engine", -8.0, frozenset({"line 0"}), told_after_ms=20 * 60_000)  # noqa: RUF001


def foretold(hours: int = 48) -> Panel:
    """Give a panel of a day heard and a day to come."""
    made = panel(points([1.0] * 25), limits=[KEEL], hours=hours)
    band = foretold_band(FORECAST, NOW, made.to_ms)
    assert band is not None
    return replace(made, now_ms=NOW, foretold=(band,))


def marks_of(layers: list[dict[str, Any]], kind: str) -> list[dict[str, Any]]:
    return [layer["mark"] for layer in layers if layer["mark"]["type"] == kind]


def test_it_goes_from_now_to_the_end_of_the_axis_and_lies_between_the_hours_of_the_forecast() -> None:
    band = foretold_band(FORECAST, NOW, NOW + 6 * HOUR_MS)
    assert band is not None
    assert (band.points[0].at_ms, band.points[-1].at_ms) == (NOW, NOW + 6 * HOUR_MS)
    assert band.points[0].value == pytest.approx(-2.5)  # half way between -2.0 and -3.0
    assert len(band.points) == 8


def test_it_is_as_far_off_as_the_frost_rule_takes_it_to_be_and_more_each_day() -> None:
    band = foretold_band(FORECAST, NOW, NOW + 48 * HOUR_MS)
    assert band is not None
    first, last = band.points[0], band.points[-1]
    assert first.low is not None
    assert last.low is not None
    assert first.value is not None
    assert last.value is not None
    assert first.value - first.low == pytest.approx(LIMITS["forecast_error"] + LIMITS["forecast_error_grows"] * 3 / 24)
    grown = LIMITS["forecast_error"] + LIMITS["forecast_error_grows"] * 51 / 24
    assert last.value - last.low == pytest.approx(grown)


def test_a_forecast_that_has_run_out_foretells_nothing() -> None:
    assert foretold_band(FORECAST, NOW + 90 * HOUR_MS, NOW + 100 * HOUR_MS) is None


def test_the_value_axis_holds_it() -> None:
    low, _ = y_domain(foretold())
    assert low < -2.0 - 24 - LIMITS["forecast_error"]


def test_what_is_still_to_come_is_no_gap() -> None:
    assert gaps(foretold()) == []
    assert gaps(replace(foretold(), now_ms=None, foretold=())) == [(NOW, T0 + 48 * HOUR_MS)]


@pytest.mark.parametrize("palette", [LIGHT, DARK])
def test_it_is_told_apart_by_stripes_and_dots_and_by_its_name(palette: Palette) -> None:
    made = specification(foretold(), palette, width=700, font="sans-serif")
    band = [layer for layer in made["layer"] if any("lo" in row for row in layer["data"]["values"])]
    stripes = [layer for layer in band if layer["mark"]["type"] == "rule"]
    assert len(stripes[0]["data"]["values"]) > 20
    assert any(mark.get("strokeDash") == [1, 3] for mark in marks_of(made["layer"], "line"))
    svg = vl_convert.vegalite_to_svg(made, vl_version="6.4")
    assert "now, then foretold" in svg
    assert "NaN" not in svg


def test_a_narrow_place_has_the_short_name() -> None:
    names = {
        mark["text"]
        for mark in marks_of(specification(foretold(), LIGHT, columns=2)["layer"], "text")
        if "text" in mark
    }
    assert "now" in names
    assert "now, then foretold" not in names


def test_the_sentence_says_until_when_how_cold_and_how_old() -> None:
    said = " ".join(sentences(foretold()))
    assert "Outside air foretold until 00:00 on 11 Dec: −28." in said  # noqa: RUF001
    assert "coldest about 00:00 on 11 Dec (forecast of 21:00 on 9 Dec)." in said


def test_a_past_axis_has_neither_now_nor_band() -> None:
    past = replace(panel(points([1.0] * 25)), now_ms=NOW + 5 * HOUR_MS)
    texts = [mark.get("text") for mark in marks_of(specification(past, LIGHT)["layer"], "text")]
    assert "now" not in texts


@pytest.mark.parametrize(
    ("values", "told", "expected"),
    [
        ([1.0] * 24 + [-9.0], False, "line 0 has been below it since 00:00: told if it lasts 20 minutes."),
        ([1.0] * 24 + [-9.0], True, "line 0 has been below it since 00:00."),
        ([1.0] * 23 + [-9.0, -9.0], False, "line 0 has been below it since 23:00 on 9 Dec."),
        ([1.0] * 10 + [-9.0] + [1.0] * 14, False, "line 0 went below it."),
    ],
)
def test_a_limit_that_is_passed_now_says_since_when_and_what_is_waited_for(
    values: list[float], told: bool, expected: str
) -> None:
    made = replace(panel(points(values), limits=[KEEL]), now_ms=NOW, told=told)
    assert sentences(made)[1] == f"Protected to −8.0 °C: engine; {expected}"  # noqa: RUF001


def test_what_people_did_is_marked_with_its_letter_and_alerts_have_the_room_first() -> None:
    done = [Happening(T0 + n * HOUR_MS // 4, MarkKind.RECORD, "record") for n in range(60)]
    done += [Happening(T0 + HOUR_MS, MarkKind.VISIT, "visit by A"), Happening(T0 + HOUR_MS, MarkKind.MOVE, "brought")]
    made = replace(panel(points([1.0] * 25), marks=[AlertMark(T0, Priority.ALARM, "x")]), happenings=done)
    layers = specification(made, LIGHT)["layer"]
    counted = {
        layer["mark"]["text"]: len(layer["data"]["values"])
        for layer in layers
        if layer["mark"]["type"] == "text" and layer["mark"].get("text") in {"1", "V", "M", "R"}
    }
    assert (counted["1"], counted["V"], counted["M"]) == (1, 1, 1)
    assert 30 < sum(counted.values()) < 40
    shapes = {layer["mark"]["shape"] for layer in layers if layer["mark"].get("size") == 230}
    assert len(shapes) == 4


def test_what_was_put_aside_is_a_barred_strip_within_the_axis() -> None:
    made = replace(panel(points([1.0] * 25)), aside=[(T0 - HOUR_MS, T0 + 12 * HOUR_MS)])
    layers = specification(made, LIGHT)["layer"]
    strip = next(layer for layer in layers if layer["mark"].get("strokeDash") == [2, 2])
    assert strip["data"]["values"] == [{"x": wall_ms(T0, ZONE), "x2": wall_ms(T0 + 12 * HOUR_MS, ZONE)}]
    assert "put aside" in [mark.get("text") for mark in marks_of(layers, "text")]
