"""Batteries against the industry's tables, Bode 1977 and Prada 2013 (both by PyBaMM), and standard entropies."""

from collections.abc import Callable
from functools import cache, partial

from monitor.science.battery import (
    Chemistry,
    charge_from_rested_v,
    rested_v_at_reference,
    rested_v_from_charge,
)
from monitor.science.discharge import load_pct_per_day, self_discharge_pct_per_day
from monitor.science.electrolyte import (
    battery_freezing_point_degc,
    cell_rested_v_from_sg,
    electrolyte_freezing_point_degc,
    sg_from_charge,
)
from monitor.science.interpolation import interpolate

# check, source, ours, theirs, tolerance, why that tolerance
CHECKS: list[tuple[str, str, Callable[[], float], Callable[[], float] | float, float, str]] = []

INDUSTRY = "battery industry scale, flooded, 26.7 degC (REFERENCES.md)"
PRINTED = "half of the last printed digit"
FLOODED_ROWS = (
    (100.0, 1.265, 12.65),
    (75.0, 1.225, 12.45),
    (50.0, 1.190, 12.24),
    (25.0, 1.155, 12.06),
    (0.0, 1.120, 11.89),
)


@cache
def bode_12v(molality: float) -> float:
    """Open-circuit voltage of six cells, V, at 25 degC, acid in mol per kg of water."""
    import pybamm
    from pybamm.input.parameters.lead_acid import Sulzer2019

    acid = pybamm.Scalar(molality)
    positive = Sulzer2019.lead_dioxide_ocp_Bode1977(acid).evaluate()
    negative = Sulzer2019.lead_ocp_Bode1977(acid).evaluate()
    return 6.0 * float(positive - negative)


# H2SO4 in water: mass % -> density over that of water at 26.7 degC. Laliberte and Cooper 2004, J. Chem. Eng. Data 49,
# as computed by the library thermo; Perry's handbook has the same at 20 degC to 0.001.
ACID_SG = (1.1110, 1.1257, 1.1407, 1.1559, 1.1713, 1.1869, 1.2028, 1.2189, 1.2353, 1.2520, 1.2689, 1.2861)
ACID_MASS_PCT = (16.0, 18.0, 20.0, 22.0, 24.0, 26.0, 28.0, 30.0, 32.0, 34.0, 36.0, 38.0)


def molality_from_sg(sg: float) -> float:
    share = interpolate(sg, ACID_SG, ACID_MASS_PCT) / 100.0
    return 1000.0 * share / (98.079 * (1.0 - share))


CHECKS += [
    (f"flooded, {charge:g} %, SG", INDUSTRY, partial(sg_from_charge, charge), sg, 0.0005, PRINTED)
    for charge, sg, _ in FLOODED_ROWS
]
CHECKS += [
    (
        f"flooded, {charge:g} %, rested V",
        INDUSTRY,
        partial(rested_v_from_charge, Chemistry.FLOODED, charge, 26.7),
        volts,
        0.005,
        PRINTED,
    )
    for charge, _, volts in FLOODED_ROWS
]
CHECKS += [
    (
        f"flooded, {charge:g} %, rested V by thermodynamics",
        "Bode 1977 by PyBaMM Sulzer2019, acid by Laliberte and Cooper 2004",
        partial(rested_v_from_charge, Chemistry.FLOODED, charge, 25.0),
        lambda sg=sg: bode_12v(molality_from_sg(sg)),
        0.05,
        "makers' scales differ by 0.05 V, which the formula states as part of its uncertainty",
    )
    for charge, sg, _ in FLOODED_ROWS
]
CHECKS += [
    (
        f"cell V = SG + 0.84 at {sg}",
        "Bode 1977 by PyBaMM Sulzer2019, acid by Laliberte and Cooper 2004",
        partial(cell_rested_v_from_sg, sg),
        lambda sg=sg: bode_12v(molality_from_sg(sg)) / 6.0,
        0.02,
        "common practice prints it with 0.84 and 0.85, two decimals, for working acid (1.150 and up)",
    )
    for _, sg, _ in FLOODED_ROWS[:-1]
]
CHECKS += [
    (
        f"Bode 1977, six cells at {molality:g} mol/kg, V",
        "looked up in REFERENCES.md: that the library still says so",
        partial(bode_12v, molality),
        volts,
        0.0005,
        PRINTED,
    )
    for molality, volts in ((2.0, 11.847), (4.0, 12.327), (6.0, 12.736))
]
CHECKS += [
    (
        f"AGM, {charge:g} %, rested V",
        "AGM makers' tables (REFERENCES.md)",
        partial(rested_v_from_charge, Chemistry.AGM, charge, 26.7),
        volts,
        0.05,
        "printed to 0.1 V",
    )
    for charge, volts in ((100.0, 12.8), (75.0, 12.6), (50.0, 12.3), (25.0, 12.0))
]


def entropy_v_per_k() -> float:
    # Pb + PbO2 + 2 H+ + 2 HSO4- -> 2 PbSO4 + 2 H2O, J/(mol K): CRC Handbook, standard entropies at 25 degC.
    entropy = 2.0 * 148.5 + 2.0 * 70.0 - 64.8 - 68.6 - 2.0 * 131.8
    return entropy / (2.0 * 96_485.0)


CHECKS.append(
    (
        "lead-acid cell, V/K",
        "standard entropies, CRC Handbook of Chemistry and Physics",
        lambda: (rested_v_at_reference(12.0, 0.0) - rested_v_at_reference(12.0, 10.0)) / 60.0,
        entropy_v_per_k,
        0.00005,
        "entropies are printed to 0.1 J/(mol K); battery acid is not at unit activity",
    )
)

ARMY = "US Army and makers' tables (REFERENCES.md)"
CHECKS += [
    (f"acid of SG {sg} freezes, degC", ARMY, partial(electrolyte_freezing_point_degc, sg), degc, room_k, why)
    for sg, degc, room_k, why in (
        (1.100, -7.0, 0.5, "printed to whole degrees"),
        (1.150, -15.0, 0.5, "printed to whole degrees"),
        (1.200, -27.0, 0.5, "printed to whole degrees"),
        (1.250, -52.0, 10.0, "the table is up to 10 K colder than thermodynamics above 1.225"),
        (1.265, -57.0, 10.0, "the table is up to 10 K colder than thermodynamics above 1.225"),
    )
]
CHECKS += [
    (
        f"battery at {charge:g} % freezes, degC",
        "Army tables and thermodynamics, the warmer (REFERENCES.md)",
        partial(battery_freezing_point_degc, charge),
        degc,
        0.5,
        "printed to whole degrees",
    )
    for charge, degc in ((75.0, -33.0), (50.0, -24.0), (25.0, -16.0), (0.0, -10.0))
]

CHECKS += [
    (
        "flooded, self-discharge in 100 days at 10 degC, high, %",
        "maker's bulletin (REFERENCES.md)",
        lambda: 100.0 * self_discharge_pct_per_day(Chemistry.FLOODED, 10.0).high,
        25.0,
        2.5,
        "printed to a quarter of the charge; doubling each 10 K is common practice",
    ),
    (
        "flooded, self-discharge in 30 days at 27 degC, high, %",
        "maker's bulletin (REFERENCES.md)",
        lambda: 30.0 * self_discharge_pct_per_day(Chemistry.FLOODED, 27.0).high,
        25.0,
        2.5,
        "printed to a quarter of the charge",
    ),
    (
        "flooded, self-discharge in a month at 25 degC, low, %",
        "maker's handbook, 10-12 % (REFERENCES.md)",
        lambda: 30.4 * self_discharge_pct_per_day(Chemistry.FLOODED, 25.0).low,
        11.0,
        1.0,
        "the handbook's own range",
    ),
    (
        "AGM, self-discharge in a month at 20 degC, %",
        "common practice, 1-3 % (REFERENCES.md)",
        lambda: 30.4 * self_discharge_pct_per_day(Chemistry.AGM, 20.0).best,
        2.0,
        1.0,
        "the range itself",
    ),
    (
        "20 mA over 180 days, Ah",
        "DESIGN.md, fitting and power",
        lambda: load_pct_per_day(20.0, 100.0) * 180.0,
        86.0,
        0.5,
        "printed to whole Ah",
    ),
]


def test_rule_of_thumb_reads_low_in_flat_acid() -> None:
    assert cell_rested_v_from_sg(1.120) < bode_12v(molality_from_sg(1.120)) / 6.0


def test_acid_is_never_said_to_freeze_colder_than_a_source_says() -> None:
    # (SG, degC) of every source in REFERENCES.md: Army and makers' tables, thermodynamics, a maker.
    for sg, degc in (
        (1.265, -57.0),
        (1.25, -52.0),
        (1.2, -27.0),
        (1.15, -15.0),
        (1.1, -7.0),
        (1.225, -33.0),
        (1.225, -37.0),
    ):
        assert electrolyte_freezing_point_degc(sg) >= degc


@cache
def prada_12v() -> list[tuple[float, float]]:
    """Charge in % and open-circuit voltage of four LiFePO4 cells, V: Prada et al. 2013."""
    import pybamm

    values = pybamm.ParameterValues("Prada2013")
    symbols = pybamm.LithiumIonParameters()
    solver = pybamm.lithium_ion.ElectrodeSOHSolver(values, symbols)
    kelvin = values["Ambient temperature [K]"]
    rows = []
    for charge_pct in (5, 10, 20, 30, 40, 50, 60, 70, 80, 90, 95):
        negative, positive = solver.get_initial_stoichiometries(charge_pct / 100.0)
        volts = values.evaluate(symbols.p.prim.U(pybamm.Scalar(positive), kelvin)) - values.evaluate(
            symbols.n.prim.U(pybamm.Scalar(negative), kelvin)
        )
        rows.append((float(charge_pct), 4.0 * float(volts)))
    return rows


def test_lithium_charge_lies_in_what_its_volts_are_said_to_tell() -> None:
    for charge_pct, volts in prada_12v():
        told = charge_from_rested_v(Chemistry.LIFEPO4, volts, 25.0)
        assert told.low_pct <= charge_pct <= told.high_pct, f"{charge_pct} % at {volts:.3f} V: {told}"


def test_lithium_volts_hardly_move_between_40_and_70_percent_and_tell_nothing() -> None:
    flat = [(charge, volts) for charge, volts in prada_12v() if 40.0 <= charge <= 70.0]
    assert max(v for _, v in flat) - min(v for _, v in flat) < 0.1  # REFERENCES.md: less than 0.1 V
    assert all(charge_from_rested_v(Chemistry.LIFEPO4, volts, 25.0).best_pct is None for _, volts in flat)
