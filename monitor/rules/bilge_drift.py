"""What a bilge's level does by itself as it grows cold and warm: learnt over dry weeks, and taken out of a rise.

level = a + b T over a week without a rise, in which time stands beside temperature, so that neither a drip nor
evaporation is taken for drift. What is learnt week by week is weighed with what makers' data sheets say of any level
sensor; a sensor whose b is known well needs no more room for drift than the error of its b.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt

from monitor.rules.blocks import Block
from monitor.rules.rising import RISING
from monitor.science.trend import Line, LineFit, add_point, line_of

_PRIOR_M_PER_K = RISING["drift"] / 2.0  # the data sheets' worst is taken for two standard errors
_WEEK_MS = RISING.ms("drift_week")
_FEWEST = 40
_ERRORS = 2.0


@dataclass(slots=True)
class Drift:
    """What is known of one level sensor's drift with temperature.

    Attributes:
        weighed: sum of b / error^2 over the weeks, 1/(m/K).
        weight: sum of 1 / error^2 over the weeks, 1/(m/K)^2.
        learnt_ms: end of the last week that it was learnt from.
    """

    weighed: float = 0.0
    weight: float = 0.0
    learnt_ms: float = 0.0

    @property
    def m_per_k(self) -> float:
        """The level's change with temperature, m/K."""
        return self.weighed / (self.weight + _PRIOR_M_PER_K**-2)

    @property
    def error_m_per_k(self) -> float:
        """One standard error of it, m/K."""
        return max(1.0 / sqrt(self.weight + _PRIOR_M_PER_K**-2), RISING["drift_least_error"])


def learn(drift: Drift, levels: Sequence[Block], temperatures: Sequence[Block]) -> None:
    """Learn from the last week, once it is full, new, and warm and cold enough to teach anything.

    Args:
        drift: what is known; updated.
        levels: complete blocks of a time without a rise.
        temperatures: blocks of the bilge's thermometer, of the same length.
    """
    if not levels or not temperatures:
        return
    newest = levels[-1].at_ms
    if newest - levels[0].at_ms < _WEEK_MS or newest - drift.learnt_ms < _WEEK_MS:
        return
    degc = {block.number: block.value for block in temperatures}
    week = [(b.at_ms, degc[b.number], b.value) for b in levels if b.at_ms >= newest - _WEEK_MS and b.number in degc]
    if len(week) < _FEWEST or max(t for _, t, _ in week) - min(t for _, t, _ in week) < RISING["drift_swing"]:
        return
    fitted = _beside_time(week)
    if fitted is None or abs(fitted.slope) > RISING["drift_most"]:
        return
    drift.learnt_ms = newest
    error = max(fitted.slope_error, RISING["drift_least_error"])
    drift.weighed += fitted.slope / error**2
    drift.weight += 1.0 / error**2


def without_drift(
    drift: Drift, levels: Sequence[Block], temperatures: Sequence[Block], swing_unknown_k: float
) -> tuple[Sequence[Block], float]:
    """Take the drift out of a window of levels.

    Args:
        drift: what is known of it.
        levels: the window.
        temperatures: blocks of the same length; where one of the window's is missing nothing is taken out.
        swing_unknown_k: how far temperature may have moved in the window where no thermometer is near.

    Returns:
        The window, and how far it may still have moved by itself, m.
    """
    since = levels[0].number
    degc = {block.number: block.value for block in temperatures if block.number >= since}
    if not degc:
        return levels, _ERRORS * _PRIOR_M_PER_K * swing_unknown_k
    swing = max(degc.values()) - min(degc.values())
    if any(block.number not in degc for block in levels):
        return levels, _ERRORS * _PRIOR_M_PER_K * swing
    slope, at = drift.m_per_k, degc[levels[-1].number]
    taken = [Block(b.number, b.n, b.at_ms, b.value - slope * (degc[b.number] - at)) for b in levels]
    return taken, _ERRORS * drift.error_m_per_k * swing


def _beside_time(week: Sequence[tuple[float, float, float]]) -> Line | None:
    # A line through what time leaves of the level over what time leaves of the temperature gives the same b as fitting
    # both at once (Frisch and Waugh 1933, Econometrica 1).
    start = week[0][0]
    by_level, by_degc = LineFit(), LineFit()
    for at, degc, level in week:
        by_level, by_degc = add_point(by_level, at - start, level), add_point(by_degc, at - start, degc)
    levels, degcs = line_of(by_level), line_of(by_degc)
    if levels is None or degcs is None:
        return None
    left = LineFit()
    for at, degc, level in week:
        left = add_point(left, degc - degcs.at(at - start), level - levels.at(at - start))
    return line_of(left)
