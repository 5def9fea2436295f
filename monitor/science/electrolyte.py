"""Where the acid of a lead-acid battery freezes: a flat one does in an ordinary frost."""

from monitor.science.domain import within
from monitor.science.interpolation import interpolate

FULL_SG = 1.265
"""Specific gravity of a full flooded battery at 26.7 degC (battery industry scale)."""

FLAT_SG = 1.120
"""Specific gravity of a flat flooded battery at 26.7 degC (battery industry scale)."""

# Battery industry scale at 26.7 degC (80 degF), flooded.
_CHARGE_PCT = (0.0, 25.0, 50.0, 75.0, 100.0)
_CHARGE_SG = (1.120, 1.155, 1.190, 1.225, 1.265)

# Specific gravity -> degC; wherever sources differ the warmer stands here, because it is the safe one to act on.
# 1.000 pure water; 1.100 and 1.150 US Army and makers' tables; 1.120, 1.155 and 1.190 the same tables, where they agree
# with thermodynamics; 1.225 thermodynamics (a maker -37, Army interpolated -39); 1.250 and 1.265 the Army's -52 and -57
# warmed by the 10 K by which that table is colder than thermodynamics at most; 1.300 held.
_SG = (1.000, 1.100, 1.120, 1.150, 1.155, 1.190, 1.225, 1.250, 1.265, 1.300)
_FREEZING_DEGC = (0.0, -7.0, -10.0, -15.0, -16.0, -24.0, -33.0, -42.0, -47.0, -47.0)


def electrolyte_freezing_point_degc(sg: float) -> float:
    """Find where battery acid begins to freeze, from its specific gravity: the warmest of the published figures.

    Args:
        sg: specific gravity at 26.7 degC, 1.000 to 1.300; above 1.265 the figure is held (stronger acid is colder).

    Returns:
        Freezing point, degC; published figures are up to 10 K colder above 1.225, and within 2 K below.

    Raises:
        ValueError: outside that range.

    Equation: straight lines between the rows of the table above.
    Source: US Army and makers' tables, and thermodynamics; the warmer where they differ.

    >>> electrolyte_freezing_point_degc(1.225), electrolyte_freezing_point_degc(1.1)
    (-33.0, -7.0)
    """
    within("specific gravity", sg, 1.0, 1.3, "(26.7 degC)")
    return interpolate(sg, _SG, _FREEZING_DEGC)


def sg_from_charge(charge_pct: float) -> float:
    """Find the specific gravity of a flooded battery from its charge.

    Args:
        charge_pct: charge, %, 0 to 100.

    Returns:
        Specific gravity at 26.7 degC; it varies by maker, by about 0.01.

    Raises:
        ValueError: outside that range.

    Equation: straight lines between 1.120, 1.155, 1.190, 1.225 and 1.265 at 0, 25, 50, 75 and 100 %.
    Source: battery industry scale, flooded, 26.7 degC.

    >>> sg_from_charge(75.0)
    1.225
    """
    within("charge", charge_pct, 0.0, 100.0, "%")
    return interpolate(charge_pct, _CHARGE_PCT, _CHARGE_SG)


def charge_from_sg_pct(sg: float) -> float:
    """Find the charge of a flooded battery from its specific gravity, the inverse of `sg_from_charge`.

    Args:
        sg: specific gravity at 26.7 degC, 1.000 to 1.300; weaker than 1.120 reads 0 %, stronger than 1.265 reads 100 %.

    Returns:
        Charge, %, 0 to 100.

    Raises:
        ValueError: outside that range.

    Source: as `sg_from_charge`.

    >>> charge_from_sg_pct(1.19)
    50.0
    """
    within("specific gravity", sg, 1.0, 1.3, "(26.7 degC)")
    return interpolate(sg, _CHARGE_SG, _CHARGE_PCT)


def battery_freezing_point_degc(charge_pct: float) -> float:
    """Find where a lead-acid battery begins to freeze, from its charge: the warmest of the published figures.

    Args:
        charge_pct: charge, %, 0 to 100.

    Returns:
        Freezing point, degC. AGM and gel hold stronger acid at the same charge, so for them too it errs safely.

    Raises:
        ValueError: outside that range.

    Equation: `sg_from_charge` into `electrolyte_freezing_point_degc`.
    Source: as those two; a widely copied table 10 to 15 K colder is wrong.

    >>> [battery_freezing_point_degc(charge) for charge in (75.0, 50.0, 25.0, 0.0)]
    [-33.0, -24.0, -16.0, -10.0]
    """
    return electrolyte_freezing_point_degc(sg_from_charge(charge_pct))


def charge_freezing_at_pct(t_degc: float) -> float:
    """Find the charge at which a lead-acid battery begins to freeze, the inverse of `battery_freezing_point_degc`.

    Args:
        t_degc: temperature, degC, -60 to 0.

    Returns:
        Charge, %, 0 to 100: with less than that it freezes there. 0 where even a flat one does not, above -10 degC; 100
        where no charge keeps it, below -47 degC.

    Raises:
        ValueError: outside that range.

    Source: as `battery_freezing_point_degc`.

    >>> charge_freezing_at_pct(-24.0), charge_freezing_at_pct(-5.0)
    (50.0, 0.0)
    """
    within("temperature", t_degc, -60.0, 0.0, "degC")
    colder_first = _CHARGE_FREEZES[::-1]
    return interpolate(t_degc, tuple(t for t, _ in colder_first), tuple(charge for _, charge in colder_first))


# The same lines as in `battery_freezing_point_degc`, at every charge where either of its tables has a row.
_CHARGE_FREEZES = tuple(
    (battery_freezing_point_degc(charge), charge)
    for charge in sorted({*_CHARGE_PCT, *(charge_from_sg_pct(sg) for sg in _SG if FLAT_SG <= sg <= FULL_SG)})
)


def cell_rested_v_from_sg(sg: float) -> float:
    """Find the rested voltage of one lead-acid cell from the specific gravity of its acid.

    Args:
        sg: specific gravity at 26.7 degC, 1.050 to 1.300.

    Returns:
        Open-circuit voltage of one cell, V, to about 0.02 V; in weaker acid than 1.150 it reads lower still.

    Raises:
        ValueError: outside that range.

    Equation: V = SG + 0.84.
    Source: rule of thumb of battery makers' handbooks.

    >>> round(cell_rested_v_from_sg(1.265), 3)
    2.105
    """
    within("specific gravity", sg, 1.05, 1.3, "(26.7 degC)")
    return sg + 0.84


def sg_from_cell_rested_v(cell_rested_v: float) -> float:
    """Find the specific gravity of a cell's acid from its rested voltage, the inverse of `cell_rested_v_from_sg`.

    Args:
        cell_rested_v: open-circuit voltage of one cell, V, 1.89 to 2.14.

    Returns:
        Specific gravity at 26.7 degC.

    Raises:
        ValueError: outside that range.

    Source: as `cell_rested_v_from_sg`.

    >>> round(sg_from_cell_rested_v(2.105), 3)
    1.265
    """
    within("rested cell voltage", cell_rested_v, 1.05 + 0.84, 1.3 + 0.84, "V")
    return cell_rested_v - 0.84
