"""Events that are counted: has their rate risen, or is it chance?"""

from math import erfc, exp, inf, lgamma, log, log1p, sqrt

from monitor.science.domain import within

_EXACT_UP_TO = 2_000


def chance_of_as_many(recent: int, recent_time: float, earlier: int, earlier_time: float) -> float:
    """Find the chance that an unchanged rate gives as many events of late as were counted, or more.

    Args:
        recent: events counted of late, 0 or more.
        recent_time: over how long, any unit, above 0.
        earlier: events counted before that, 0 or more.
        earlier_time: over how long, in the same unit, above 0.

    Returns:
        One-sided p, 0 to 1. Events that come more evenly than by chance, as a pump's runs do, make it err high.

    Raises:
        ValueError: outside those ranges.

    Equation: with n = recent + earlier and q = recent time / both times, p = sum over k >= recent of
    C(n, k) q^k (1 - q)^(n - k); for n above 2 000 the normal law with a correction of one half.
    Source: the conditional test of two Poisson rates, Przyborowski and Wilenski 1940, Biometrika 31.

    >>> round(chance_of_as_many(3, 1.0, 0, 1.0), 3)  # all three of three in the later half: 1/8
    0.125
    """
    within("events of late", recent, 0, inf, "(1)")
    within("events before", earlier, 0, inf, "(1)")
    within("time of late", recent_time, 1e-9, inf, "(time)")
    within("time before", earlier_time, 1e-9, inf, "(time)")
    n, share = recent + earlier, recent_time / (recent_time + earlier_time)
    if recent == 0:
        return 1.0
    if n > _EXACT_UP_TO:
        sd = sqrt(n * share * (1.0 - share))
        return 0.5 * erfc((recent - 0.5 - n * share) / (sd * sqrt(2.0)))
    on, off = log(share), log1p(-share)
    terms = (lgamma(n + 1) - lgamma(k + 1) - lgamma(n - k + 1) + k * on + (n - k) * off for k in range(recent, n + 1))
    return min(sum(exp(term) for term in terms), 1.0)
