"""Lead-acid cells: rested volts and freezing point of the acid in them, how fast they lose charge, what cold leaves.

Discharging takes one mole of acid for every mole of electrons and makes one of water, so the charge gives the molality;
the molality gives a cell's rested volts by Bode's polynomial (H. Bode, *Lead-Acid Batteries*, Wiley 1977) and, with
published tables, where ice begins to form.
"""

from bisect import bisect_right
from dataclasses import dataclass
from math import log10

from monitor.model.equipment import Chemistry

ACID_KG_MOL = 0.098079
WATER_KG_MOL = 0.018015
# Cell volts move by this with temperature (common practice, no source).
CELL_V_PER_K = 0.0002
# Float volts per cell at 25 degC and their compensation, as chargers do it (makers' handbooks: 2.25 V, -3 mV/K).
FLOAT_CELL_V = 2.25
FLOAT_CELL_V_PER_K = -0.003
# Of what it holds at 25 degC a battery gives this much less for each K below, to a load of some hours; the resistance
# grows as the capacity shrinks. Common practice (1 %/K); a US Army manual has 75 % left at 0 and 40 % at -18 degC.
COLD_PER_K = 0.01
LEAST_AVAILABLE = 0.2


@dataclass(frozen=True, slots=True)
class Acid:
    """What a kind of lead-acid battery is filled with, and how well it keeps.

    Attributes:
        full_molal: sulphuric acid, mol per kg of water, charged.
        empty_molal: the same, discharged.
        loss_per_month: share of the charge lost by itself in a month (30 days) at 20 degC.
        surface_cell_v: what stands above a cell's rested volts when a charger stops (makers' handbooks).
        engine_cell_v: volts per cell at which an alternator is held, 14.4 V for six (common practice).
        ohm_ah: resistance of 1 Ah at 12 V, times Ah; common practice, no source.
        knee: by how much of itself that grows where the capacity ends, so that the twentieth part of the capacity (A)
            brings the cells to 1.75 V, by which the 20-hour capacity is defined (EN 50342-1).
        fills_s: time constant by which a charger's current falls off as it fills; common practice, no source.
        charges_above_degc: it takes charge at any temperature, as long as it is not frozen.
        cut_off_cell_v: nothing cuts it off.
        cut_off_charged: the same as a share of charge.
    """

    full_molal: float
    empty_molal: float
    loss_per_month: float
    surface_cell_v: float = 0.07
    engine_cell_v: float = 2.4
    ohm_ah: float = 0.6
    knee: float = 44.0
    fills_s: float = 4 * 3600.0
    charges_above_degc: float = -100.0
    cut_off_cell_v: float = 0.0
    cut_off_charged: float = 0.0

    def cells(self, nominal_v: float) -> int:
        """Give how many cells make a bank's nominal volts."""
        return max(round(nominal_v / 2), 1)

    def molality(self, charged: float) -> float:
        """Give the molality at a share of charge from 0 to 1."""
        taken = (1 - charged) * (self.full_molal - self.empty_molal) / (1 + WATER_KG_MOL * self.empty_molal)
        return (self.full_molal - taken) / (1 + WATER_KG_MOL * taken)

    def rested_cell_v(self, charged: float, degc: float) -> float:
        """Give a cell's open-circuit volts at a share of charge and a temperature."""
        return cell_v(self.molality(charged)) + CELL_V_PER_K * (degc - 25)

    def float_cell_v(self, degc: float) -> float:
        """Give the volts at which a charger holds a full cell."""
        return FLOAT_CELL_V + FLOAT_CELL_V_PER_K * (degc - 25)

    def loss_factor(self, degc: float) -> float:
        """Give self-discharge over that at 20 degC: doubling each 10 K (common practice)."""
        return float(2.0 ** ((degc - 20) / 10))

    def available(self, degc: float) -> float:
        """Give the share of the capacity that the cold leaves to a load of some hours."""
        return min(max(1 - COLD_PER_K * (25 - degc), LEAST_AVAILABLE), 1.0)

    def freezes_degc(self, charged: float) -> float | None:
        """Give where ice begins to form in it."""
        return acid_freezes_degc(self.molality(charged))


# Flooded: 35.3 and 17.6 % acid by mass, which are specific gravities 1.265 and 1.120 (density tables of sulphuric
# acid), and a loss of 10 % a month at 20 degC, in the middle of what makers print. Sealed types are filled stronger and
# lose 1 to 3 % a month (common practice, no source).
ACIDS = {
    Chemistry.FLOODED: Acid(5.56, 2.17, 0.10),
    Chemistry.AGM: Acid(6.4, 2.4, 0.02),
    Chemistry.GEL: Acid(6.4, 2.4, 0.02),
}


def cell_v(molality: float) -> float:
    """Give a cell's rested volts at 25 degC.

    ``1.922 + 0.147519 x + 0.063552 x^2 + 0.073772 x^3 + 0.033612 x^4`` V, x = log10 of the molality (mol/kg, 0.5 to 7).

    >>> round(6 * cell_v(4), 2)  # 12.327 V by the two electrodes' potentials (Bode 1977)
    12.33
    """
    x = log10(molality)
    return 1.922 + x * (0.147519 + x * (0.063552 + x * (0.073772 + x * 0.033612)))


def acid_molality(mass_share: float) -> float:
    """Give mol of sulphuric acid per kg of water from its share of the mass.

    >>> round(acid_molality(0.353), 2)
    5.56
    """
    return mass_share / (1 - mass_share) / ACID_KG_MOL


# Specific gravity, mass share of acid there (CRC Handbook, density of sulphuric acid at 20 degC), and freezing point:
# US Army tables, but at 1.225 thermodynamics (-33; an army table drawn straight would have -39, a maker -37), and at
# 1.280 a US Army lesson (-90 degF). Stronger acid than that does not freeze in any yard.
_FREEZES = (
    (1.000, 0.0, 0.0),
    (1.100, 0.1473, -7.0),
    (1.150, 0.2138, -15.0),
    (1.200, 0.2770, -27.0),
    (1.225, 0.3080, -33.0),
    (1.250, 0.3382, -52.0),
    (1.265, 0.3560, -57.0),
    (1.280, 0.3735, -67.8),
)
_FREEZES_MOLAL = tuple(acid_molality(mass_share) for _, mass_share, _ in _FREEZES)
_FREEZES_DEGC = tuple(degc for _, _, degc in _FREEZES)


def acid_freezes_degc(molality: float) -> float:
    """Give where ice begins to form in sulphuric acid, by straight lines between published points.

    Args:
        molality: mol per kg of water; above 6.1 the last point is held.

    Source: US Army tables and thermodynamics, see the table; good to about 2 K below specific gravity 1.2, and to 10 K
    above 1.225, where sources differ.

    >>> round(acid_freezes_degc(acid_molality(0.2138)), 1)
    -15.0
    """
    row = bisect_right(_FREEZES_MOLAL, molality)
    if row == len(_FREEZES_MOLAL):
        return _FREEZES_DEGC[-1]
    below, above = _FREEZES_MOLAL[row - 1], _FREEZES_MOLAL[row]
    share = (molality - below) / (above - below)
    return _FREEZES_DEGC[row - 1] + share * (_FREEZES_DEGC[row] - _FREEZES_DEGC[row - 1])
