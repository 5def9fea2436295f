"""Slopes, moments and CUSUM against NIST's certified values, scipy and Montgomery's tables."""

from collections.abc import Callable
from functools import partial
from math import sin, sqrt

from scipy import stats

from monitor.science.cusum import cusum_run_length
from monitor.science.moments import Moments, add_value
from monitor.science.trend import Line, LineFit, RobustSlope, add_point, days_to_prove_slope, line_of, robust_slope

# NIST Statistical Reference Datasets, linear regression, Norris: (x, y) of an ozone monitor's calibration.
NORRIS = (
    (0.2, 0.1), (337.4, 338.8), (118.2, 118.1), (884.6, 888.0), (10.1, 9.2), (226.5, 228.1), (666.3, 668.5),
    (996.3, 998.5), (448.6, 449.1), (777.0, 778.9), (558.2, 559.2), (0.4, 0.3), (0.6, 0.1), (775.5, 778.1),
    (666.9, 668.8), (338.0, 339.3), (447.5, 448.9), (11.6, 10.8), (556.0, 557.7), (228.1, 228.3), (995.8, 998.0),
    (887.6, 888.8), (120.2, 119.6), (0.3, 0.3), (0.3, 0.6), (556.8, 557.6), (339.1, 339.3), (887.2, 888.0),
    (999.0, 998.5), (779.0, 778.9), (11.1, 10.2), (118.3, 117.6), (229.2, 228.9), (669.1, 668.4), (448.9, 449.2),
    (0.5, 0.2),
)  # fmt: skip
# A slow rise with a wave on it and three bad readings, no two alike: what a bilge sensor gives.
WINDOW = [(float(k), 0.05 * k + sin(1.7 * k) + (40.0 if k in {7, 19, 20} else 0.0)) for k in range(40)]


def norris() -> Line:
    fit = LineFit()
    for x, y in NORRIS:
        fit = add_point(fit, x, y)
    line = line_of(fit)
    assert line is not None
    return line


def window() -> RobustSlope:
    slope = robust_slope(WINDOW)
    assert slope is not None
    return slope


def theil_slopes() -> tuple[float, float, float]:
    slope, _, low, high = stats.theilslopes([y for _, y in WINDOW], [x for x, _ in WINDOW], 0.95)
    return float(slope), float(low), float(high)


def mann_kendall_confidence() -> float:
    # Kendall's tau gives S = tau n (n - 1) / 2 where nothing is tied; then the normal law with continuity.
    n = len(WINDOW)
    tau = float(stats.kendalltau([x for x, _ in WINDOW], [y for _, y in WINDOW]).statistic)
    z = (abs(tau * n * (n - 1) / 2.0) - 1.0) / sqrt(n * (n - 1) * (2 * n + 5) / 18.0)
    return float(1.0 - 2.0 * stats.norm.sf(z))


def sd_of(values: list[float]) -> float:
    moments = Moments()
    for value in values:
        moments = add_value(moments, value)
    assert moments.sd is not None
    return moments.sd


NIST = "NIST Statistical Reference Datasets, Norris, certified"
CERTIFIED = "certified to 15 digits; double precision keeps 10 and more"
MONTGOMERY = "Montgomery, Introduction to Statistical Quality Control, ch. 9, Siegmund's approximation"
PRINTED = "half of the last printed digit"

# check, source, ours, theirs, tolerance, why that tolerance
CHECKS: list[tuple[str, str, Callable[[], float], Callable[[], float] | float, float, str]] = [
    ("Norris, slope", NIST, lambda: norris().slope, 1.00211681802045, 1e-11, CERTIFIED),
    ("Norris, intercept", NIST, lambda: norris().intercept, -0.262323073774029, 1e-9, CERTIFIED),
    ("Norris, error of the slope", NIST, lambda: norris().slope_error, 0.429796848199937e-3, 1e-12, CERTIFIED),
    ("Norris, residual sd", NIST, lambda: norris().residual_sd, 0.884796396144373, 1e-10, CERTIFIED),
    (
        "small sd on a large mean",
        "NIST Statistical Reference Datasets, NumAcc3: 1001 values about 1000000.2, sd 0.1 exactly",
        lambda: sd_of([1_000_000.2] + [1_000_000.1, 1_000_000.3] * 500),
        0.1,
        1e-8,
        "1e6 is stored to 1e-10, so the sd is to 1e-8",
    ),
    (
        "Theil-Sen slope",
        "scipy.stats.theilslopes",
        lambda: window().slope,
        lambda: theil_slopes()[0],
        1e-12,
        "same sum",
    ),
    (
        "Theil-Sen, low end",
        "scipy.stats.theilslopes, 95 %",
        lambda: window().low,
        lambda: theil_slopes()[1],
        0.002,
        "ranks are rounded outwards here and to the nearest there: one rank of 780",
    ),
    (
        "Theil-Sen, high end",
        "scipy.stats.theilslopes, 95 %",
        lambda: window().high,
        lambda: theil_slopes()[2],
        0.002,
        "ranks are rounded outwards here and to the nearest there: one rank of 780",
    ),
    (
        "Mann-Kendall confidence",
        "scipy.stats.kendalltau and the normal law",
        lambda: window().confidence,
        mann_kendall_confidence,
        1e-9,
        "same formula",
    ),
    (
        "CUSUM k 1/2 h 5, two-sided, no shift, samples",
        MONTGOMERY,
        lambda: cusum_run_length(5.0) / 2.0,
        469.1,
        0.1,
        PRINTED,
    ),
    ("CUSUM k 1/2 h 5, one sd, samples", MONTGOMERY, partial(cusum_run_length, 5.0, 0.5, 1.0), 10.3, 0.05, PRINTED),
    (
        "CUSUM h 5 on hourly samples, false trips in 180 days",
        "REFERENCES.md",
        lambda: 4320.0 / cusum_run_length(5.0),
        4.6,
        0.05,
        PRINTED,
    ),
    (
        "CUSUM h 10 on hourly samples, false trips in 180 days",
        "REFERENCES.md",
        lambda: 4320.0 / cusum_run_length(10.0),
        0.03,
        0.005,
        PRINTED,
    ),
    (
        "days to prove 0.72 mm/day in 3 mm, one sample a day",
        "REFERENCES.md, bilge",
        partial(days_to_prove_slope, 0.72, 3.0, 1.0),
        12.0,
        0.5,
        PRINTED,
    ),
    (
        "days to prove 0.72 mm/day in 3 mm, 24 samples a day",
        "REFERENCES.md, bilge",
        partial(days_to_prove_slope, 0.72, 3.0, 24.0),
        4.0,
        0.5,
        PRINTED,
    ),
]
