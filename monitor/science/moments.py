"""Mean and variance kept one value at a time: of everything, or of the recent past."""

from dataclasses import dataclass
from math import exp, inf, sqrt

from monitor.science.domain import within


@dataclass(slots=True)
class Moments:
    """Mean and spread of everything seen.

    Attributes:
        n: values seen.
        mean: their mean.
        m2: sum of squares about the mean.
    """

    n: int = 0
    mean: float = 0.0
    m2: float = 0.0

    @property
    def sd(self) -> float | None:
        """Standard deviation of a sample, or None before the second value."""
        return None if self.n < 2 else sqrt(max(0.0, self.m2) / (self.n - 1))


def add_value(moments: Moments, value: float) -> Moments:
    """Take one more value into a mean and variance.

    Args:
        moments: so far; left as they are.
        value: finite, any unit.

    Returns:
        New moments.

    Raises:
        ValueError: a value that is not finite.

    Equation: d = x - mean; mean += d / n; m2 += d (x - new mean); variance = m2 / (n - 1).
    Source: Welford 1962, Technometrics 4 (3).

    >>> moments = Moments()
    >>> for x in (2.0, 4.0, 4.0, 4.0, 5.0, 5.0, 7.0, 9.0):
    ...     moments = add_value(moments, x)
    >>> moments.mean, moments.m2
    (5.0, 32.0)
    """
    if not -inf < value < inf:
        raise ValueError(f"the value {value} is not finite")
    n = moments.n + 1
    d = value - moments.mean
    mean = moments.mean + d / n
    return Moments(n, mean, moments.m2 + d * (value - mean))


@dataclass(slots=True)
class RecentMoments:
    """Mean and spread of the recent past, older values fading away.

    Attributes:
        weight: weights still held, in values; 0 before the first.
        mean: weighted mean.
        variance: weighted variance about it.
        at_h: time of the newest value, h.
    """

    weight: float = 0.0
    mean: float = 0.0
    variance: float = 0.0
    at_h: float = 0.0


def add_recent(moments: RecentMoments, value: float, at_h: float, memory_h: float) -> RecentMoments:
    """Take one more value into a mean and variance that forget.

    Args:
        moments: so far; left as they are.
        value: finite, any unit.
        at_h: its time, h, not before the newest.
        memory_h: time in which a value's weight falls to 1/e, h, above 0; gaps of any length are allowed.

    Returns:
        New moments.

    Raises:
        ValueError: a value that is not finite, or a time that goes back.

    Equation: W' = W exp(-dt / memory) + 1, a = 1 / W', d = x - mean; mean += a d; var = (1 - a) (var + a d^2).
    Source: West 1979, Communications of the ACM 22 (9), weighted updating; Finch 2009 for the exponential case.

    >>> moments = add_recent(RecentMoments(), 10.0, 0.0, 24.0)
    >>> moments = add_recent(moments, 12.0, 0.0, 24.0)
    >>> moments.mean, moments.variance
    (11.0, 1.0)
    """
    if not -inf < value < inf:
        raise ValueError(f"the value {value} is not finite")
    within("memory", memory_h, 1e-9, inf, "h")
    if moments.weight == 0.0:
        return RecentMoments(1.0, value, 0.0, at_h)
    within("time", at_h, moments.at_h, inf, "h")
    weight = moments.weight * exp((moments.at_h - at_h) / memory_h) + 1.0
    share = 1.0 / weight
    d = value - moments.mean
    return RecentMoments(weight, moments.mean + share * d, (1.0 - share) * (moments.variance + share * d * d), at_h)
