"""What becomes of antifreeze when water stayed behind, and how to bring a weak mixture up."""

from monitor.science.domain import within
from monitor.science.freezing import (
    FRESH_WATER_DEGC,
    MAX_MASS_PCT,
    FreezingPoint,
    Glycol,
    freezing_point_from_mass_pct,
    freezing_point_from_volume_pct,
    volume_pct_from_mass_pct,
)

_MOST_L = 1e5  # a tank lorry; above it a unit is wrong


def diluted_volume_pct(poured_volume_pct: float, poured_l: float, residual_l: float) -> float:
    """Find the strength left when a poured mixture meets the water that stayed behind.

    Args:
        poured_volume_pct: strength of what is poured, volume %, 0 to 100.
        poured_l: how much is poured, L, above 0.
        residual_l: water that stayed in the system, L, 0 or more.

    Returns:
        Volume %; that glycol and water shrink by under 1 % on mixing is neglected.

    Raises:
        ValueError: outside those ranges.

    Equation: c = c0 V / (V + R), conservation of glycol.

    >>> diluted_volume_pct(50.0, 8.0, 2.0)
    40.0
    """
    within("poured glycol by volume", poured_volume_pct, 0.0, 100.0, "%")
    within("poured amount", poured_l, 1e-3, _MOST_L, "L")
    within("residual water", residual_l, 0.0, _MOST_L, "L")
    return poured_volume_pct * (poured_l / (poured_l + residual_l))  # in this order it never rises


def freezing_point_after_dilution(
    glycol: Glycol, poured_volume_pct: float, poured_l: float, residual_l: float
) -> FreezingPoint:
    """Find where a poured mixture begins to freeze once the water that stayed behind has thinned it.

    Args:
        glycol: which glycol.
        poured_volume_pct: strength of what is poured, volume %, 0 to 100.
        poured_l: how much is poured, L, above 0.
        residual_l: water that stayed in the system, L, 0 or more.

    Returns:
        Freezing point in degC and the spread between the sources in K.

    Raises:
        ValueError: outside those ranges, or where the blend is stronger than the tables.

    Equation: `diluted_volume_pct` into `freezing_point_from_volume_pct`.

    >>> round(freezing_point_after_dilution(Glycol.ETHYLENE, 47.6, 8.0, 2.0).t_degc, 1)
    -23.7
    """
    return freezing_point_from_volume_pct(glycol, diluted_volume_pct(poured_volume_pct, poured_l, residual_l))


def volume_pct_to_protect(glycol: Glycol, wanted_degc: float) -> float:
    """Find the weakest mixture that still flows at a temperature by both published sources.

    Args:
        glycol: which glycol.
        wanted_degc: lowest temperature to be protected at, degC, 0 down to the warm end for 60 % by mass.

    Returns:
        Volume %: where the freezing point plus the spread between the sources meets ``wanted_degc``.

    Raises:
        ValueError: warmer than 0 degC, or colder than 60 % by mass can be sure of.

    Equation: T(w) + spread(w) = wanted; the sum falls all the way from 0 to 60 %, and is halved to within 1e-9 %.

    >>> round(volume_pct_to_protect(Glycol.ETHYLENE, -20.0), 1)
    35.8
    """
    within("wanted protection", wanted_degc, coldest_protected_degc(glycol), FRESH_WATER_DEGC, "degC")
    return volume_pct_from_mass_pct(glycol, _mass_pct_where(glycol, wanted_degc, 1.0))


def coldest_protected_degc(glycol: Glycol) -> float:
    """Give the coldest that any mixture of the tables is sure of by both sources, degC.

    >>> round(coldest_protected_degc(Glycol.ETHYLENE), 1)
    -46.9
    """
    return sum(freezing_point_from_mass_pct(glycol, MAX_MASS_PCT))


def weakest_volume_pct(glycol: Glycol, tested_degc: float) -> float:
    """Find the weakest mixture that may stand behind a tested freezing point, by either published source.

    Args:
        glycol: which glycol.
        tested_degc: tested freezing point, degC, 0 down to the cold end for 60 % by mass.

    Returns:
        Volume %: where the freezing point less the spread between the sources meets ``tested_degc``.

    Raises:
        ValueError: warmer than 0 degC, or colder than 60 % by mass can give.

    Equation: T(w) - spread(w) = tested; the difference falls all the way from 0 to 60 %, halved to within 1e-9 %.

    >>> round(weakest_volume_pct(Glycol.ETHYLENE, -20.0), 1)
    33.2
    """
    point = freezing_point_from_mass_pct(glycol, MAX_MASS_PCT)
    within("tested freezing point", tested_degc, point.t_degc - point.uncertainty_k, FRESH_WATER_DEGC, "degC")
    return volume_pct_from_mass_pct(glycol, _mass_pct_where(glycol, tested_degc, -1.0))


def _mass_pct_where(glycol: Glycol, t_degc: float, spreads: float) -> float:
    """Halve 0 to 60 % by mass until the freezing point and so many spreads between the sources meet a temperature."""
    weak, strong = 0.0, MAX_MASS_PCT
    while strong - weak > 1e-9:
        middle = (weak + strong) / 2.0
        point = freezing_point_from_mass_pct(glycol, middle)
        if point.t_degc + spreads * point.uncertainty_k > t_degc:
            weak = middle
        else:
            strong = middle
    return strong


def drain_and_replace_l(
    system_l: float, present_volume_pct: float, wanted_volume_pct: float, fill_volume_pct: float = 100.0
) -> float:
    """Find how much of a full system to drain and replace to bring it up to a wanted strength.

    Args:
        system_l: what the system holds, L, above 0.
        present_volume_pct: strength now, volume %, 0 to 100.
        wanted_volume_pct: strength wanted, volume %; `volume_pct_to_protect` gives it from a temperature.
        fill_volume_pct: strength of what is put in, volume %, 100 is neat.

    Returns:
        Litres to drain and to replace; 0 where it is strong enough already.

    Raises:
        ValueError: outside those ranges, or where the fill is weaker than what is wanted.

    Equation: x = V (wanted - present) / (fill - present), conservation of glycol in a well mixed system.

    >>> drain_and_replace_l(12.0, 25.0, 50.0)
    4.0
    """
    within("system", system_l, 1e-3, _MOST_L, "L")
    within("present glycol by volume", present_volume_pct, 0.0, 100.0, "%")
    within("wanted glycol by volume", wanted_volume_pct, 0.0, 100.0, "%")
    if wanted_volume_pct <= present_volume_pct:
        return 0.0
    within("fill glycol by volume", fill_volume_pct, wanted_volume_pct, 100.0, "%")
    return system_l * (wanted_volume_pct - present_volume_pct) / (fill_volume_pct - present_volume_pct)
