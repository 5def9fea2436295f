"""Is the water rising? Fast, in minutes and hours; slow, in days; or very slowly, in weeks.

Fast: a straight line through the last hours, and what it has risen at the lower end of its error. Slow: Theil-Sen's
slope and Mann-Kendall's confidence over days or weeks, so that no single bad reading makes or breaks it. All ask for a
rise that the sensor's own drift with temperature cannot make.
"""

from bisect import bisect_left
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import sqrt
from operator import attrgetter

from monitor.rules.blocks import Block
from monitor.rules.rule import DAY_MS, HOUR_MS, Limit, Limits
from monitor.science.trend import LineFit, add_point, line_of, robust_slope

_OURS = "common practice, no source"

RISING = Limits(
    Limit("fast_block", 10.0, "min", "invented", "bounds what is kept of a fast sensor", "-"),
    Limit("fast_span", 12.0, "h", "invented", "past half a day the slow test is the better one", "-"),
    Limit("fast_rise", 0.015, "m", _OURS, "five times the noise of an ordinary level sensor", "look in the bilge"),
    Limit(
        "fast_errors",
        4.0,
        "standard errors",
        "normal law: 3e-5 one-sided",
        "beside fast_rise it leaves noise of 3 mm no chance: 15 mm more is another 4 errors at least",
        "look in the bilge",
    ),
    Limit("jump", 0.025, "m", _OURS, "three readings running above all before: no glitch of one or two", "look"),
    Limit("jump_noises", 4.0, "sd", "normal law: 3e-5 each, three running", "a bilge that slops afloat", "-"),
    Limit(
        "thaw_rise",
        0.008,
        "m",
        "normal law",
        "after a thaw: with the 4 errors still 5.9 errors at least, 2e-9 a window of noise",
        "look in the bilge",
    ),
    Limit("thaw_jump", 0.015, "m", "normal law", "after a thaw: 4 errors of 3 mm noise, three running", "look"),
    Limit("fast_over_after", 6.0, "h", "invented", "half the window: long enough to be sure that it stopped", "-"),
    Limit("slow_block", 3.0, "h", "invented", "64 blocks in the longest window keep the pairs few", "-"),
    Limit("slow_least", 2.0, "d", "invented", "16 blocks: the fewest that can reach the confidence asked", "-"),
    Limit("slow_span", 8.0, "d", "REFERENCES.md", "3 drops/min over 0.3 m2 stands out of 3 mm noise in 4-12 days", "-"),
    Limit(
        "slow_doubt",
        1e-6,
        "1",
        "Mann-Kendall, two-sided",
        "half of it is a rise; 3 windows at 1,200 looks and 2 at 150: below 0.002 false rises a sensor-winter",
        "check the gland",
    ),
    Limit("slow_rise", 0.008, "m", _OURS, "the least a dipstick shows", "check the gland"),
    Limit(
        "drift", 0.0005, "m/K", "makers' data sheets: 0.2-0.5 mm/K over a metre", "a level that follows the cold", "-"
    ),
    Limit("drift_week", 6.5, "d", "invented", "a dry week teaches what the level does by itself", "-"),
    Limit("drift_swing", 3.0, "K", "invented", "a week that is all one temperature teaches nothing", "-"),
    Limit("drift_most", 0.002, "m/K", "four times the data sheets' worst", "more than that is water and no drift", "-"),
    Limit("drift_least_error", 0.00003, "m/K", "invented", "no sensor's drift is one straight line", "-"),
    Limit("week_block", 24.0, "h", "invented", "whole days: what comes and goes with the sun falls out", "-"),
    Limit("week_least", 16.0, "d", "invented", "16 blocks: the fewest that can reach the confidence asked", "-"),
    Limit("week_span", 32.0, "d", "invented", "a drip of 3 drops/min shows in a month", "-"),
    Limit("swing_days", 10.0, "K", "invented", "a bilge's swing in a week, where no thermometer is near", "-"),
    Limit("swing_weeks", 20.0, "K", "invented", "its swing in a month, where no thermometer is near", "-"),
    Limit("over_errors", 2.0, "standard errors", "normal law: 2 %", "a rise is over when it may be none", "-"),
)


@dataclass(slots=True)
class Rise:
    """A rise that is proven.

    Attributes:
        fast: whether it shows in hours; else in days.
        m_per_h: its rate, with a low and a high estimate.
        from_ms: time of the first reading it rests on.
        to_ms: time of the last.
        late_share: share of it that came in the later half: 0.5 is steady, near 0 it slows, near 1 it gathers way.
    """

    fast: bool
    m_per_h: float
    low_m_per_h: float
    high_m_per_h: float
    from_ms: int
    to_ms: int
    late_share: float = 0.5

    @property
    def over_h(self) -> float:
        """How long it has been watched."""
        return (self.to_ms - self.from_ms) / HOUR_MS

    @property
    def risen_m(self) -> float:
        """How far it rose in that time."""
        return self.m_per_h * self.over_h


def fast_rise(blocks: Sequence[Block], noise_m: float, *, closely: bool = False) -> Rise | None:
    """Find the steepest rise of the last hours that is proven.

    Args:
        blocks: the window, oldest first.
        noise_m: standard deviation of one reading.
        closely: whether less is enough: after a thaw.
    """
    least = _LEAST_CLOSELY if closely else _LEAST
    newest = blocks[-1]
    if newest.value - min(b.value for b in blocks) < least:
        return None
    best: Rise | None = None
    steepest = 0.0
    fit = LineFit()
    for block in reversed(blocks):
        fit = add_point(fit, (block.at_ms - newest.at_ms) / HOUR_MS, block.value)
        line = line_of(fit)
        if line is None or fit.n < _FEWEST:
            continue
        error = max(line.slope_error, noise_m / sqrt(fit.sxx))
        proven = line.slope - _ERRORS * error
        hours = (newest.at_ms - block.at_ms) / HOUR_MS
        if proven * hours >= least and proven > steepest:
            steepest = proven
            low, high = line.slope - _RANGE * error, line.slope + _RANGE * error
            best = Rise(
                fast=True,
                m_per_h=line.slope,
                low_m_per_h=low,
                high_m_per_h=high,
                from_ms=round(block.at_ms),
                to_ms=round(newest.at_ms),
            )
    if best is not None:
        best.late_share = _late_share(_since(blocks, best.from_ms))
    return best or _jump(blocks, noise_m, _JUMP_CLOSELY if closely else _JUMP)


def fast_is_over(blocks: Sequence[Block], noise_m: float) -> bool:
    """Say whether a fast rise has stopped: the last hours may be flat. Too few readings prove nothing."""
    newest = blocks[-1].at_ms
    since = newest - RISING.ms("fast_over_after")
    last = [b for b in blocks if b.at_ms >= since]
    if len(last) < _FEWEST:
        last = list(blocks[-_FEWEST:])
    if len(last) < _FEWEST or newest - last[0].at_ms < HOUR_MS:
        return False
    fit = LineFit()
    for block in last:
        fit = add_point(fit, (block.at_ms - newest) / HOUR_MS, block.value)
    line = line_of(fit)
    if line is None:
        return False
    return line.slope - RISING["over_errors"] * max(line.slope_error, noise_m / sqrt(fit.sxx)) <= 0.0


Steady = Callable[[Sequence[Block], float], tuple[Sequence[Block], float]]
"""Takes a window and the swing of a temperature that is not known; gives it without drift, and the drift still left."""


def rise_of_days(blocks: Sequence[Block], steady: Steady) -> Rise | None:
    """Find a rise of days, in the shortest window that proves one.

    Args:
        blocks: the complete blocks of the level, oldest first.
        steady: takes out what the level does with temperature.
    """
    return _slow_rise(blocks, steady, RISING.ms("slow_least"), RISING.ms("slow_span"), RISING["swing_days"])


def rise_of_weeks(blocks: Sequence[Block], steady: Steady) -> Rise | None:
    """Find a rise of weeks, as `rise_of_days` does."""
    return _slow_rise(blocks, steady, RISING.ms("week_least"), RISING.ms("week_span"), RISING["swing_weeks"])


def slow_is_over(blocks: Sequence[Block], rise: Rise) -> bool:
    """Say whether a slow rise has stopped: the last half of the time that proved it may be flat.

    Args:
        blocks: the complete blocks of days.
        rise: what was proven, in days or in weeks.
    """
    half_ms = (rise.to_ms - rise.from_ms) / 2
    span_ms = min(max(RISING.ms("slow_least"), half_ms), _FULL * RISING.ms("slow_span"))
    if not blocks:
        return False
    window = _since(blocks, blocks[-1].at_ms - span_ms)
    if window[-1].at_ms - window[0].at_ms < _FULL * span_ms:
        return False
    slope = robust_slope([(b.at_ms / DAY_MS, b.value) for b in window])
    return slope is not None and slope.low <= 0.0


_LEAST, _LEAST_CLOSELY = RISING["fast_rise"], RISING["thaw_rise"]
_JUMP, _JUMP_CLOSELY = RISING["jump"], RISING["thaw_jump"]
_ERRORS = RISING["fast_errors"]
_AT_MS = attrgetter("at_ms")
_FEWEST = 3
_RANGE = 2.0  # the range told is about 95 %
_ENDS = 4
_FULL = 0.9
_HOPEFUL = 0.6


def _slow_rise(
    blocks: Sequence[Block], steady: Steady, least_ms: int, longest_ms: int, swing_unknown: float
) -> Rise | None:
    if len(blocks) < _FEWEST:
        return None
    span_ms, tried = least_ms, 0
    while span_ms <= longest_ms:
        window = _since(blocks, blocks[-1].at_ms - span_ms)
        if len(window) > tried and window[-1].at_ms - window[0].at_ms > _FULL * least_ms:
            tried = len(window)
            taken, drift_m = steady(window, swing_unknown)
            rise = _proven(taken, RISING["slow_rise"] + drift_m)
            if rise is not None:
                return rise
        span_ms *= 2
    return None


def _jump(blocks: Sequence[Block], noise_m: float, least_m: float) -> Rise | None:
    # A step is no straight line, so that the line's error hides it for hours.
    before, after = blocks[:-_FEWEST], blocks[-_FEWEST:]
    if len(before) < _FEWEST:
        return None
    stood = sum(b.value for b in before) / len(before)
    if min(b.value for b in after) - stood < max(least_m, RISING["jump_noises"] * noise_m):
        return None
    fit = LineFit()
    for block in blocks[-_FEWEST - 1 :]:
        fit = add_point(fit, (block.at_ms - after[-1].at_ms) / HOUR_MS, block.value)
    line = line_of(fit)
    if line is None or line.slope <= 0.0:
        return None
    return Rise(
        fast=True,
        m_per_h=line.slope,
        low_m_per_h=max(line.slope - _RANGE * line.slope_error, 0.0),
        high_m_per_h=line.slope + _RANGE * line.slope_error,
        from_ms=round(before[-1].at_ms),
        to_ms=round(after[-1].at_ms),
    )


def _proven(window: Sequence[Block], least_m: float) -> Rise | None:
    ends = min(_ENDS, len(window))
    gained = sum(b.value for b in window[-ends:]) - sum(b.value for b in window[:ends])
    if gained / ends < _HOPEFUL * least_m:
        return None  # spares the pairs of a window that cannot pass
    start, end = window[0].at_ms, window[-1].at_ms
    slope = robust_slope([((b.at_ms - start) / HOUR_MS, b.value) for b in window])
    if slope is None or slope.confidence < 1.0 - RISING["slow_doubt"]:
        return None
    if slope.low * (end - start) / HOUR_MS < least_m:
        return None
    return Rise(
        fast=False,
        m_per_h=slope.slope,
        low_m_per_h=slope.low,
        high_m_per_h=slope.high,
        from_ms=round(start),
        to_ms=round(end),
        late_share=_late_share(window),
    )


def _late_share(window: Sequence[Block]) -> float:
    # By means of thirds, so that noise at the ends does not decide.
    if len(window) < _FEWEST:
        return 0.5
    third = max(len(window) // 3, 1)
    middle = (len(window) - third) // 2
    first, mid, last = (
        sum(b.value for b in window[start : start + third]) / third for start in (0, middle, len(window) - third)
    )
    return 0.5 if last <= first else min(max((last - mid) / (last - first), 0.0), 1.0)


def _since(blocks: Sequence[Block], at_ms: float) -> Sequence[Block]:
    return blocks[bisect_left(blocks, at_ms, key=_AT_MS) :]
