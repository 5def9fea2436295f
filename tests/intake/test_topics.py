"""The topic scheme."""

import pytest

from monitor.intake.topics import Address, Kind, Topics

NORTH = Topics("north")


def test_what_is_built_is_taken_apart_again() -> None:
    assert NORTH.parse(NORTH.readings("tern")) == Address(Kind.READINGS, "tern", "readings")
    assert NORTH.parse(NORTH.bare("tern", "block")) == Address(Kind.BARE, "tern", "block")
    assert NORTH.parse(NORTH.clock) == Address(Kind.CLOCK)
    assert NORTH.parse(NORTH.marker) == Address(Kind.MARKER)


def test_our_own_state_is_not_for_us() -> None:
    assert NORTH.parse(NORTH.agent).kind is Kind.NOT_FOR_US
    assert NORTH.parse(NORTH.forecast).kind is Kind.FORECAST


@pytest.mark.parametrize(
    "topic",
    [
        "",
        "layup",
        "layup/north",
        "layup/north/tern",
        "layup/south/tern/readings",
        "layup/north/tern/engine/block",
        "/layup/north/tern/readings",
        "layup/north/agent/other",
        "layup/north/forecast/block",
        "layup/north/clock/block",
    ],
)
def test_other_topics_are_unknown(topic: str) -> None:
    assert NORTH.parse(topic).kind is Kind.UNKNOWN


def test_the_marker_comes_by_the_same_filter_as_readings_and_so_behind_them() -> None:
    assert NORTH.filters == ("layup/north/+/+", "layup/north/forecast")


@pytest.mark.parametrize(
    ("topic_filter", "covered"),
    [
        ("layup/north/+/tele", True),
        ("layup/north/tern/block", True),
        ("layup/north/#", False),
        ("layup/north/tern/#", False),
        ("layup/+/tern/block", False),
        ("layup/south/tern/block", False),
        ("sensors/north/tern/block", False),
    ],
)
def test_a_filter_that_brings_nothing_new_is_known(topic_filter: str, covered: bool) -> None:
    assert NORTH.covers(topic_filter) is covered
