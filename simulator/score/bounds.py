"""Exact upper bounds of rates that were counted: of misses among tries, and of events in a time."""

from collections.abc import Callable, Sequence
from math import exp, lgamma, log, log1p
from random import Random

CONFIDENCE = 0.95
_HALVINGS = 60
_DRAWS = 4_000
_SEED = 20131101


def most_likely_missed(missed: int, tries: int, confidence: float = CONFIDENCE) -> float | None:
    """Give the upper one-sided bound of the rate of misses, None where nothing was tried.

    The rate p at which so few misses would have the chance 1 - confidence: ``P(X <= k; n, p) = 1 - confidence``
    (Clopper and Pearson, Biometrika 26, 1934).

    >>> round(most_likely_missed(0, 1000), 5)  # the rule of three: 3 / n, here 1 - 0.05 ** (1 / 1000)
    0.00299
    """
    if not 0 <= missed <= tries:
        raise ValueError(f"{missed} misses of {tries} tries")
    if tries == 0:
        return None
    if missed == tries:
        return 1.0
    return _where(lambda p: _binomial_at_most(missed, tries, p), 1 - confidence, missed / tries, 1.0)


def most_events(events: int, confidence: float = CONFIDENCE) -> float:
    """Give the upper one-sided bound of the mean of a Poisson count: ``P(X <= k; m) = 1 - confidence``.

    (Garwood, Biometrika 28, 1936.)

    >>> round(most_events(0), 3)  # -ln 0.05
    2.996
    """
    if events < 0:
        raise ValueError(f"{events} events")
    return _where(lambda m: _poisson_at_most(events, m), 1 - confidence, float(events), 2 * events + 20.0)


def most_by_groups(events: Sequence[int], sizes: Sequence[int], confidence: float = CONFIDENCE) -> float | None:
    """Give the upper one-sided bound of the events a member, where members of a group share what brings them about.

    Bootstrap over whole groups (Davison and Hinkley, Bootstrap Methods and their Application, 1997, section 3.8), by
    its percentile. None of fewer than ten groups, or without an event: then it cannot say anything.

    Args:
        events: of each group.
        sizes: how many members each group has.
        confidence: of the bound.

    >>> most_by_groups([1] * 20, [10] * 20)  # groups that are all alike
    0.1
    """
    fewest = 10
    if len(events) < fewest or not any(events):
        return None
    random, groups = Random(_SEED), list(zip(events, sizes, strict=True))
    rates = []
    for _ in range(_DRAWS):
        drawn = random.choices(groups, k=len(groups))
        rates.append(sum(n for n, _ in drawn) / sum(size for _, size in drawn))
    return sorted(rates)[round(confidence * (_DRAWS - 1))]


def _where(falls: Callable[[float], float], level: float, low: float, high: float) -> float:
    """Find where a function that falls comes to a level, by halving."""
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        if falls(middle) > level:
            low = middle
        else:
            high = middle
    return high


def _binomial_at_most(k: int, n: int, p: float) -> float:
    if p <= 0.0:
        return 1.0
    if p >= 1.0:
        return 0.0
    return sum(
        exp(lgamma(n + 1) - lgamma(i + 1) - lgamma(n - i + 1) + i * log(p) + (n - i) * log1p(-p)) for i in range(k + 1)
    )


def _poisson_at_most(k: int, mean: float) -> float:
    if mean <= 0.0:
        return 1.0
    return sum(exp(i * log(mean) - mean - lgamma(i + 1)) for i in range(k + 1))
