"""Water vapour in air, by the simulator's own formula.

Buck, *New equations for computing vapor pressure and enhancement factor*, J. Appl. Meteorol. 20 (1981), in the form of
his 1996 revision. The watch uses another one (WMO-No. 8), on purpose.
"""

from math import exp

KELVIN = 273.15
# Gas constant of water vapour, J/(kg K): 8.314462 / 0.018015.
R_VAPOUR = 461.5


def saturation_pa(degc: float) -> float:
    """Give the saturation vapour pressure over water, also below 0 degC.

    ``e = 611.21 exp((18.678 - t / 234.5) t / (257.14 + t))`` Pa, t in degC, -80 to 50.

    >>> round(saturation_pa(20.0))  # 2339 Pa in the steam tables (IAPWS)
    2338
    """
    return 611.21 * exp((18.678 - degc / 234.5) * degc / (257.14 + degc))


def density_kg_m3(pressure_pa: float, degc: float) -> float:
    """Give the vapour density of air at a vapour pressure and a temperature (ideal gas)."""
    return pressure_pa / (R_VAPOUR * (degc + KELVIN))


def saturation_kg_m3(degc: float) -> float:
    """Give the vapour density of saturated air.

    >>> round(1000 * saturation_kg_m3(20.0), 1)  # 17.3 g/m3 is the textbook figure
    17.3
    """
    return saturation_pa(degc) / (R_VAPOUR * (degc + KELVIN))
