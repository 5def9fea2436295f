"""Short breaks are bridged, and nothing that stood high is lost by it."""

import pytest

from monitor.cli.spells import Level, bridged, levels_of


def drawn(levels: list[Level], to: int) -> str:
    return "".join(str(next((x.level for x in levels if x.from_ms <= t < x.to_ms), 0)) for t in range(to))


def changes(levels: str) -> list[tuple[int, int]]:
    return [(t, int(level)) for t, level in enumerate(levels)]


@pytest.mark.parametrize(
    ("stood", "shown"),
    [
        ("0011011000", "0011111000"),  # one break, shorter than two
        ("0011001000", "0011001000"),  # as long as two: it stays
        ("0002010200", "0002111200"),  # a dip to the lower of its two sides, and what is left is no short one
        ("0003132000", "0003332000"),  # filled on one side only, which makes it one with what stood before
        ("0001310000", "0001310000"),  # a peak, however short, stays
    ],
)
def test_dips_shorter_than_two_are_filled(stood: str, shown: str) -> None:
    assert drawn(bridged(levels_of(changes(stood), 10), 2), 10) == shown


def test_the_breaks_that_were_filled_are_counted() -> None:
    (_, spell, _) = bridged(levels_of(changes("0101010000"), 10), 2)
    assert (spell.from_ms, spell.to_ms, spell.level, spell.breaks) == (1, 6, 1, 2)


def test_of_changes_at_one_time_the_last_one_counts() -> None:
    assert levels_of([(1, 1), (3, 2), (3, 1), (5, 0)], 9) == [Level(1, 5, 1), Level(5, 9, 0)]
