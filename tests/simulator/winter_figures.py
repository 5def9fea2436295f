"""The figures of a winter that a made-up one must have like a real one, and how far one real winter settles them."""

from collections.abc import Sequence
from itertools import groupby, pairwise
from random import Random
from statistics import fmean, pstdev

from simulator.weather import Hour

DAY_H = 24
# A freezing spell is six hours and more below zero: less does not cool a boat.
SPELL_H = 6


def _lag(values: Sequence[float], by: int) -> float:
    mean, spread = fmean(values), pstdev(values)
    return fmean((a - mean) * (b - mean) for a, b in zip(values, values[by:], strict=False)) / spread**2


def figures(hours: Sequence[Hour]) -> dict[str, float]:
    degc = [h.outside_degc for h in hours]
    days = [degc[n : n + DAY_H] for n in range(0, len(degc) - DAY_H + 1, DAY_H)]
    means, ranges = [fmean(d) for d in days], [max(d) - min(d) for d in days]
    frosts = [n for n in (len(list(run)) for below, run in groupby(t < 0 for t in degc) if below) if n >= SPELL_H]
    dry = [h.outside_degc - h.dew_point_degc for h in hours]
    wind = sorted(h.wind_m_s for h in hours)
    wet = [h.rain_mm > 0 for h in hours]
    return {
        "mean_degc": fmean(degc),
        "spread_k": pstdev(degc),
        "coldest_degc": min(degc),
        "frost_h": sum(t < 0 for t in degc),
        "spells": len(frosts),
        "spell_h": fmean(frosts) if frosts else 0.0,
        # By half a kelvin: records are rounded to a degree, and many an hour to 0.
        "days_across_zero": sum(min(d) < -0.5 and max(d) > 0.5 for d in days),
        "memory_1_day": _lag(means, 1),
        "memory_3_days": _lag(means, 3),
        "days_spread_k": pstdev(means),
        "daily_range_k": fmean(ranges),
        "depression_k": fmean(dry),
        "depression_spread_k": pstdev(dry),
        "wind_m_s": fmean(wind),
        "wind_spread_m_s": pstdev(wind),
        "gale_m_s": wind[int(0.99 * len(wind))],
        "wet_h": sum(wet),
        "rain_mm": sum(h.rain_mm for h in hours),
        "wet_after_wet": fmean([b for a, b in pairwise(wet) if a] or [0]),
        "sun_w_m2": fmean(h.sun_w_m2 for h in hours),
    }


def settled_to(hours: Sequence[Hour], resamples: int = 60) -> dict[str, float]:
    """Say how far a real winter settles each figure of its climate: a standard deviation, from the winter itself.

    A moving-block bootstrap (Künsch, Annals of Statistics 17, 1989): winters put together from ten-day blocks of the
    real one, each moved by up to 20 days, so that the season stays. It tells nothing of how whole winters differ, and
    so is rather too strict than too loose.
    """
    random, block, near = Random(1), 10 * DAY_H, 20 * DAY_H
    drawn = []
    for _ in range(resamples):
        made: list[Hour] = []
        for begins in range(0, len(hours), block):
            last = len(hours) - block
            at = random.randrange(max(begins - near, 0) // DAY_H, min(begins + near, last) // DAY_H + 1) * DAY_H
            made.extend(hours[at : at + block])
        drawn.append(figures(made[: len(hours)]))
    return {name: pstdev(d[name] for d in drawn) for name in drawn[0]}
