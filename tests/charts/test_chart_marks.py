"""Alert marks are pushed apart, and stay on the axis."""

from itertools import pairwise

from drawing import HOUR_MS, T0, panel, points
from hypothesis import given
from hypothesis import strategies as st

from monitor.charts import LIGHT, specification
from monitor.charts.marks import pushed_apart
from monitor.charts.panel import AlertMark
from monitor.model.scale import Priority


@given(st.lists(st.floats(0, 100), max_size=20))
def test_marks_keep_their_distance_and_their_order(places: list[float]) -> None:
    moved = pushed_apart(places, 4.0, 0.0, 100.0)
    assert moved == sorted(moved)
    assert all(0.0 <= p <= 100.0 for p in moved)
    assert all(b - a >= 4.0 - 1e-9 for a, b in pairwise(moved))


def test_marks_with_room_stay_where_they_are() -> None:
    assert pushed_apart([10.0, 50.0, 90.0], 5.0, 0.0, 100.0) == [10.0, 50.0, 90.0]


def test_a_mark_has_its_number_and_a_leader_to_its_true_time() -> None:
    marks = [
        AlertMark(T0 + 5 * HOUR_MS, Priority.ALARM, "frost"),
        AlertMark(T0 + 5 * HOUR_MS, Priority.CAUTION, "damp"),
    ]
    layers = specification(panel(points([1.0] * 24), marks=marks), LIGHT)["layer"]
    texts = [layer["mark"]["text"] for layer in layers if layer["mark"].get("text") in {"1", "2", "3"}]
    assert sorted(texts) == ["1", "3"]
    leaders = next(layer["data"]["values"] for layer in layers if layer["encoding"].get("x2", {}).get("field") == "t")
    assert [row["t"] for row in leaders] == [T0 + 5 * HOUR_MS] * 2
    assert leaders[0]["p"] < leaders[1]["p"]
