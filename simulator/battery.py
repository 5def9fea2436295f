"""A lead-acid battery laid up: charge, self-discharge by temperature, loads, a charger, and the volts at its terminals.

The volts follow from the acid. Discharging takes one mole of it for every mole of electrons and makes one of water, so
the charge gives the molality; the molality gives a cell's rested volts by Bode's polynomial (H. Bode, *Lead-Acid
Batteries*, Wiley 1977).
"""

from dataclasses import dataclass
from math import exp, expm1, log10
from typing import Annotated, Self

from pydantic import Field, model_validator

from monitor.model.equipment import Chemistry, Document, Positive
from simulator.heat import NotNegative


@dataclass(frozen=True, slots=True)
class Acid:
    """What a kind of lead-acid battery is filled with, and how well it keeps.

    Attributes:
        full_molal: sulphuric acid, mol per kg of water, charged.
        empty_molal: the same, discharged.
        loss_per_month: share of the charge lost by itself in a month (30 days) at 20 degC.
    """

    full_molal: float
    empty_molal: float
    loss_per_month: float

    def molality(self, charged: float) -> float:
        """Give the molality at a share of charge from 0 to 1."""
        taken = (1 - charged) * (self.full_molal - self.empty_molal) / (1 + WATER_KG_MOL * self.empty_molal)
        return (self.full_molal - taken) / (1 + WATER_KG_MOL * taken)


WATER_KG_MOL = 0.018015
# Flooded: 35.3 and 17.6 % acid by mass, which are specific gravities 1.265 and 1.120 (density tables of sulphuric
# acid), and a loss of 10 % a month at 20 degC, in the middle of what makers print. Sealed types are filled stronger and
# lose 1 to 3 % a month (common practice, no source).
ACIDS = {
    Chemistry.FLOODED: Acid(5.56, 2.17, 0.10),
    Chemistry.AGM: Acid(6.4, 2.4, 0.02),
    Chemistry.GEL: Acid(6.4, 2.4, 0.02),
}
# Cell volts move by this with temperature (common practice, no source).
CELL_V_PER_K = 0.0002
MONTH_S = 30 * 86_400.0
# A surface charge of this much stands above the rested volts when a charger stops, and fades with this time constant:
# rested after a day (makers' handbooks say 6 to 24 h).
SURFACE_V_PER_CELL = 0.07
SURFACE_FADES_S = 5 * 3600.0
# Float volts per cell at 25 degC and their compensation, as chargers do it (makers' handbooks: 2.25 V, -3 mV/K).
FLOAT_CELL_V = 2.25
FLOAT_CELL_V_PER_K = -0.003
# Resistance of 100 Ah at 12 V; common practice, no source.
OHM_AH = 0.6
# A charger's current falls off as the battery fills, with about this time constant; common practice, no source.
FILLS_S = 4 * 3600.0


class BatteryPlan(Document):
    """A bank as it truly is: its charge when left, what draws on it, and its charger (None where there is none)."""

    left_charged: Annotated[float, Field(gt=0, le=1)] = 1.0
    load_ma: NotNegative = 0.0
    charger_a: Positive | None = None


class BankPlan(BatteryPlan):
    """A bank with what the record says of it: chemistry, size and volts."""

    chemistry: Chemistry
    capacity_ah: Positive
    nominal_v: Positive = 12.0

    @model_validator(mode="after")
    def _is_lead(self) -> Self:
        if self.chemistry not in ACIDS:
            raise ValueError(f"chemistry {self.chemistry} cannot be simulated yet; choose one of {', '.join(ACIDS)}")
        return self


class Bank:
    """One battery bank, stepped through the winter.

    Attributes:
        charge_ah: charge in it.
        terminal_v: volts at its terminals.
        load_a: what draws on it.
        charger_on: whether its charger works (it also needs mains).
        charged_ah: charge a charger has put in since the start.
        drawn_ah: charge that loads have taken from the battery itself since the start.
        lost_ah: charge lost by self-discharge since the start.
    """

    __slots__ = (
        "_acid",
        "_cells",
        "_charger_a",
        "_ohm",
        "_surface_v",
        "capacity_ah",
        "charge_ah",
        "charged_ah",
        "charger_on",
        "drawn_ah",
        "load_a",
        "lost_ah",
        "terminal_v",
    )

    def __init__(self, plan: BankPlan, start_degc: float, *, mains: bool = False) -> None:
        self._acid = ACIDS[plan.chemistry]
        self._cells = round(plan.nominal_v / 2)
        self._charger_a = plan.charger_a or 0.0
        self._ohm = OHM_AH / plan.capacity_ah * plan.nominal_v / 12
        self.capacity_ah = plan.capacity_ah
        self.charge_ah = plan.capacity_ah * plan.left_charged
        self.load_a = plan.load_ma / 1000
        self.charger_on = plan.charger_a is not None
        self._surface_v = 0.0
        self.charged_ah = self.drawn_ah = self.lost_ah = 0.0
        self.terminal_v = self._float_v(start_degc) if mains and self.charger_on else self.rested_v(start_degc)

    def rested_v(self, degc: float) -> float:
        """Give the open-circuit volts at the present charge and a temperature."""
        molality = self._acid.molality(self.charge_ah / self.capacity_ah)
        return self._cells * (cell_v(molality) + CELL_V_PER_K * (degc - 25))

    def step(self, dt_s: float, degc: float, mains: bool) -> None:
        """Go on by a step at a battery temperature, with mains or without."""
        hours = dt_s / 3600
        lost = self.charge_ah * -expm1(-self._acid.loss_per_month * 2 ** ((degc - 20) / 10) * dt_s / MONTH_S)
        self.charge_ah -= lost
        self.lost_ah += lost
        if mains and self.charger_on:
            # The charger feeds the loads too; what is left fills the battery.
            missing = self.capacity_ah - self.charge_ah
            most = max(self._charger_a - self.load_a, 0.0) * hours
            put_in = min(missing * -expm1(-dt_s / FILLS_S), most)
            self.charge_ah += put_in
            self.charged_ah += put_in
            self._surface_v = SURFACE_V_PER_CELL * self._cells
            float_v = self._float_v(degc)
            # A charger at its limit cannot hold its float volts yet.
            limited_v = self.rested_v(degc) + self._surface_v + put_in / hours * self._ohm
            self.terminal_v = min(float_v, limited_v) if put_in >= most else float_v
            return
        drawn = min(self.load_a * hours, self.charge_ah)
        self.charge_ah -= drawn
        self.drawn_ah += drawn
        self._surface_v *= exp(-dt_s / SURFACE_FADES_S)
        self.terminal_v = self.rested_v(degc) + self._surface_v - drawn / hours * self._ohm

    def _float_v(self, degc: float) -> float:
        return self._cells * (FLOAT_CELL_V + FLOAT_CELL_V_PER_K * (degc - 25))


def cell_v(molality: float) -> float:
    """Give a cell's rested volts at 25 degC.

    ``1.922 + 0.147519 x + 0.063552 x^2 + 0.073772 x^3 + 0.033612 x^4`` V, x = log10 of the molality (mol/kg, 0.5 to 7).

    >>> round(6 * cell_v(4), 2)  # 12.327 V by the two electrodes' potentials (Bode 1977)
    12.33
    """
    x = log10(molality)
    return 1.922 + x * (0.147519 + x * (0.063552 + x * (0.073772 + x * 0.033612)))
