"""The two ways in which files state humidity below zero, and the one that the simulator keeps: dew point over water.

Airport records and sensors state it over water; most typical-year files over ice. Mixing them costs 0.5 to 3 K of dew
point. Above zero the two are the same.
"""

from enum import StrEnum
from math import exp, log, sqrt

from simulator.vapour import saturation_pa


class Over(StrEnum):
    """What a relative humidity, or a dew point, below 0 degC is stated over."""

    WATER = "water"
    ICE = "ice"


def ice_saturation_pa(degc: float) -> float:
    """Give the saturation vapour pressure over ice.

    ``e = 611.15 exp((23.036 - t / 333.7) t / (279.82 + t))`` Pa, t in degC, -80 to 0 (Buck 1981, revised 1996).

    >>> round(ice_saturation_pa(-10.0), 1)  # 259.9 Pa in the tables (Goff-Gratch, WMO)
    259.9
    """
    return 611.15 * exp((23.036 - degc / 333.7) * degc / (279.82 + degc))


def saturation_over_pa(degc: float, over: Over) -> float:
    """Give the saturation vapour pressure in a file's convention: over ice below 0 degC only."""
    return ice_saturation_pa(degc) if over is Over.ICE and degc < 0 else saturation_pa(degc)


def dew_point_degc(vapour_pa: float) -> float:
    """Give the dew point over water of a vapour pressure: the inverse of `saturation_pa`, exact.

    With ``L = ln(e / 611.21)`` it is the root near zero of ``t^2 / 234.5 + (L - 18.678) t + 257.14 L = 0``.

    >>> round(dew_point_degc(saturation_pa(-7.5)), 9)
    -7.5
    """
    if vapour_pa <= 0:
        raise ValueError(f"vapour pressure is {vapour_pa} Pa; a dew point needs more than 0 Pa")
    level = log(vapour_pa / 611.21)
    slope = 18.678 - level
    return 234.5 / 2 * (slope - sqrt(slope * slope - 4 * 257.14 * level / 234.5))


def dew_from_dew_degc(stated_degc: float, over: Over) -> float:
    """Give the dew point over water from a file's dew point.

    >>> round(dew_from_dew_degc(-11.39, Over.ICE), 1)  # frost point -11.39 is dew point -12.80 (REFERENCES.md)
    -12.8
    """
    return stated_degc if over is Over.WATER else dew_point_degc(saturation_over_pa(stated_degc, over))


def dew_from_humidity_degc(degc: float, percent: float, over: Over) -> float:
    """Give the dew point over water from air temperature and a file's relative humidity; at most the air's own.

    >>> round(dew_from_humidity_degc(-10.0, 80.0, Over.WATER), 1)  # -12.80 (REFERENCES.md)
    -12.8
    """
    return min(dew_point_degc(percent / 100 * saturation_over_pa(degc, over)), degc)
