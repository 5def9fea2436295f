"""Lines break where nothing was heard, and the gap is hatched."""

from drawing import HOUR_MS, T0, panel, points

from monitor.charts.gaps import gaps, hatching, pieces
from monitor.charts.panel import Point, Series
from monitor.model.scale import Flag


def hours(spans: list[tuple[int, int]]) -> list[tuple[float, float]]:
    return [((a - T0) / HOUR_MS, (b - T0) / HOUR_MS) for a, b in spans]


def test_a_line_goes_over_a_missed_hour_and_breaks_over_a_longer_gap() -> None:
    line = Series("s", points([1, 2, None, 3, None, None, None, 4, 5]), 3 * HOUR_MS)
    assert [[p.value for p in piece] for piece in pieces(line)] == [[1, 2, 3], [4, 5]]


def test_a_line_breaks_where_nothing_can_be_believed() -> None:
    failed = Point(T0 + HOUR_MS, None, None, None, Flag.FAIL)
    line = Series("s", [*points([1]), failed, *points([None, None, 3])], 3 * HOUR_MS)
    assert [len(piece) for piece in pieces(line)] == [1, 1]


def test_a_gap_is_where_no_line_has_anything() -> None:
    first = points([1] * 6 + [None] * 10 + [1] * 9)
    second = points([2] * 10 + [None] * 6 + [2] * 9)
    assert hours(gaps(panel(first, second))) == [(9, 16)]


def test_the_time_before_the_first_and_after_the_last_reading_is_a_gap() -> None:
    line = points([None] * 8 + [1] * 4)
    assert hours(gaps(panel(line))) == [(0, 8), (11, 24)]


def test_an_empty_panel_is_all_gap() -> None:
    assert hours(gaps(panel([]))) == [(0, 24)]


def test_hatching_stays_inside_its_gap_and_within_the_axis() -> None:
    strokes = hatching([(10.0, 20.0), (50.0, 50.5)], 100.0, -5.0, 5.0)
    assert strokes
    for x, y, x2, y2 in strokes:
        assert any(a - 1e-9 <= x < x2 <= b + 1e-9 for a, b in ((10.0, 20.0), (50.0, 50.5)))
        assert -5.0 - 1e-9 <= y <= y2 <= 5.0 + 1e-9


def test_hatching_of_the_whole_axis_is_bounded() -> None:
    assert len(hatching([(0.0, 100.0)], 100.0, 0.0, 1.0)) < 130
