"""How fast a battery fades by itself, and what load explains the rest."""

from math import inf, sqrt

from monitor.science.battery import Chemistry
from monitor.science.domain import within
from monitor.science.span import Span

_DAYS_A_MONTH = 30.4
# % a day at a temperature, low and high source. Flooded: maker's handbook, 10 % a month at 25 degC; maker's bulletin,
# 25 % in 30 days at 27 degC (and in 100 days at 10 degC, which is the same line). AGM and gel: 1 to 3 % a month at
# 20 degC, common practice.
_SELF_DISCHARGE = {
    Chemistry.FLOODED: ((10.0 / _DAYS_A_MONTH, 25.0), (25.0 / 30.0, 27.0)),
    Chemistry.AGM: ((1.0 / _DAYS_A_MONTH, 20.0), (3.0 / _DAYS_A_MONTH, 20.0)),
    Chemistry.GEL: ((1.0 / _DAYS_A_MONTH, 20.0), (3.0 / _DAYS_A_MONTH, 20.0)),
}
_DOUBLES_EACH_K = 10.0


def self_discharge_pct_per_day(chemistry: Chemistry, t_degc: float) -> Span:
    """Find how fast a battery fades by itself, with the twofold spread between sources.

    Args:
        chemistry: kind of battery.
        t_degc: battery temperature, degC, -40 to 60.

    Returns:
        % of capacity a day: low and high source, and their geometric mean; LiFePO4 0 to 2 % a month at any temperature.

    Raises:
        ValueError: outside that range.

    Equation: r(t) = r0 2^((t - t0) / 10).
    Source: flooded: maker's handbook (10-12 % a month at 25 degC) and maker's bulletin (25 % in 30 days at 27 degC, in
    100 days at 10 degC); AGM and gel 1-3 % a month at 20 degC, and doubling each 10 K: common practice.

    >>> [round(r, 2) for r in self_discharge_pct_per_day(Chemistry.FLOODED, 10.0)]
    [0.12, 0.17, 0.26]
    """
    within("battery temperature", t_degc, -40.0, 60.0, "degC")
    if chemistry is Chemistry.LIFEPO4:
        return Span(0.0, 1.0 / _DAYS_A_MONTH, 2.0 / _DAYS_A_MONTH)
    (low, low_degc), (high, high_degc) = _SELF_DISCHARGE[chemistry]
    low *= 2.0 ** ((t_degc - low_degc) / _DOUBLES_EACH_K)
    high *= 2.0 ** ((t_degc - high_degc) / _DOUBLES_EACH_K)
    return Span(low, sqrt(low * high), high)


def load_pct_per_day(load_ma: float, capacity_ah: float) -> float:
    """Find what share of a battery a steady load takes each day.

    Args:
        load_ma: load, mA, 0 to 100 000.
        capacity_ah: capacity of the bank, Ah, 1 to 10 000.

    Returns:
        % of capacity a day.

    Raises:
        ValueError: outside those ranges.

    Equation: 100 (24 I / 1000) / C.

    >>> round(load_pct_per_day(20.0, 100.0), 2)
    0.48
    """
    within("load", load_ma, 0.0, 1e5, "mA")
    within("capacity", capacity_ah, 1.0, 1e4, "Ah")
    return 2.4 * load_ma / capacity_ah


def load_ma_from_pct_per_day(decline_pct_per_day: float, capacity_ah: float) -> float:
    """Find the steady load that takes a share of a battery each day, the inverse of `load_pct_per_day`.

    Args:
        decline_pct_per_day: % of capacity a day, 0 or more.
        capacity_ah: capacity of the bank, Ah, 1 to 10 000.

    Returns:
        Load, mA.

    Raises:
        ValueError: outside those ranges.

    >>> round(load_ma_from_pct_per_day(0.48, 100.0), 6)
    20.0
    """
    within("decline", decline_pct_per_day, 0.0, inf, "%/day")
    within("capacity", capacity_ah, 1.0, 1e4, "Ah")
    return decline_pct_per_day * capacity_ah / 2.4


def excess_load_ma(decline: Span, self_discharge: Span, capacity_ah: float) -> Span:
    """Find the load that explains what self-discharge does not of an observed decline.

    Args:
        decline: observed decline, % of capacity a day, as `decline_pct_per_day` gives it.
        self_discharge: what the battery loses by itself, % a day, as `self_discharge_pct_per_day` gives it.
        capacity_ah: capacity of the bank, Ah, 1 to 10 000.

    Returns:
        Load, mA, each at least 0; a low above 0 is a load that no reading of the sources explains away.

    Raises:
        ValueError: outside those ranges.

    Equation: I = (decline - self-discharge) C / 2.4; low takes the high self-discharge, high the low one.

    >>> [round(x) for x in excess_load_ma(Span(0.5, 0.6, 0.7), Span(0.1, 0.15, 0.2), 100.0)]
    [12, 19, 25]
    """
    return Span(
        load_ma_from_pct_per_day(max(0.0, decline.low - self_discharge.high), capacity_ah),
        load_ma_from_pct_per_day(max(0.0, decline.best - self_discharge.best), capacity_ah),
        load_ma_from_pct_per_day(max(0.0, decline.high - self_discharge.low), capacity_ah),
    )


def days_to_charge(charge_pct: float, floor_pct: float, decline_pct_per_day: float) -> float:
    """Find how long until a battery has faded to a charge.

    Args:
        charge_pct: charge now, %, 0 to 100.
        floor_pct: charge to reach, %, 0 to 100.
        decline_pct_per_day: % of capacity lost a day.

    Returns:
        Days: 0 where it is there already, infinite where it does not fall.

    Raises:
        ValueError: outside those ranges.

    Equation: (Q - Q_floor) / rate.

    >>> days_to_charge(90.0, 75.0, 0.5)
    30.0
    """
    within("charge", charge_pct, 0.0, 100.0, "%")
    within("charge to reach", floor_pct, 0.0, 100.0, "%")
    if charge_pct <= floor_pct:
        return 0.0
    return (charge_pct - floor_pct) / decline_pct_per_day if decline_pct_per_day > 0.0 else inf
