"""Where water, sea water and glycol begin to freeze: the slush point, not the burst point."""

from enum import StrEnum
from math import sqrt
from typing import NamedTuple

from monitor.science.domain import within
from monitor.science.interpolation import interpolate

FRESH_WATER_DEGC = 0.0
"""Freezing point of untreated fresh water, degC, by definition of the scale; raw water is fresh until measured."""

MAX_MASS_PCT = 60.0
"""Both published tables end here; beyond about 65 % the freezing point turns warmer again."""


class Glycol(StrEnum):
    """The two antifreezes whose tables are published; a tester scale for one misreads the other by 10 K or more."""

    ETHYLENE = "ethylene glycol"
    PROPYLENE = "propylene glycol"


class FreezingPoint(NamedTuple):
    """A freezing point and how far the published sources disagree about it.

    Attributes:
        t_degc: middle of the two sources, degC.
        uncertainty_k: distance between the two sources, K; the warm end is ``t_degc + uncertainty_k``.
    """

    t_degc: float
    uncertainty_k: float


# Our own quartic through 0 degC at 0 %, least squares on the mean of two sources at 10, 20 ... 60 % by mass: Melinder,
# Properties of Secondary Working Fluids for Indirect Systems, IIR 2010 (as CoolProp INCOMP::MEG, MPG) and ASHRAE
# Handbook - Fundamentals 2001. It misses that mean by at most 0.08 K.
_QUARTIC = {
    Glycol.ETHYLENE: (-0.291005, -2.70731e-3, -1.271205e-4, 3.78252e-7),
    Glycol.PROPYLENE: (-0.267442, -4.01191e-3, 1.119869e-5, -1.734675e-6),
}
_ROW_MASS_PCT = (0.0, 10.0, 20.0, 30.0, 40.0, 50.0, 60.0)
# |Melinder - ASHRAE| at those rows, K, rounded up and never falling: where the curves cross is no certainty.
_SPREAD_K = {
    Glycol.ETHYLENE: (0.0, 0.2, 0.2, 0.5, 1.55, 2.2, 2.9),
    Glycol.PROPYLENE: (0.0, 0.45, 0.45, 0.45, 0.55, 1.35, 1.35),
}
# ASHRAE Handbook Fundamentals 2001, aqueous glycol tables: the volume % of the same rows.
_ROW_VOLUME_PCT = {
    Glycol.ETHYLENE: (0.0, 8.9, 18.1, 27.7, 37.5, 47.6, 57.8),
    Glycol.PROPYLENE: (0.0, 9.6, 19.4, 29.4, 39.6, 49.9, 60.0),
}


def max_volume_pct(glycol: Glycol) -> float:
    """Give the strongest mixture by volume that the tables cover, %.

    >>> max_volume_pct(Glycol.ETHYLENE)
    57.8
    """
    return _ROW_VOLUME_PCT[glycol][-1]


def volume_pct_from_mass_pct(glycol: Glycol, mass_pct: float) -> float:
    """Turn glycol by mass into glycol by volume.

    Args:
        glycol: which glycol.
        mass_pct: mass %, 0 to 60.

    Returns:
        Volume %, straight lines between the published rows (they bow by less than 0.1 %).

    Raises:
        ValueError: past 60 %.

    Source: ASHRAE Handbook - Fundamentals (2001), aqueous glycol tables.

    >>> volume_pct_from_mass_pct(Glycol.ETHYLENE, 30.0)
    27.7
    """
    within("glycol by mass", mass_pct, 0.0, MAX_MASS_PCT, "%")
    return interpolate(mass_pct, _ROW_MASS_PCT, _ROW_VOLUME_PCT[glycol])


def mass_pct_from_volume_pct(glycol: Glycol, volume_pct: float) -> float:
    """Turn glycol by volume into glycol by mass, the inverse of `volume_pct_from_mass_pct`.

    Args:
        glycol: which glycol.
        volume_pct: volume %, 0 to 57.8 (ethylene) or 60 (propylene).

    Returns:
        Mass %.

    Raises:
        ValueError: past the table.

    Source: as `volume_pct_from_mass_pct`.

    >>> mass_pct_from_volume_pct(Glycol.PROPYLENE, 29.4)
    30.0
    """
    rows = _ROW_VOLUME_PCT[glycol]
    within("glycol by volume", volume_pct, 0.0, rows[-1], "%")
    return interpolate(volume_pct, rows, _ROW_MASS_PCT)


def _best_degc(glycol: Glycol, mass_pct: float) -> float:
    c1, c2, c3, c4 = _QUARTIC[glycol]
    return mass_pct * (c1 + mass_pct * (c2 + mass_pct * (c3 + mass_pct * c4)))


def freezing_point_from_mass_pct(glycol: Glycol, mass_pct: float) -> FreezingPoint:
    """Find where a glycol and water mixture begins to freeze, from its strength by mass.

    Args:
        glycol: which glycol.
        mass_pct: mass %, 0 to 60; not extrapolated.

    Returns:
        Freezing point in degC and the spread between the sources in K.

    Raises:
        ValueError: past 60 %.

    Equation: T = c1 w + c2 w^2 + c3 w^3 + c4 w^4, w in mass %.
    Source: our fit to Melinder (IIR 2010) and ASHRAE Handbook - Fundamentals (2001), which at 30 % say -14.58 and
    -14.1 degC.

    >>> t, spread = freezing_point_from_mass_pct(Glycol.ETHYLENE, 30.0)
    >>> round(t, 1), spread
    (-14.3, 0.5)
    """
    within("glycol by mass", mass_pct, 0.0, MAX_MASS_PCT, "%")
    return FreezingPoint(_best_degc(glycol, mass_pct), interpolate(mass_pct, _ROW_MASS_PCT, _SPREAD_K[glycol]))


def freezing_point_from_volume_pct(glycol: Glycol, volume_pct: float) -> FreezingPoint:
    """Find where a glycol and water mixture begins to freeze, from its strength by volume.

    Args:
        glycol: which glycol.
        volume_pct: volume %, 0 to 57.8 (ethylene) or 60 (propylene).

    Returns:
        As `freezing_point_from_mass_pct`.

    Raises:
        ValueError: past the table.

    Source: as `freezing_point_from_mass_pct`, through the ASHRAE rows for volume.

    >>> round(freezing_point_from_volume_pct(Glycol.PROPYLENE, 29.4).t_degc, 1)
    -12.7
    """
    return freezing_point_from_mass_pct(glycol, mass_pct_from_volume_pct(glycol, volume_pct))


def mass_pct_for_freezing_point(glycol: Glycol, t_degc: float) -> float:
    """Find the strength by mass that freezes at a temperature, the inverse of `freezing_point_from_mass_pct`.

    Args:
        glycol: which glycol.
        t_degc: freezing point, degC, from that of 60 % by mass up to 0.

    Returns:
        Mass %, for the middle of the two sources.

    Raises:
        ValueError: outside what 0 to 60 % can give.

    Equation: the same quartic, halved to within 1e-9 %; it falls all the way from 0 to 60 %.

    >>> t_degc = freezing_point_from_mass_pct(Glycol.ETHYLENE, 30.0).t_degc
    >>> round(mass_pct_for_freezing_point(Glycol.ETHYLENE, t_degc), 6)
    30.0
    """
    within("freezing point", t_degc, _best_degc(glycol, MAX_MASS_PCT), FRESH_WATER_DEGC, "degC")
    weak, strong = 0.0, MAX_MASS_PCT
    while strong - weak > 1e-9:
        middle = (weak + strong) / 2.0
        if _best_degc(glycol, middle) > t_degc:
            weak = middle
        else:
            strong = middle
    return strong


def volume_pct_for_freezing_point(glycol: Glycol, t_degc: float) -> float:
    """Find the strength by volume that freezes at a temperature, the inverse of `freezing_point_from_volume_pct`.

    Args:
        glycol: which glycol.
        t_degc: freezing point, degC, as `mass_pct_for_freezing_point`.

    Returns:
        Volume %, for the middle of the two sources.

    Raises:
        ValueError: outside what 0 to 60 % by mass can give.

    >>> round(volume_pct_for_freezing_point(Glycol.PROPYLENE, -12.74), 1)
    29.4
    """
    return volume_pct_from_mass_pct(glycol, mass_pct_for_freezing_point(glycol, t_degc))


def sea_water_freezing_point_degc(salinity: float, pressure_dbar: float = 0.0) -> float:
    """Find where sea water begins to freeze.

    Args:
        salinity: practical salinity (PSS-78, about g of salt per kg), 0 to 40; published for 4 to 40, 0 is fresh.
        pressure_dbar: pressure below the surface, dbar (1 dbar is 10 kPa, about 1 m), 0 to 500.

    Returns:
        Freezing point, degC, to within 0.004 K as published.

    Raises:
        ValueError: outside those ranges.

    Equation: T = -0.0575 S + 1.710523e-3 S^1.5 - 2.154996e-4 S^2 - 7.53e-4 p.
    Source: Millero 1978; UNESCO technical papers in marine science 44 (1983), which checks itself at S = 40, p = 500
    with -2.588567 degC.

    >>> round(sea_water_freezing_point_degc(40.0, 500.0), 6)
    -2.588567
    >>> round(sea_water_freezing_point_degc(35.0), 3)
    -1.922
    """
    within("practical salinity", salinity, 0.0, 40.0, "(PSS-78)")
    within("pressure", pressure_dbar, 0.0, 500.0, "dbar")
    return (-0.0575 + 1.710523e-3 * sqrt(salinity) - 2.154996e-4 * salinity) * salinity - 7.53e-4 * pressure_dbar
