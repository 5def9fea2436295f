"""Lithium iron phosphate cells: flat volts, little loss, and a management that draws, cuts off and refuses frost."""

from bisect import bisect_right
from dataclasses import dataclass

# Rested volts of a cell by charge: the middle between charts (common practice, no standard: 13.0 V at 30 %, 13.2 at 40,
# 13.3 at 70, 13.4 at 90 for four cells) and the cell of Prada et al. 2013, J. Electrochem. Soc. 160, as PyBaMM has it
# (12.8 V at 30 %, 13.0 at 40, 13.1 at 70, 13.3 at 90). They stand 0.2 V apart; 40 to 70 % is less than 0.1 V.
_CHARGED = (0.0, 0.05, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 0.99, 1.0)
_CELL_V = (2.50, 2.90, 3.05, 3.19, 3.23, 3.280, 3.287, 3.293, 3.300, 3.322, 3.335, 3.36, 3.40)
# Share of the capacity given at a temperature (makers' data sheets: 80 % at 0 degC, 70 % at -20 degC).
_AVAILABLE_DEGC = (-20.0, 0.0, 25.0)
_AVAILABLE = (0.7, 0.8, 1.0)


@dataclass(frozen=True, slots=True)
class Lithium:
    """LiFePO4 cells with a management system.

    Attributes:
        loss_per_month: share of the charge lost by itself in a month at 20 degC; at most 2 % (makers' data sheets).
        surface_cell_v: what stands above the rested volts of a cell when a charger stops; from memory.
        engine_cell_v: volts per cell at which an alternator is held, 14.2 V for four (common practice).
        ohm_ah: resistance of 1 Ah at 12 V, times Ah; common practice, no source.
        knee: its resistance does not grow where the capacity ends: its rested volts fall there.
        fills_s: time constant of the last of a charge: it takes the full current till nearly full; common practice.
        charges_above_degc: its management lets no charge in below this (makers' data sheets).
        cut_off_cell_v: its management cuts off at this (makers print 2.5 to 2.8 V), and connects again when charged.
        cut_off_charged: the share of charge at which a cell rests there.
    """

    loss_per_month: float = 0.02
    surface_cell_v: float = 0.05
    engine_cell_v: float = 3.55
    ohm_ah: float = 0.4
    knee: float = 0.0
    fills_s: float = 1800.0
    charges_above_degc: float = 0.0
    cut_off_cell_v: float = 2.8
    cut_off_charged: float = 0.0375

    def cells(self, nominal_v: float) -> int:
        """Give how many cells make a bank's nominal volts: four for 12 or 12.8 V, eight for 24 or 25.6."""
        return 4 * max(round(nominal_v / 12.4), 1)

    def rested_cell_v(self, charged: float, degc: float) -> float:  # noqa: ARG002 - entropy moves it by microvolts
        """Give a cell's open-circuit volts at a share of charge; temperature moves them too little to see."""
        return cell_v(charged)

    def float_cell_v(self, degc: float) -> float:  # noqa: ARG002 - chargers do not compensate lithium
        """Give the volts at which a charger holds a full cell: 13.6 V for four, warm or cold (common practice)."""
        return 3.4

    def loss_factor(self, degc: float) -> float:
        """Give self-discharge over that at 20 degC: doubling each 10 K (common practice), and never more than there."""
        return min(float(2.0 ** ((degc - 20) / 10)), 1.0)

    def available(self, degc: float) -> float:
        """Give the share of the capacity that the cold leaves."""
        return _between(_AVAILABLE_DEGC, _AVAILABLE, degc)

    def freezes_degc(self, charged: float) -> float | None:  # noqa: ARG002 - whatever its charge
        """Its organic electrolyte does not freeze in any yard."""
        return None


LITHIUM = Lithium()


def cell_v(charged: float) -> float:
    """Give a cell's rested volts at a share of charge from 0 to 1.

    >>> round(4 * cell_v(0.5), 2)  # 13.1 to 13.2 V at half charge (Prada et al. 2013, charts)
    13.15
    """
    return _between(_CHARGED, _CELL_V, charged)


def _between(xs: tuple[float, ...], ys: tuple[float, ...], x: float) -> float:
    row = bisect_right(xs, x)
    if row == 0:
        return ys[0]
    if row == len(xs):
        return ys[-1]
    return ys[row - 1] + (x - xs[row - 1]) / (xs[row] - xs[row - 1]) * (ys[row] - ys[row - 1])
