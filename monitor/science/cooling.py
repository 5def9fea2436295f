"""How a space follows the air outside: one lag, its time constant learnt, and the coldest that is to come."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import atan, exp, inf, log, pi, sqrt
from typing import NamedTuple

from monitor.science.domain import within
from monitor.science.span import Span

LONGEST_STEP_H = 3.0
"""A longer gap between two readings says nothing about the lag, and is passed over by the fit."""


def lag_step_degc(
    inside_degc: float, outside_degc: float, outside_next_degc: float, hours: float, time_constant_h: float
) -> float:
    """Step a space's temperature forward exactly while the air outside goes in a straight line.

    Args:
        inside_degc: space now, degC, -80 to 80.
        outside_degc: air outside now, degC, -80 to 80; with a steady gain add `Lag.gain_k` to both.
        outside_next_degc: air outside at the end of the step, degC, -80 to 80.
        hours: step, h, 0 to 10 000.
        time_constant_h: time constant, h, 0.01 to 10 000.

    Returns:
        Space at the end of the step, degC.

    Raises:
        ValueError: outside those ranges.

    Equation: T = u1 - r tau + (T0 - u0 + r tau) exp(-dt / tau), r = (u1 - u0) / dt,
    the solution of dT/dt = (u - T) / tau.
    Source: any text on heat transfer, lumped capacity.

    >>> round(lag_step_degc(10.0, 0.0, 0.0, 20.0, 20.0), 3)
    3.679
    """
    within("space", inside_degc, -80.0, 80.0, "degC")
    within("air outside", outside_degc, -80.0, 80.0, "degC")
    within("air outside next", outside_next_degc, -80.0, 80.0, "degC")
    within("step", hours, 0.0, 1e4, "h")
    within("time constant", time_constant_h, 0.01, 1e4, "h")
    if hours == 0.0:
        return inside_degc
    behind = (outside_next_degc - outside_degc) / hours * time_constant_h
    return outside_next_degc - behind + (inside_degc - outside_degc + behind) * exp(-hours / time_constant_h)


@dataclass(slots=True)
class LagFit:
    """The weighted sums behind a fitted lag; it does not grow.

    Attributes:
        at_h: time of the newest pair of readings, h, or None before the first.
        inside_degc: space then.
        outside_degc: air outside then.
        w: weight held, in steps.
        s1: sum of dt^2.
        sx: sum of dt x, where x = dt (mean outside - mean inside), K h.
        sxx: sum of x^2.
        sy: sum of dt y, where y = change inside, K.
        sxy: sum of x y.
        syy: sum of y^2.
    """

    at_h: float | None = None
    inside_degc: float = 0.0
    outside_degc: float = 0.0
    w: float = 0.0
    s1: float = 0.0
    sx: float = 0.0
    sxx: float = 0.0
    sy: float = 0.0
    sxy: float = 0.0
    syy: float = 0.0


class Lag(NamedTuple):
    """A fitted lag.

    Attributes:
        time_constant_h: low, best and high, h, two standard errors apart; high is infinite where nothing bounds it.
        gain_k: how much warmer than the air outside the space settles, K: water round the hull, sun, a heater.
    """

    time_constant_h: Span
    gain_k: float


def add_temperatures(
    fit: LagFit, at_h: float, inside_degc: float, outside_degc: float, memory_h: float = 336.0
) -> LagFit:
    """Take one more pair of temperatures into the fit.

    Args:
        fit: the sums so far; left as they are.
        at_h: time, h; at or before the newest it is passed over.
        inside_degc: space, degC, -80 to 80.
        outside_degc: air outside, degC, -80 to 80.
        memory_h: time in which a step's weight falls to 1/e, h, above 0; two weeks unless told.

    Returns:
        New sums. A gap of over `LONGEST_STEP_H` only moves the starting point.

    Raises:
        ValueError: outside those ranges.

    Equation: y = x / tau + q dt, y = T1 - T0, x = dt (mean outside - mean inside): the trapezoid rule on
    dT/dt = (u - T) / tau + q, in which the thermometer's own noise does not lean on the slope.
    Source: weighted least squares with exponential forgetting (Ljung, System Identification, 1999, chapter 11).

    >>> add_temperatures(LagFit(), 0.0, 10.0, 0.0).at_h
    0.0
    """
    within("space", inside_degc, -80.0, 80.0, "degC")
    within("air outside", outside_degc, -80.0, 80.0, "degC")
    within("memory", memory_h, 1.0, inf, "h")
    if fit.at_h is None:
        return LagFit(at_h, inside_degc, outside_degc)
    dt = at_h - fit.at_h
    if dt <= 0.0:
        return fit
    keep = exp(-dt / memory_h)
    y = x = step = 0.0
    seen = dt <= LONGEST_STEP_H
    if seen:
        step = dt
        y = inside_degc - fit.inside_degc
        x = dt * (outside_degc + fit.outside_degc - inside_degc - fit.inside_degc) / 2.0
    return LagFit(
        at_h,
        inside_degc,
        outside_degc,
        keep * fit.w + seen,
        keep * fit.s1 + step * step,
        keep * fit.sx + step * x,
        keep * fit.sxx + x * x,
        keep * fit.sy + step * y,
        keep * fit.sxy + x * y,
        keep * fit.syy + y * y,
    )


def lag_of(fit: LagFit, fewest_steps: float = 24.0) -> Lag | None:
    """Find the time constant of a space from what has been seen.

    Args:
        fit: the sums.
        fewest_steps: weight below which nothing is said, steps, 4 or more.

    Returns:
        The lag, or None while it is not known: too few steps, outside and inside never apart, or no slope to be seen.

    Raises:
        ValueError: fewer than 4 steps asked for.

    Equation: the two normal equations for k = 1 / tau and q; se(k) = s sqrt(S(dt^2) / D), D their determinant;
    tau = 1 / k, its ends 1 / (k +- 2 se); gain = q tau.
    Source: as `add_temperatures`.

    >>> fit = LagFit()
    >>> inside = 10.0
    >>> for hour in range(100):
    ...     fit = add_temperatures(fit, float(hour), inside, 0.0)
    ...     inside = lag_step_degc(inside, 0.0, 0.0, 1.0, 20.0)
    >>> round(lag_of(fit).time_constant_h.best, 1)
    20.0
    """
    within("steps", fewest_steps, 4.0, inf, "(1)")
    determinant = fit.sxx * fit.s1 - fit.sx * fit.sx
    if fit.w < fewest_steps or determinant <= 1e-9 * fit.sxx * fit.s1:
        return None
    k = (fit.sxy * fit.s1 - fit.sx * fit.sy) / determinant
    q = (fit.sxx * fit.sy - fit.sx * fit.sxy) / determinant
    if k <= 0.0:
        return None
    left = max(0.0, fit.syy - k * fit.sxy - q * fit.sy)
    error = sqrt(left / (fit.w - 2.0) * fit.s1 / determinant)
    slowest = k - 2.0 * error
    span = Span(1.0 / (k + 2.0 * error), 1.0 / k, 1.0 / slowest if slowest > 0.0 else inf)
    return Lag(span, q / k)


class Minimum(NamedTuple):
    """The coldest that a space comes to, and how many hours ahead."""

    t_degc: float
    hours: float


def minimum_ahead(
    inside_degc: float, outside: Sequence[tuple[float, float]], time_constant_h: float, gain_k: float = 0.0
) -> Minimum:
    """Find the coldest that a space comes to under a forecast.

    Args:
        inside_degc: space now, degC, -80 to 80.
        outside: forecast as (hours ahead, degC), hours rising, the first being now (0) or later; straight between.
        time_constant_h: time constant, h, 0.01 to 10 000; the low end of its span is the safe one.
        gain_k: how much warmer than the air outside the space settles, K, -40 to 40.

    Returns:
        Temperature and the hours to it, exact also between forecast hours.

    Raises:
        ValueError: an empty forecast, one that goes back in time, or a value outside its range.

    Equation: `lag_step_degc` from point to point; within a step dT/dt = 0 at tau ln(C / (r tau)), C = T0 - u0 + r tau.

    >>> low = minimum_ahead(5.0, [(0.0, -10.0), (6.0, -10.0), (7.0, 8.0), (12.0, 8.0)], 20.0)
    >>> round(low.t_degc, 2), round(low.hours, 1)
    (0.94, 6.6)
    """
    if not outside:
        raise ValueError("the forecast is empty")
    within("gain", gain_k, -40.0, 40.0, "K")
    coldest = Minimum(inside_degc, 0.0)
    now_h, now_degc = 0.0, outside[0][1] + gain_k
    for ahead_h, outside_degc in outside:
        next_degc = outside_degc + gain_k
        hours = ahead_h - now_h
        if hours < 0.0:
            raise ValueError(f"the forecast goes back from {now_h:.6g} h to {ahead_h:.6g} h")
        if hours > 0.0:
            turn_h = _turn_h(inside_degc, now_degc, next_degc, hours, time_constant_h)
            if turn_h is not None:
                turn_degc = now_degc + (next_degc - now_degc) * turn_h / hours
                if turn_degc < coldest.t_degc:
                    coldest = Minimum(turn_degc, now_h + turn_h)
            inside_degc = lag_step_degc(inside_degc, now_degc, next_degc, hours, time_constant_h)
            if inside_degc < coldest.t_degc:
                coldest = Minimum(inside_degc, ahead_h)
        now_h, now_degc = ahead_h, next_degc
    return coldest


def _turn_h(inside: float, outside: float, outside_next: float, hours: float, time_constant_h: float) -> float | None:
    # Where the space stops falling inside a step, it is as warm as the air outside: dT/dt = (u - T) / tau = 0.
    behind = (outside_next - outside) / hours * time_constant_h
    if behind <= 0.0 or inside <= outside:
        return None
    turn_h = time_constant_h * log((inside - outside + behind) / behind)
    return turn_h if turn_h < hours else None


def daily_minimum(mean_degc: float, amplitude_k: float, time_constant_h: float) -> Minimum:
    """Find the coldest that a space comes to under a daily wave outside, once it has settled into it.

    Args:
        mean_degc: mean of the day outside, degC, -80 to 80; add the gain of the space.
        amplitude_k: half of highest less lowest outside, K, 0 to 40.
        time_constant_h: time constant, h, 0.01 to 10 000.

    Returns:
        Temperature, and the hours by which it comes after the coldest outside.

    Raises:
        ValueError: outside those ranges.

    Equation: T_min = mean - A / sqrt(1 + (w tau)^2), delay = atan(w tau) / w, w = 2 pi / 24 h.
    Source: frequency response of a first-order lag, any text on control.

    >>> low = daily_minimum(2.0, 6.0, 12.0)
    >>> round(low.t_degc, 2), round(low.hours, 2)
    (0.18, 4.82)
    """
    within("mean outside", mean_degc, -80.0, 80.0, "degC")
    within("amplitude", amplitude_k, 0.0, 40.0, "K")
    within("time constant", time_constant_h, 0.01, 1e4, "h")
    turns = 2.0 * pi / 24.0 * time_constant_h
    return Minimum(mean_degc - amplitude_k / sqrt(1.0 + turns * turns), atan(turns) / (2.0 * pi / 24.0))
