"""Freezing points against Melinder (CoolProp), ASHRAE, UNESCO 1983 and TEOS-10 (gsw)."""

from collections.abc import Callable
from functools import partial

import gsw
import pytest
from CoolProp.CoolProp import PropsSI

from monitor.science.freezing import (
    Glycol,
    freezing_point_from_mass_pct,
    freezing_point_from_volume_pct,
    sea_water_freezing_point_degc,
    volume_pct_from_mass_pct,
)

ETHYLENE, PROPYLENE = Glycol.ETHYLENE, Glycol.PROPYLENE

# check, source, ours, theirs, tolerance, why that tolerance
CHECKS: list[tuple[str, str, Callable[[], float], Callable[[], float] | float, float, str]] = []

MELINDER = "Melinder, IIR 2010, by CoolProp INCOMP::{fluid} T_FREEZE"
ASHRAE = "ASHRAE Handbook - Fundamentals (2001), aqueous glycol tables"
# The distance between the two sources at 10, 20 ... 60 % by mass (REFERENCES.md: up to 2.9 K): all that is claimed.
SPREAD_K = {ETHYLENE: (0.2, 0.2, 0.5, 1.55, 2.2, 2.9), PROPYLENE: (0.45, 0.45, 0.45, 0.55, 1.35, 1.35)}
ASHRAE_ROWS = {
    ETHYLENE: ((8.9, -3.2), (18.1, -7.8), (27.7, -14.1), (37.5, -22.3), (47.6, -33.8), (57.8, -48.3)),
    PROPYLENE: ((9.6, -3.3), (19.4, -7.1), (29.4, -12.7), (39.6, -21.1), (49.9, -33.5), (60.0, -51.1)),
}
FLUID = {ETHYLENE: "MEG", PROPYLENE: "MPG"}


def by_mass(glycol: Glycol, mass_pct: float) -> float:
    return freezing_point_from_mass_pct(glycol, mass_pct).t_degc


def by_volume(glycol: Glycol, volume_pct: float) -> float:
    return freezing_point_from_volume_pct(glycol, volume_pct).t_degc


def coolprop_degc(fluid: str, mass_pct: float) -> float:
    return float(PropsSI("T_FREEZE", "T", 300.0, "P", 101_325.0, f"INCOMP::{fluid}[{mass_pct / 100.0}]")) - 273.15


def teos10_degc(salinity: float, pressure_dbar: float) -> float:
    # Practical to absolute salinity by the reference composition, 35.16504 g/kg at 35; saturated with air, as Millero.
    return float(gsw.t_freezing(salinity * 35.16504 / 35.0, pressure_dbar, 1.0))


for glycol in Glycol:
    for row, spread_k in enumerate(SPREAD_K[glycol]):
        percent = 10.0 * (row + 1)
        CHECKS.append(
            (
                f"{glycol} {percent:g} % by mass",
                MELINDER.format(fluid=FLUID[glycol]),
                partial(by_mass, glycol, percent),
                partial(coolprop_degc, FLUID[glycol], percent),
                spread_k,
                "the distance between the two sources, which the formula states as its uncertainty",
            )
        )
        volume, degc = ASHRAE_ROWS[glycol][row]
        CHECKS.append(
            (
                f"{glycol} {volume:g} % by volume",
                ASHRAE,
                partial(by_volume, glycol, volume),
                degc,
                spread_k,
                "the distance between the two sources, which the formula states as its uncertainty",
            )
        )
        CHECKS.append(
            (
                f"{glycol} {percent:g} % by mass, as volume %",
                ASHRAE,
                partial(volume_pct_from_mass_pct, glycol, percent),
                volume,
                0.05,
                "half of the last printed digit",
            )
        )

CHECKS.append(
    (
        "sea water, salinity 40 at 500 dbar, degC",
        "UNESCO technical papers in marine science 44 (1983), check value",
        partial(sea_water_freezing_point_degc, 40.0, 500.0),
        -2.588567,
        5e-7,
        "half of the last printed digit",
    )
)
CHECKS += [
    (
        f"sea water, salinity {salinity:g} at {pressure:g} dbar, degC",
        "TEOS-10 by gsw.t_freezing",
        partial(sea_water_freezing_point_degc, salinity, pressure),
        partial(teos10_degc, salinity, pressure),
        0.004,
        "Millero 1978 states 0.004 K for salinity 4 to 40",
    )
    for salinity in (4.0, 12.0, 20.0, 28.0, 35.0, 40.0)
    for pressure in (0.0, 500.0)
]


@pytest.mark.parametrize("glycol", list(Glycol))
@pytest.mark.parametrize("percent", [10.0, 20.0, 30.0, 40.0, 50.0, 60.0])
def test_stated_uncertainty_reaches_both_sources(glycol: Glycol, percent: float) -> None:
    ours = freezing_point_from_mass_pct(glycol, percent)
    _, ashrae = ASHRAE_ROWS[glycol][round(percent / 10.0) - 1]
    for theirs in (coolprop_degc(FLUID[glycol], percent), ashrae):
        assert abs(theirs - ours.t_degc) <= ours.uncertainty_k


@pytest.mark.parametrize(
    ("fluid", "percent", "degc"),
    # REFERENCES.md, CoolProp 8.0.0, printed to 0.01 K: that the library still says what was looked up.
    [
        ("MEG", 20, -7.95),
        ("MEG", 30, -14.58),
        ("MEG", 40, -23.81),
        ("MEG", 50, -35.99),
        ("MPG", 20, -7.17),
        ("MPG", 30, -12.79),
        ("MPG", 40, -20.57),
        ("MPG", 50, -32.19),
    ],
)
def test_library_still_says_what_was_looked_up(fluid: str, percent: float, degc: float) -> None:
    assert coolprop_degc(fluid, percent) == pytest.approx(degc, abs=0.005)
