"""The tide: its periods are the published ones, and a boat leans only where she takes the ground."""

from itertools import pairwise

import pytest

from simulator.tide import DryingBerth, Tide

MINUTE_MS = 60_000
DAY_MS = 86_400_000


def _high_waters(tide: Tide, days: int) -> list[int]:
    heights = [(at, tide.height_m(at)) for at in range(0, days * DAY_MS, MINUTE_MS)]
    return [
        at for (_, a), (at, b), (_, c) in zip(heights, heights[1:], heights[2:], strict=False) if a < b >= c and b != a
    ]


def test_lunar_high_waters_come_every_12_4206_hours() -> None:
    found = _high_waters(Tide(3, 2, 0), 30)
    # 12.4206 h: International Hydrographic Organization and NOAA, tables of constituents.
    assert (found[-1] - found[0]) / (len(found) - 1) / 3_600_000 == pytest.approx(12.4206, abs=0.001)


def test_solar_high_waters_come_at_the_same_time_every_day() -> None:
    found = _high_waters(Tide(3, 0, 2), 10)
    assert all(later - sooner == DAY_MS // 2 for sooner, later in pairwise(found))


def test_springs_come_every_14_77_days() -> None:
    tide = Tide(3, 2, 0.7)
    ranges = [max(tide.height_m(day * DAY_MS + h * 600_000) for h in range(150)) for day in range(60)]
    springs = [day for day in range(1, 59) if ranges[day - 1] < ranges[day] >= ranges[day + 1]]
    # 360 / (30 - 28.984104) hours between them: the beat of the two constituents, Msf, 14.77 days.
    assert (springs[-1] - springs[0]) / (len(springs) - 1) == pytest.approx(14.77, abs=0.5)


def test_afloat_nothing_shifts_and_aground_the_water_falls_away_and_she_leans() -> None:
    tide = Tide(2.0, 1.5, 0.0)
    berth = DryingBerth(tide, floats_at_m=1.2, leans_m=0.05, leans_over_m=0.4)
    high, low = 0, round(12.4206 / 2 * 3_600_000)
    assert (berth.waterline_shift_m(high), berth.tilt_m(high)) == (0, 0)
    assert berth.waterline_shift_m(low) == pytest.approx(0.5 - 1.2, abs=1e-4)
    assert berth.tilt_m(low) == pytest.approx(0.05)
    leaning = [berth.tilt_m(at) for at in range(high, low, 600_000)]
    assert leaning == sorted(leaning)
    assert 0 < leaning[-6] <= 0.05
