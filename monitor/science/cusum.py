"""The tabular CUSUM: small lasting shifts that no single reading shows."""

from dataclasses import dataclass
from math import exp, inf

from monitor.science.domain import within


@dataclass(slots=True)
class Cusum:
    """What has piled up above and below the expected value, in standard deviations.

    Attributes:
        high: upper sum, 0 or more.
        low: lower sum, 0 or more.
    """

    high: float = 0.0
    low: float = 0.0


def cusum_step(cusum: Cusum, deviation_sd: float, slack_sd: float = 0.5, most_sd: float = 1000.0) -> Cusum:
    """Take one more value into the sums; the caller holds them against a limit h.

    Args:
        cusum: the sums so far; left as they are.
        deviation_sd: (value - expected) / standard deviation, finite.
        slack_sd: k, half the shift to be found, 0 or more.
        most_sd: where the sums stop growing, so that a long event is soon over when it is over.

    Returns:
        New sums.

    Raises:
        ValueError: a deviation that is not finite, or a negative slack.

    Equation: C+ = max(0, C+ + z - k), C- = max(0, C- - z - k).
    Source: Montgomery, Introduction to Statistical Quality Control, chapter 9 (k = 1/2).

    >>> cusum_step(Cusum(1.0, 0.2), 1.25)
    Cusum(high=1.75, low=0.0)
    """
    if not -inf < deviation_sd < inf:
        raise ValueError(f"the deviation {deviation_sd} is not finite")
    within("slack", slack_sd, 0.0, inf, "sd")
    return Cusum(
        min(most_sd, max(0.0, cusum.high + deviation_sd - slack_sd)),
        min(most_sd, max(0.0, cusum.low - deviation_sd - slack_sd)),
    )


def cusum_run_length(limit_sd: float, slack_sd: float = 0.5, shift_sd: float = 0.0) -> float:
    """Find how many independent samples one side of a CUSUM runs on average before it trips.

    Args:
        limit_sd: h, 0.5 to 50.
        slack_sd: k, 0.05 to 5.
        shift_sd: real shift of the mean towards this side, sd; 0 gives the false alarms.

    Returns:
        Samples.

    Raises:
        ValueError: outside those ranges.

    Equation: ARL = (exp(-2 d b) + 2 d b - 1) / (2 d^2), d = shift - k, b = h + 1.166; b^2 where d = 0.
    Source: Siegmund's approximation, as Montgomery, Introduction to Statistical Quality Control, chapter 9.

    >>> round(cusum_run_length(5.0)), round(cusum_run_length(5.0, shift_sd=1.0), 1)
    (938, 10.3)
    """
    within("limit", limit_sd, 0.5, 50.0, "sd")
    within("slack", slack_sd, 0.05, 5.0, "sd")
    d = shift_sd - slack_sd
    b = limit_sd + 1.166
    if abs(d) < 1e-6:
        return b * b
    return (exp(-2.0 * d * b) + 2.0 * d * b - 1.0) / (2.0 * d * d)
