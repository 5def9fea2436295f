"""What rested volts say about the charge of a battery, and when volts may be called rested."""

from enum import StrEnum
from math import hypot, inf
from typing import NamedTuple

from monitor.science.domain import within
from monitor.science.interpolation import interpolate
from monitor.science.span import Span


class Chemistry(StrEnum):
    """Kind of battery."""

    FLOODED = "flooded"
    AGM = "agm"
    GEL = "gel"
    LIFEPO4 = "lifepo4"


class Rest(StrEnum):
    """Whether a terminal voltage may be read as a rested one, and why not."""

    WORKING = "charged or loaded within the last hour"
    SETTLING = "no charge or load, but the voltage is still moving"
    RESTED = "at rest for an hour or more"
    WELL_RESTED = "at rest for six hours or more"


class Charge(NamedTuple):
    """A charge in % as far as the volts tell it; ``best_pct`` is None where they cannot."""

    low_pct: float
    best_pct: float | None
    high_pct: float


REFERENCE_DEGC = 26.7
"""The voltage tables are stated at 80 degF."""

_LEAD_CHARGE_PCT = (0.0, 25.0, 50.0, 75.0, 100.0)
# 12 V, at rest, 26.7 degC. Flooded: battery industry scale. AGM from 25 %, makers' tables. Gel, and AGM at 0 %: common
# practice. Makers differ by about the spread below: full and flooded is 12.65 V by the scale, 12.73 by one maker.
_LEAD_V = {
    Chemistry.FLOODED: (11.89, 12.06, 12.24, 12.45, 12.65),
    Chemistry.AGM: (11.80, 12.00, 12.30, 12.60, 12.80),
    Chemistry.GEL: (11.80, 12.00, 12.35, 12.65, 12.85),
}
_MAKER_SPREAD_V = 0.05
_V_PER_K = 6 * 0.0002
# Four LiFePO4 cells in series: the charge that some published source gives to that voltage, lowest and highest. Charts
# (common practice, no standard) and the cell of Prada et al. 2013, J. Electrochem. Soc. 160, disagree most where the
# curve is flat.
_LITHIUM_V = (10.0, 12.0, 12.4, 12.8, 13.2, 13.4, 13.6)
_LITHIUM_LOW_PCT = (0.0, 0.0, 5.0, 10.0, 30.0, 70.0, 90.0)
_LITHIUM_HIGH_PCT = (5.0, 15.0, 30.0, 50.0, 95.0, 98.0, 100.0)
_TELLS_WITHIN_PCT = 30.0


def rested_v_at_reference(rest_v: float, t_degc: float, nominal_v: float = 12.0) -> float:
    """Bring a lead-acid battery's rested voltage to what it would be at 26.7 degC.

    Args:
        rest_v: rested voltage, V, 0 to 13.5 for each 12 V nominal.
        t_degc: battery temperature, degC, -40 to 60.
        nominal_v: nominal voltage, V, 2 to 48.

    Returns:
        Rested voltage at 26.7 degC, V.

    Raises:
        ValueError: outside those ranges.

    Equation: V' = V - 0.0002 n (t - 26.7), n cells.
    Source: standard entropies (CRC Handbook) of Pb + PbO2 + 2 H2SO4 -> 2 PbSO4 + 2 H2O: dE/dT = dS / 2F = 0.21 mV/K.
    The printed 0.024 V per 10 degF is a relabelled hydrometer rule, not used.

    >>> round(rested_v_at_reference(12.42, 1.7), 2)
    12.45
    """
    within("nominal voltage", nominal_v, 2.0, 48.0, "V")
    within("rested voltage", rest_v, 0.0, 13.5 * nominal_v / 12.0, "V")
    within("battery temperature", t_degc, -40.0, 60.0, "degC")
    return rest_v - _V_PER_K * nominal_v / 12.0 * (t_degc - REFERENCE_DEGC)


def _charge_from_lithium_v(v: float, error_v: float) -> Charge:
    low = interpolate(v - error_v, _LITHIUM_V, _LITHIUM_LOW_PCT)
    high = interpolate(v + error_v, _LITHIUM_V, _LITHIUM_HIGH_PCT)
    return Charge(low, (low + high) / 2.0 if high - low <= _TELLS_WITHIN_PCT else None, high)


def charge_from_rested_v(
    chemistry: Chemistry, rest_v: float, t_degc: float, nominal_v: float = 12.0, error_v: float = 0.03
) -> Charge:
    """Read the charge of a rested battery from its voltage, with the room that meter and maker leave.

    Args:
        chemistry: kind of battery.
        rest_v: rested voltage, V; for each 12 V nominal 0 to 13.5, lithium 0 to 14.6.
        t_degc: battery temperature, degC, -40 to 60.
        nominal_v: nominal voltage, V, 2 to 48.
        error_v: error of the voltage measurement, V, 0 to 1.

    Returns:
        Charge in %, low, best and high; best is None where the voltage of a lithium battery cannot tell it.

    Raises:
        ValueError: outside those ranges.

    Equation: straight lines between the table's rows at 26.7 degC; low and high at V -+ sqrt(error^2 + 0.05^2).
    Source: flooded: battery industry scale; AGM: makers' tables; gel: common practice; LiFePO4:
    envelope of charts and Prada et al. 2013.

    >>> charge = charge_from_rested_v(Chemistry.FLOODED, 12.45, 26.7)
    >>> round(charge.low_pct), round(charge.best_pct), round(charge.high_pct)
    (68, 75, 82)
    >>> charge_from_rested_v(Chemistry.LIFEPO4, 13.2, 10.0).best_pct is None
    True
    """
    within("error of the voltage", error_v, 0.0, 1.0, "V")
    if chemistry is Chemistry.LIFEPO4:
        within("nominal voltage", nominal_v, 2.0, 48.0, "V")
        within("rested voltage", rest_v, 0.0, 14.6 * nominal_v / 12.0, "V")
        within("battery temperature", t_degc, -40.0, 60.0, "degC")
        return _charge_from_lithium_v(rest_v * 12.0 / nominal_v, error_v * 12.0 / nominal_v)
    v = rested_v_at_reference(rest_v, t_degc, nominal_v) * 12.0 / nominal_v
    room_v = hypot(error_v * 12.0 / nominal_v, _MAKER_SPREAD_V)
    rows = _LEAD_V[chemistry]
    return Charge(
        interpolate(v - room_v, rows, _LEAD_CHARGE_PCT),
        interpolate(v, rows, _LEAD_CHARGE_PCT),
        interpolate(v + room_v, rows, _LEAD_CHARGE_PCT),
    )


def rested_v_from_charge(chemistry: Chemistry, charge_pct: float, t_degc: float, nominal_v: float = 12.0) -> float:
    """Find the rested voltage of a lead-acid battery from its charge, the inverse of `charge_from_rested_v`.

    Args:
        chemistry: kind of battery; not LiFePO4, whose voltage hardly moves.
        charge_pct: charge, %, 0 to 100.
        t_degc: battery temperature, degC, -40 to 60.
        nominal_v: nominal voltage, V, 2 to 48.

    Returns:
        Rested voltage, V.

    Raises:
        ValueError: outside those ranges, or for LiFePO4.

    Source: as `charge_from_rested_v`.

    >>> round(rested_v_from_charge(Chemistry.FLOODED, 75.0, 26.7), 2)
    12.45
    """
    within("charge", charge_pct, 0.0, 100.0, "%")
    within("battery temperature", t_degc, -40.0, 60.0, "degC")
    within("nominal voltage", nominal_v, 2.0, 48.0, "V")
    rows = _lead_rows(chemistry)
    return (interpolate(charge_pct, _LEAD_CHARGE_PCT, rows) + _V_PER_K * (t_degc - REFERENCE_DEGC)) * nominal_v / 12.0


def _lead_rows(chemistry: Chemistry) -> tuple[float, ...]:
    if chemistry is Chemistry.LIFEPO4:
        raise ValueError("the voltage of a LiFePO4 battery does not tell its charge; only lead-acid has this table")
    return _LEAD_V[chemistry]


def decline_pct_per_day(
    chemistry: Chemistry, rest_v: float, slope_v_per_day: float, error_v_per_day: float, nominal_v: float = 12.0
) -> Span:
    """Turn the slope of the rested voltage into charge lost a day.

    Args:
        chemistry: kind of battery; not LiFePO4, whose voltage hardly moves.
        rest_v: rested voltage about which it moves, V, brought to 26.7 degC.
        slope_v_per_day: how that voltage moves, V/day; falling is negative.
        error_v_per_day: one standard error of that slope, V/day, 0 or more.
        nominal_v: nominal voltage, V, 2 to 48.

    Returns:
        % of capacity lost a day (gained is negative): low and high are two standard errors away.

    Raises:
        ValueError: outside those ranges, or for LiFePO4.

    Equation: -(dQ/dV) (s +- 2 se), dQ/dV from the table's rows on either side of the voltage.
    Source: as `charge_from_rested_v`.

    >>> [round(x, 2) for x in decline_pct_per_day(Chemistry.FLOODED, 12.5, -0.004, 0.001)]
    [0.25, 0.5, 0.75]
    """
    within("nominal voltage", nominal_v, 2.0, 48.0, "V")
    within("rested voltage", rest_v, 0.0, 13.5 * nominal_v / 12.0, "V")
    within("error of the slope", error_v_per_day, 0.0, inf, "V/day")
    rows = _lead_rows(chemistry)
    v = rest_v * 12.0 / nominal_v
    i = next((k for k in range(1, len(rows) - 1) if v < rows[k]), len(rows) - 1)
    pct_per_v = 25.0 / (rows[i] - rows[i - 1]) * 12.0 / nominal_v
    best = -pct_per_v * slope_v_per_day
    room = 2.0 * pct_per_v * error_v_per_day
    return Span(best - room, best, best + room)


def rest_of(hours_since_charge_or_load: float, slope_v_per_h: float | None, settled_v_per_h: float = 0.01) -> Rest:
    """Judge whether a terminal voltage may be read as a rested one.

    Args:
        hours_since_charge_or_load: hours since charge or load last stopped, 0 or more.
        slope_v_per_h: how the voltage moves, V/h; None where it is not known.
        settled_v_per_h: slope, for 12 V, under which it counts as settled (common practice), V/h.

    Returns:
        The verdict, whose value is its reason. An unknown slope is taken on trust from six hours on, not before.

    Raises:
        ValueError: a negative time.

    Source: makers' handbooks: 1 h at least, 6 to 24 h better.

    >>> rest_of(0.5, 0.0).name, rest_of(2.0, -0.05).name, rest_of(2.0, -0.004).name, rest_of(8.0, None).name
    ('WORKING', 'SETTLING', 'RESTED', 'WELL_RESTED')
    """
    within("time since charge or load", hours_since_charge_or_load, 0.0, inf, "h")
    if hours_since_charge_or_load < 1.0:
        return Rest.WORKING
    if slope_v_per_h is None:
        return Rest.SETTLING if hours_since_charge_or_load < 6.0 else Rest.WELL_RESTED
    if abs(slope_v_per_h) > settled_v_per_h:
        return Rest.SETTLING
    return Rest.RESTED if hours_since_charge_or_load < 6.0 else Rest.WELL_RESTED
