"""The mould index against the worked values and the closed solution of its own equation."""

from collections.abc import Callable
from functools import partial
from math import exp, log

from monitor.science.mould import (
    Mould,
    Sensitivity,
    ceiling_index,
    critical_rh_pct,
    decline_over,
    mould_step,
    weeks_to_first_growth,
)


def days_to_index(goal: float, t_degc: float, rh_pct: float, sensitivity: Sensitivity, step_h: float = 1.0) -> float:
    state, hours = Mould(), 0.0
    while state.index < goal:
        state = mould_step(state, step_h, t_degc, rh_pct, sensitivity)
        hours += step_h
    return hours / 24.0


def closed_days_to_one(rate_per_day: float, ceiling: float) -> float:
    # dM/dt = r (1 - exp(2.3 (M - c))) from M = 0 to 1 by separation of variables.
    return (1.0 - log((1.0 - exp(2.3 * (1.0 - ceiling))) / (1.0 - exp(-2.3 * ceiling))) / 2.3) / rate_per_day


VERY, PLAIN = Sensitivity.VERY_SENSITIVE, Sensitivity.SENSITIVE
HUKKA = "Hukka and Viitanen 1999, computed from the equations, hourly steps (REFERENCES.md)"
STEP_DAYS = 1.0 / 24.0

# check, source, ours, theirs, tolerance, why that tolerance
CHECKS: list[tuple[str, str, Callable[[], float], Callable[[], float] | float, float, str]] = [
    (
        "10 degC 90 %, very sensitive, days to index 1",
        HUKKA,
        partial(days_to_index, 1.0, 10.0, 90.0, VERY),
        47.2,
        0.05,
        "half of the last printed digit",
    ),
    (
        "15 degC 97 %, very sensitive, days to index 1",
        HUKKA,
        partial(days_to_index, 1.0, 15.0, 97.0, VERY),
        12.7,
        0.05,
        "half of the last printed digit",
    ),
    (
        "10 degC 90 %, sensitive, days to index 1",
        "closed solution, k1 0.578 and A, B, C 0.3, 6, 1 of Ojanen, Viitanen et al. 2010",
        partial(days_to_index, 1.0, 10.0, 90.0, PLAIN),
        # RHc = -2.67 + 16 - 31.3 + 100 = 82.03, x = 7.97 / 17.97; ln t_m by hand from the printed constants.
        lambda: closed_days_to_one(
            0.578 / (7.0 * exp(-0.68 * log(10.0) - 13.9 * log(90.0) + 66.02)),
            0.3 + 6.0 * (7.97 / 17.97) - (7.97 / 17.97) ** 2,
        ),
        2.0 * STEP_DAYS,
        "hourly steps overshoot by at most a step, and lag by less than one",
    ),
    (
        "critical humidity at 10 degC, %",
        "Hukka and Viitanen 1999, by hand: -0.00267 1000 + 0.160 100 - 3.13 10 + 100",
        partial(critical_rh_pct, 10.0, VERY),
        82.03,
        0.005,
        "half of the last digit",
    ),
    (
        "critical humidity at 25 degC, very sensitive, %",
        "Hukka and Viitanen 1999",
        partial(critical_rh_pct, 25.0, VERY),
        80.0,
        0.0,
        "a constant of the model",
    ),
    (
        "critical humidity at 25 degC, resistant, %",
        "Ojanen, Viitanen et al. 2010",
        partial(critical_rh_pct, 25.0, Sensitivity.RESISTANT),
        85.0,
        0.0,
        "a constant of the model",
    ),
    (
        "ceiling at 20 degC 100 %, very sensitive",
        "index scale of Hukka and Viitanen 1999 ends at 6: 1 + 7 - 2",
        partial(ceiling_index, 20.0, 100.0, VERY),
        6.0,
        1e-9,
        "the scale itself",
    ),
    (
        "first growth at 20 degC 97 %, weeks",
        "Hukka and Viitanen 1999, by hand: exp(-0.68 2.99573 - 13.9 4.57471 + 66.02)",
        partial(weeks_to_first_growth, 20.0, 97.0),
        exp(-0.68 * 2.99573 - 13.9 * 4.57471 + 66.02),
        0.001,
        "logarithms to five places",
    ),
    (
        "a dry day takes",
        "Hukka and Viitanen 1999: 0.032 a day for 6 h, nothing to 24 h",
        partial(decline_over, 24.0),
        0.008,
        1e-12,
        "exact",
    ),
    (
        "a dry ten days take",
        "Hukka and Viitanen 1999: and 0.016 a day after",
        partial(decline_over, 240.0),
        0.008 + 9 * 0.016,
        1e-12,
        "exact",
    ),
]
