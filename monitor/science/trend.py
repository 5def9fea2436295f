"""Is it rising, how fast, and how sure: straight lines kept as sums, and the slope that outliers cannot bend."""

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby
from math import ceil, erf, inf, sqrt

from monitor.science.domain import within

MOST_POINTS = 512
"""A window larger than this is refused: the work grows with its square."""


@dataclass(slots=True)
class LineFit:
    """The sums behind a least-squares line y = a + b x, kept about their means so that long times lose no digits.

    With x in hours it is a trend; with x a temperature it is level = a + b T, what a dry bilge does by itself.

    Attributes:
        n: points seen.
        x_mean: mean of x.
        y_mean: mean of y.
        sxx: sum of squares of x about its mean.
        sxy: sum of products about the means.
        syy: sum of squares of y about its mean.
    """

    n: int = 0
    x_mean: float = 0.0
    y_mean: float = 0.0
    sxx: float = 0.0
    sxy: float = 0.0
    syy: float = 0.0


@dataclass(frozen=True, slots=True)
class Line:
    """A fitted line, and how well it is known.

    Attributes:
        intercept: y at x = 0.
        slope: y per x.
        slope_error: one standard error of the slope; infinite for two points, which fit any line.
        residual_sd: standard deviation of what the line leaves; infinite for two points.
    """

    intercept: float
    slope: float
    slope_error: float
    residual_sd: float

    def at(self, x: float) -> float:
        """Give the line's y at x."""
        return self.intercept + self.slope * x


def add_point(fit: LineFit, x: float, y: float) -> LineFit:
    """Take one more point into a line's sums.

    Args:
        fit: the sums so far; left as they are.
        x: hours, or a temperature.
        y: what is measured.

    Returns:
        New sums.

    Raises:
        ValueError: a point that is not finite.

    Equation: Welford's update, dx = x - mean; mean += dx / n; Sxx += dx (x - new mean), Sxy and Syy likewise.
    Source: Welford 1962, Technometrics 4 (3).

    >>> fit = LineFit()
    >>> for x, y in ((0.0, 1.0), (1.0, 3.0), (2.0, 5.0)):
    ...     fit = add_point(fit, x, y)
    >>> fit.n, fit.sxx, fit.sxy
    (3, 2.0, 4.0)
    """
    if not (-inf < x < inf and -inf < y < inf):
        raise ValueError(f"the point ({x}, {y}) is not finite")
    n = fit.n + 1
    dx, dy = x - fit.x_mean, y - fit.y_mean
    x_mean, y_mean = fit.x_mean + dx / n, fit.y_mean + dy / n
    rest_y = y - y_mean
    return LineFit(n, x_mean, y_mean, fit.sxx + dx * (x - x_mean), fit.sxy + dx * rest_y, fit.syy + dy * rest_y)


def line_of(fit: LineFit) -> Line | None:
    """Find the least-squares line of the points seen.

    Args:
        fit: the sums.

    Returns:
        The line, or None while there are fewer than two points or all stand at one x: not known.

    Equation: b = Sxy / Sxx, a = mean y - b mean x, s^2 = (Syy - b Sxy) / (n - 2), se(b) = s / sqrt(Sxx); it takes the
    points for independent.
    Source: any text on linear regression, e.g. Montgomery, Introduction to Statistical Quality Control.

    >>> fit = LineFit()
    >>> for x, y in ((0.0, 1.0), (1.0, 3.0), (2.0, 5.0)):
    ...     fit = add_point(fit, x, y)
    >>> line_of(fit)
    Line(intercept=1.0, slope=2.0, slope_error=0.0, residual_sd=0.0)
    """
    if fit.n < 2 or fit.sxx <= 0.0:
        return None
    slope = fit.sxy / fit.sxx
    intercept = fit.y_mean - slope * fit.x_mean
    if fit.n == 2:
        return Line(intercept, slope, inf, inf)
    residual_sd = sqrt(max(0.0, fit.syy - slope * fit.sxy) / (fit.n - 2))
    return Line(intercept, slope, residual_sd / sqrt(fit.sxx), residual_sd)


def days_to_prove_slope(slope_per_day: float, noise_sd: float, samples_per_day: float, sigmas: float = 3.0) -> float:
    """Find how long a steady slope has to be watched until it stands out of the noise.

    Args:
        slope_per_day: slope, unit/day, above 0.
        noise_sd: standard deviation of one independent sample, unit, 0 or more.
        samples_per_day: independent samples a day, above 0.
        sigmas: how many standard errors the slope must be, above 0.

    Returns:
        Days.

    Raises:
        ValueError: outside those ranges.

    Equation: se = sd sqrt(12 / (n T^3)) = slope / z, so T = (12 z^2 sd^2 / (n slope^2))^(1/3).
    Source: the variance of a least-squares slope over evenly spaced samples.

    >>> round(days_to_prove_slope(0.72, 3.0, 1.0)), round(days_to_prove_slope(0.72, 3.0, 24.0))
    (12, 4)
    """
    within("slope", slope_per_day, 1e-12, inf, "unit/day")
    within("noise", noise_sd, 0.0, inf, "unit")
    within("samples", samples_per_day, 1e-6, inf, "1/day")
    within("standard errors", sigmas, 1e-6, inf, "(1)")
    return float((12.0 * (sigmas * noise_sd / slope_per_day) ** 2 / samples_per_day) ** (1.0 / 3.0))


def push_point(
    points: tuple[tuple[float, float], ...], point: tuple[float, float], span: float, most: int = 200
) -> tuple[tuple[float, float], ...]:
    """Take a point into a bounded window, and let what is too old or too many fall out at the front.

    Args:
        points: (x, y) so far, x not falling.
        point: the newest.
        span: how far back in x the window reaches, above 0.
        most: how many points at most, 2 to 512.

    Returns:
        The new window, newest last.

    Raises:
        ValueError: a point behind the newest, or a bound outside its range.

    >>> push_point(((0.0, 1.0), (5.0, 2.0)), (11.0, 3.0), span=10.0)
    ((5.0, 2.0), (11.0, 3.0))
    """
    within("points", most, 2, MOST_POINTS, "(1)")
    within("span", span, 1e-12, inf, "(x)")
    if points and point[0] < points[-1][0]:
        raise ValueError(f"the point at {point[0]:.6g} lies behind the newest at {points[-1][0]:.6g}")
    first = bisect_left(points, (point[0] - span, -inf))
    return (*points[max(first, len(points) + 1 - most) :], point)


@dataclass(frozen=True, slots=True)
class RobustSlope:
    """A slope that a quarter of bad points cannot bend.

    Attributes:
        slope: median of the slopes between all pairs, y per x.
        low: lower end of its 95 % interval.
        high: upper end of its 95 % interval.
        confidence: 1 - p of the two-sided Mann-Kendall test that y goes neither way, 0 to 1.
    """

    slope: float
    low: float
    high: float
    confidence: float


def robust_slope(points: Sequence[tuple[float, float]]) -> RobustSlope | None:
    """Find the Theil-Sen slope of a window, with Mann-Kendall's confidence that there is one.

    Args:
        points: (x, y), at most 512; order does not matter. Neighbours are taken for independent, so thin them to that.

    Returns:
        The slope, or None with fewer than four points at differing x: not known.

    Raises:
        ValueError: more than 512 points.

    Equation: slope = median of (yj - yi) / (xj - xi); S = sum sign of them, var S = (n(n-1)(2n+5) - sum of
    t(t-1)(2t+5) over ties in y) / 18; z = (|S| - 1) / sqrt(var S); confidence = erf(z / sqrt 2); the interval is the
    slopes ranked (N - 1.96 sqrt(var S)) / 2 and (N + 1.96 sqrt(var S)) / 2 + 1.
    Source: Sen 1968, JASA 63; Mann 1945; Kendall 1975; Gilbert, Statistical Methods for Environmental Pollution
    Monitoring (1987), chapters 16 and 17.

    >>> robust_slope([(0.0, 0.0), (1.0, 1.0), (2.0, 2.0), (3.0, 3.0), (4.0, 99.0), (5.0, 5.0)]).slope
    1.0
    """
    n = len(points)
    within("points", n, 0, MOST_POINTS, "(1)")
    ordered = sorted(points)
    slopes: list[float] = []
    score = 0
    for j in range(1, n):
        xj, yj = ordered[j]
        for i in range(j):
            xi, yi = ordered[i]
            if xj > xi:
                slopes.append((yj - yi) / (xj - xi))
                score += (yj > yi) - (yj < yi)
    if n < 4 or len(slopes) < 3:
        return None
    slopes.sort()
    count = len(slopes)
    middle = count // 2
    median = slopes[middle] if count % 2 else (slopes[middle - 1] + slopes[middle]) / 2.0
    ties = (len(list(group)) for _, group in groupby(sorted(y for _, y in points)))
    variance = (n * (n - 1) * (2 * n + 5) - sum(t * (t - 1) * (2 * t + 5) for t in ties)) / 18.0
    z = max(0, abs(score) - 1) / sqrt(variance) if variance > 0.0 else 0.0
    reach = 1.959964 * sqrt(max(0.0, variance))
    low = slopes[max(0, int((count - reach) / 2.0) - 1)]  # ranks count from 1; rounded outwards
    high = slopes[min(count - 1, ceil((count + reach) / 2.0))]
    return RobustSlope(median, low, high, erf(z / sqrt(2.0)))
