"""The VTT mould model: an index from 0 (none) to 6 (all over) that grows on damp, mild surfaces and slowly fades.

Humidity is over water and at the surface, not in the middle of the room: `monitor.science.air.rh_at_surface_pct`.
"""

from dataclasses import dataclass
from enum import StrEnum
from math import exp, inf, log
from typing import NamedTuple

from monitor.science.domain import within

FIRST_GROWTH = 1.0
"""Index at which a microscope finds the first growth."""

SEEN = 3.0
"""Index at which the eye finds it."""

LONGEST_STEP_H = 1.0
"""A reading speaks for at most this long; beyond it nothing is known."""


class Sensitivity(StrEnum):
    """How readily a material carries mould, by the classes of Ojanen, Viitanen et al. 2010."""

    VERY_SENSITIVE = "very sensitive"
    SENSITIVE = "sensitive"
    MEDIUM_RESISTANT = "medium resistant"
    RESISTANT = "resistant"


class _Class(NamedTuple):
    k1_young: float
    k1_grown: float
    a: float
    b: float
    c: float
    rh_min_pct: float


# Ojanen, Viitanen et al. 2010: k1 for M < 1 and M >= 1; A, B, C of the ceiling; lowest critical humidity.
_CLASSES = {
    Sensitivity.VERY_SENSITIVE: _Class(1.0, 2.0, 1.0, 7.0, 2.0, 80.0),
    Sensitivity.SENSITIVE: _Class(0.578, 0.386, 0.3, 6.0, 1.0, 80.0),
    Sensitivity.MEDIUM_RESISTANT: _Class(0.072, 0.097, 0.0, 5.0, 1.5, 85.0),
    Sensitivity.RESISTANT: _Class(0.033, 0.014, 0.0, 3.0, 1.0, 85.0),
}
_DAY_H = 24.0


@dataclass(slots=True)
class Mould:
    """What a surface carries.

    Attributes:
        index: mould index, 0 to 6.
        unfavourable_h: how long growth has been impossible, h; 0 while it grows.
        unheard_h: hours for which no reading spoke, over which the index was held.
    """

    index: float = 0.0
    unfavourable_h: float = 0.0
    unheard_h: float = 0.0


def critical_rh_pct(t_degc: float, sensitivity: Sensitivity) -> float:
    """Find the surface humidity below which mould does not grow.

    Args:
        t_degc: surface temperature, degC, -80 to 80.
        sensitivity: class of the material.

    Returns:
        Relative humidity over water, %: 80 or 85 (by class) to 100; 100 at 0 degC and below.

    Raises:
        ValueError: outside that range.

    Equation: RHc = max(RHmin, -0.00267 T^3 + 0.160 T^2 - 3.13 T + 100) for 0 < T <= 20 degC, RHmin above.
    Source: Hukka and Viitanen 1999, Wood Science and Technology 33; RHmin of Ojanen, Viitanen et al. 2010.

    >>> round(critical_rh_pct(5.0, Sensitivity.SENSITIVE), 2), critical_rh_pct(22.0, Sensitivity.RESISTANT)
    (88.02, 85.0)
    """
    within("surface temperature", t_degc, -80.0, 80.0, "degC")
    lowest = _CLASSES[sensitivity].rh_min_pct
    if t_degc <= 0.0:
        return 100.0
    if t_degc > 20.0:
        return lowest
    return max(lowest, ((-0.00267 * t_degc + 0.160) * t_degc - 3.13) * t_degc + 100.0)


def weeks_to_first_growth(t_degc: float, rh_pct: float) -> float:
    """Find how long a very sensitive surface under steady conditions takes to its first growth.

    Args:
        t_degc: surface temperature, degC, above 0 to 50.
        rh_pct: surface relative humidity over water, %, 75 to 100; below the critical humidity it never comes.

    Returns:
        Weeks.

    Raises:
        ValueError: outside those ranges.

    Equation: t_m = exp(-0.68 ln T - 13.9 ln RH + 66.02); the wood and surface terms of 1999 are 0 (pine, sawn).
    Source: Hukka and Viitanen 1999.

    >>> round(7.0 * weeks_to_first_growth(10.0, 90.0), 1)
    47.1
    """
    within("surface temperature", t_degc, 1e-6, 50.0, "degC")
    within("surface humidity", rh_pct, 75.0, 100.0, "%")
    return exp(-0.68 * log(t_degc) - 13.9 * log(rh_pct) + 66.02)


def ceiling_index(t_degc: float, rh_pct: float, sensitivity: Sensitivity) -> float:
    """Find the index that growth comes to rest at under steady conditions.

    Args:
        t_degc: surface temperature, degC, -80 to 80.
        rh_pct: surface relative humidity over water, %, 0 to 100.
        sensitivity: class of the material.

    Returns:
        Mould index, 0 to 6; 0 where nothing grows.

    Raises:
        ValueError: outside those ranges.

    Equation: M_max = A + B x - C x^2, x = (RHc - RH) / (RHc - 100).
    Source: Hukka and Viitanen 1999; A, B, C of Ojanen, Viitanen et al. 2010.

    >>> ceiling_index(20.0, 100.0, Sensitivity.VERY_SENSITIVE)
    6.0
    """
    within("surface humidity", rh_pct, 0.0, 100.0, "%")
    critical = critical_rh_pct(t_degc, sensitivity)
    if not _grows(t_degc, rh_pct, critical):
        return 0.0
    x = (critical - rh_pct) / (critical - 100.0)
    row = _CLASSES[sensitivity]
    return row.a + row.b * x - row.c * x * x


def _grows(t_degc: float, rh_pct: float, critical_rh_pct: float) -> bool:
    return 0.0 < t_degc < 50.0 and critical_rh_pct <= rh_pct and critical_rh_pct < 100.0


def growth_per_day(index: float, t_degc: float, rh_pct: float, sensitivity: Sensitivity) -> float:
    """Find how fast mould grows.

    Args:
        index: mould index now, 0 to 6.
        t_degc: surface temperature, degC, -80 to 80.
        rh_pct: surface relative humidity over water, %, 0 to 100.
        sensitivity: class of the material.

    Returns:
        Index a day, 0 where nothing grows or the ceiling is reached.

    Raises:
        ValueError: outside those ranges.

    Equation: dM/dt = k1 k2 / (7 t_m), k2 = max(1 - exp(2.3 (M - M_max)), 0), t_m in weeks.
    Source: Hukka and Viitanen 1999; k1 of Ojanen, Viitanen et al. 2010.

    >>> round(growth_per_day(0.0, 10.0, 90.0, Sensitivity.VERY_SENSITIVE), 4)
    0.0212
    """
    within("mould index", index, 0.0, 6.0, "(1)")
    ceiling = ceiling_index(t_degc, rh_pct, sensitivity)
    if index >= ceiling:
        return 0.0
    row = _CLASSES[sensitivity]
    k1 = row.k1_young if index < FIRST_GROWTH else row.k1_grown
    return k1 * (1.0 - exp(2.3 * (index - ceiling))) / (7.0 * weeks_to_first_growth(t_degc, rh_pct))


def decline_over(unfavourable_h: float) -> float:
    """Find how much of the index fades over an unfavourable spell.

    Args:
        unfavourable_h: length of the spell, h, 0 or more.

    Returns:
        Index lost since the spell began; on wood, and no slower on other materials is assumed.

    Raises:
        ValueError: a negative length.

    Equation: 0.032 a day for the first 6 h, nothing to 24 h, 0.016 a day after.
    Source: Hukka and Viitanen 1999.

    >>> round(decline_over(6.0), 6), round(decline_over(24.0), 6), round(decline_over(48.0), 6)
    (0.008, 0.008, 0.024)
    """
    within("unfavourable spell", unfavourable_h, 0.0, inf, "h")
    return (0.032 * min(unfavourable_h, 6.0) + 0.016 * max(unfavourable_h - 24.0, 0.0)) / _DAY_H


def mould_step(state: Mould, hours: float, t_degc: float, rh_pct: float, sensitivity: Sensitivity) -> Mould:
    """Step the mould index over the time a reading speaks for.

    Args:
        state: so far; left as it is.
        hours: time since the last step, h, 0 or more; past one hour the rest is a gap: index held, gap counted.
        t_degc: surface temperature over the step, degC, -80 to 80.
        rh_pct: surface relative humidity over water over the step, %, 0 to 100.
        sensitivity: class of the material.

    Returns:
        New state.

    Raises:
        ValueError: outside those ranges.

    Equation: `growth_per_day` while favourable; else the difference of `decline_over` at both ends of the step, so that
    the length of the steps does not matter.
    Source: Hukka and Viitanen 1999.

    >>> state = Mould()
    >>> for _ in range(24 * 48):
    ...     state = mould_step(state, 1.0, 10.0, 90.0, Sensitivity.VERY_SENSITIVE)
    >>> round(state.index, 2)
    1.04
    """
    within("step", hours, 0.0, inf, "h")
    spoken_h = min(hours, LONGEST_STEP_H)
    unheard_h = state.unheard_h + hours - spoken_h
    within("surface humidity", rh_pct, 0.0, 100.0, "%")
    if _grows(t_degc, rh_pct, critical_rh_pct(t_degc, sensitivity)):
        grown = state.index + growth_per_day(state.index, t_degc, rh_pct, sensitivity) * spoken_h / _DAY_H
        return Mould(min(6.0, grown), 0.0, unheard_h)
    spell_h = state.unfavourable_h + spoken_h
    faded = decline_over(spell_h) - decline_over(state.unfavourable_h)
    return Mould(max(0.0, state.index - faded), spell_h, unheard_h)
