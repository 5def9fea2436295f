"""Counted events against scipy's own binomial law."""

import pytest
from scipy.stats import binom

from monitor.science.counts import chance_of_as_many


@pytest.mark.parametrize(("recent", "earlier"), [(1, 0), (6, 0), (12, 14), (20, 60), (3, 40), (200, 900)])
@pytest.mark.parametrize(("recent_time", "earlier_time"), [(2.0, 14.0), (2.0, 3.0)])
def test_the_chance_of_as_many_is_that_of_scipy(
    recent: int, earlier: int, recent_time: float, earlier_time: float
) -> None:
    theirs = binom.sf(recent - 1, recent + earlier, recent_time / (recent_time + earlier_time))
    assert chance_of_as_many(recent, recent_time, earlier, earlier_time) == pytest.approx(theirs, rel=1e-9, abs=1e-300)


def test_many_events_go_by_the_normal_law_to_a_few_per_cent() -> None:
    theirs = binom.sf(319, 2500, 0.125)
    assert chance_of_as_many(320, 2.0, 2180, 14.0) == pytest.approx(theirs, rel=0.05)
