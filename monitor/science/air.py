"""Moist air: how much water it holds, and where that water settles.

Two conventions live side by side below 0 degC. Relative humidity here is always **over water**, as humidity sensors and
airport records state it (WMO-No. 8); what is over ice says *ice* or *frost* in its name. Mixing them costs 0.5 to 3 K.
"""

from math import exp, log

from monitor.science.domain import within

STANDARD_PRESSURE_PA = 101_325.0
"""Pressure of the standard atmosphere at sea level, Pa (ICAO)."""

# Sonntag 1990, as WMO-No. 8: e = 611.2 exp(a t / (b + t)) Pa, t in degC. Each pair serves the formula and its inverse.
_TRIPLE_PA = 611.2
_WATER_A, _WATER_B = 17.62, 243.12
_ICE_A, _ICE_B = 22.46, 272.62
_WATER_LOW_DEGC, _WATER_HIGH_DEGC = -45.0, 60.0
_ICE_LOW_DEGC, _ICE_HIGH_DEGC = -65.0, 0.01
_WATER_LOW_PA = _TRIPLE_PA * exp(_WATER_A * _WATER_LOW_DEGC / (_WATER_B + _WATER_LOW_DEGC))
_WATER_HIGH_PA = _TRIPLE_PA * exp(_WATER_A * _WATER_HIGH_DEGC / (_WATER_B + _WATER_HIGH_DEGC))
_ICE_LOW_PA = _TRIPLE_PA * exp(_ICE_A * _ICE_LOW_DEGC / (_ICE_B + _ICE_LOW_DEGC))
_ICE_HIGH_PA = _TRIPLE_PA * exp(_ICE_A * _ICE_HIGH_DEGC / (_ICE_B + _ICE_HIGH_DEGC))


def saturation_pressure_water_pa(t_degc: float) -> float:
    """Find the vapour pressure of air saturated over liquid water, also below 0 degC.

    Args:
        t_degc: temperature, degC, -45 to 60.

    Returns:
        Vapour pressure, Pa.

    Raises:
        ValueError: outside that range.

    Equation: e = 611.2 exp(17.62 t / (243.12 + t)).
    Source: Sonntag 1990; WMO-No. 8, Guide to Instruments and Methods of Observation, annex 4.B.

    >>> round(saturation_pressure_water_pa(20.0), 1)
    2332.6
    """
    within("temperature", t_degc, _WATER_LOW_DEGC, _WATER_HIGH_DEGC, "degC")
    return _TRIPLE_PA * exp(_WATER_A * t_degc / (_WATER_B + t_degc))


def saturation_pressure_ice_pa(t_degc: float) -> float:
    """Find the vapour pressure of air saturated over ice.

    Args:
        t_degc: temperature, degC, -65 to 0.01.

    Returns:
        Vapour pressure, Pa.

    Raises:
        ValueError: outside that range.

    Equation: e = 611.2 exp(22.46 t / (272.62 + t)).
    Source: Sonntag 1990; WMO-No. 8, annex 4.B.

    >>> round(saturation_pressure_ice_pa(-10.0), 1)
    259.9
    """
    within("temperature", t_degc, _ICE_LOW_DEGC, _ICE_HIGH_DEGC, "degC")
    return _TRIPLE_PA * exp(_ICE_A * t_degc / (_ICE_B + t_degc))


def vapour_pressure_pa(t_degc: float, rh_pct: float) -> float:
    """Find the vapour pressure of air from its temperature and relative humidity over water.

    Args:
        t_degc: air temperature, degC, -45 to 60.
        rh_pct: relative humidity over water, %, 0 to 100.

    Returns:
        Vapour pressure, Pa.

    Raises:
        ValueError: outside those ranges.

    Equation: e = RH / 100 e_water(t).
    Source: WMO-No. 8, annex 4.B.

    >>> round(vapour_pressure_pa(20.0, 50.0), 1)
    1166.3
    """
    within("relative humidity", rh_pct, 0.0, 100.0, "%")
    return saturation_pressure_water_pa(t_degc) * rh_pct / 100.0


def dew_point_from_pressure_degc(vapour_pa: float) -> float:
    """Find the dew point, over water, of a vapour pressure: the inverse of `saturation_pressure_water_pa`.

    Args:
        vapour_pa: vapour pressure, Pa, that of saturation at -45 to 60 degC (11.1 to 19 840 Pa).

    Returns:
        Dew point over water, degC.

    Raises:
        ValueError: outside that range.

    Equation: t = 243.12 x / (17.62 - x), x = ln(e / 611.2).
    Source: WMO-No. 8, annex 4.B.

    >>> round(dew_point_from_pressure_degc(1166.3), 2)
    9.26
    """
    within("vapour pressure", vapour_pa, _WATER_LOW_PA, _WATER_HIGH_PA, "Pa")
    x = log(vapour_pa / _TRIPLE_PA)
    return _WATER_B * x / (_WATER_A - x)


def frost_point_from_pressure_degc(vapour_pa: float) -> float:
    """Find the frost point, over ice, of a vapour pressure: the inverse of `saturation_pressure_ice_pa`.

    Args:
        vapour_pa: vapour pressure, Pa, that of saturation over ice at -65 to 0.01 degC (0.54 to 611.7 Pa).

    Returns:
        Frost point over ice, degC.

    Raises:
        ValueError: outside that range; wetter air has a dew point and no frost point.

    Equation: t = 272.62 x / (22.46 - x), x = ln(e / 611.2).
    Source: WMO-No. 8, annex 4.B.

    >>> round(frost_point_from_pressure_degc(259.9), 1)
    -10.0
    """
    within("vapour pressure", vapour_pa, _ICE_LOW_PA, _ICE_HIGH_PA, "Pa")
    x = log(vapour_pa / _TRIPLE_PA)
    return _ICE_B * x / (_ICE_A - x)


def dew_point_degc(t_degc: float, rh_pct: float) -> float:
    """Find the dew point, over water also below 0 degC, of air at a temperature and relative humidity over water.

    Args:
        t_degc: air temperature, degC, -45 to 60.
        rh_pct: relative humidity over water, %, above 0 (for a dew point not below -45 degC) to 100.

    Returns:
        Dew point over water, degC.

    Raises:
        ValueError: outside those ranges.

    Equation: `vapour_pressure_pa` into `dew_point_from_pressure_degc`.
    Source: WMO-No. 8, annex 4.B.

    >>> round(dew_point_degc(20.0, 50.0), 2)
    9.26
    >>> round(dew_point_degc(-10.0, 80.0), 2)
    -12.8
    """
    return dew_point_from_pressure_degc(vapour_pressure_pa(t_degc, rh_pct))


def frost_point_degc(t_degc: float, rh_pct: float) -> float:
    """Find the frost point, over ice, of air at a temperature and relative humidity over water.

    Args:
        t_degc: air temperature, degC, -45 to 60.
        rh_pct: relative humidity over water, %, above 0 to 100, with a vapour pressure of 0.54 to 611.7 Pa.

    Returns:
        Frost point over ice, degC; warmer than the dew point of the same air.

    Raises:
        ValueError: outside those ranges.

    Equation: `vapour_pressure_pa` into `frost_point_from_pressure_degc`.
    Source: WMO-No. 8, annex 4.B.

    >>> round(frost_point_degc(-10.0, 80.0), 2)
    -11.39
    """
    return frost_point_from_pressure_degc(vapour_pressure_pa(t_degc, rh_pct))


def settling_point_degc(t_degc: float, rh_pct: float) -> float:
    """Find the surface temperature at which this air begins to leave water: dew above 0 degC, hoar frost below.

    Args:
        t_degc: air temperature, degC, -45 to 60.
        rh_pct: relative humidity over water, %, above 0 to 100.

    Returns:
        Dew point over water where that is 0 degC or more, else frost point over ice, degC.

    Raises:
        ValueError: outside those ranges.

    Equation: `dew_point_degc`, below 0 degC `frost_point_degc`; both pass 0 degC at 611.2 Pa.
    Source: WMO-No. 8, annex 4.B.

    >>> round(settling_point_degc(-10.0, 80.0), 2), round(settling_point_degc(10.0, 80.0), 2)
    (-11.39, 6.71)
    """
    vapour_pa = vapour_pressure_pa(t_degc, rh_pct)
    if vapour_pa >= _TRIPLE_PA:
        return dew_point_from_pressure_degc(vapour_pa)
    return frost_point_from_pressure_degc(vapour_pa)


def rh_from_dew_point_pct(t_degc: float, dew_point_degc: float) -> float:
    """Find the relative humidity over water from air temperature and dew point, the inverse of `dew_point_degc`.

    Args:
        t_degc: air temperature, degC, -45 to 60.
        dew_point_degc: dew point over water, degC, -45 to ``t_degc``.

    Returns:
        Relative humidity over water, %.

    Raises:
        ValueError: outside those ranges.

    Equation: RH = 100 e_water(td) / e_water(t).
    Source: WMO-No. 8, annex 4.B.

    >>> round(rh_from_dew_point_pct(20.0, 9.26), 1)
    50.0
    """
    within("dew point", dew_point_degc, _WATER_LOW_DEGC, t_degc, "degC")
    return 100.0 * saturation_pressure_water_pa(dew_point_degc) / saturation_pressure_water_pa(t_degc)


def rh_at_surface_pct(t_degc: float, rh_pct: float, surface_degc: float) -> float:
    """Find the relative humidity over water in the film of air on a surface, which has the room's vapour pressure.

    Args:
        t_degc: air temperature, degC, -45 to 60.
        rh_pct: relative humidity of the air over water, %, 0 to 100.
        surface_degc: surface temperature, degC, -45 to 60.

    Returns:
        Relative humidity over water at the surface, %, at most 100: there it is wet, or rimed below 0 degC.

    Raises:
        ValueError: outside those ranges.

    Equation: RH_s = min(100, RH e_water(t) / e_water(t_s)).
    Source: conservation of vapour pressure in still air (ISO 13788, surface humidity).

    >>> round(rh_at_surface_pct(20.0, 50.0, 12.0), 1)
    83.3
    >>> rh_at_surface_pct(20.0, 50.0, 5.0)
    100.0
    """
    return min(100.0, 100.0 * vapour_pressure_pa(t_degc, rh_pct) / saturation_pressure_water_pa(surface_degc))


def mixing_ratio(t_degc: float, rh_pct: float, pressure_pa: float = STANDARD_PRESSURE_PA) -> float:
    """Find the water in air per mass of dry air, which warming alone does not change: drying is judged by it.

    Args:
        t_degc: air temperature, degC, -45 to 60.
        rh_pct: relative humidity over water, %, 0 to 100.
        pressure_pa: air pressure, Pa, 50 000 to 110 000.

    Returns:
        kg of water per kg of dry air.

    Raises:
        ValueError: outside those ranges.

    Equation: w = 0.622 e / (p - e).
    Source: WMO-No. 8, annex 4.B (0.62198, rounded).

    >>> round(mixing_ratio(20.0, 50.0), 5)
    0.00724
    """
    within("air pressure", pressure_pa, 50_000.0, 110_000.0, "Pa")
    vapour_pa = vapour_pressure_pa(t_degc, rh_pct)
    return 0.622 * vapour_pa / (pressure_pa - vapour_pa)


def absolute_humidity_g_per_m3(t_degc: float, rh_pct: float) -> float:
    """Find the water in air per volume.

    Args:
        t_degc: air temperature, degC, -45 to 60.
        rh_pct: relative humidity over water, %, 0 to 100.

    Returns:
        g of water per cubic metre.

    Raises:
        ValueError: outside those ranges.

    Equation: a = 2.16679 e / (t + 273.15), e in Pa.
    Source: the ideal gas law for water vapour (molar mass 18.015 g/mol).

    >>> round(absolute_humidity_g_per_m3(20.0, 50.0), 2)
    8.62
    """
    return 2.16679 * vapour_pressure_pa(t_degc, rh_pct) / (t_degc + 273.15)
