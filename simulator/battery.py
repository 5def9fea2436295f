"""A lead-acid battery laid up: charge, self-discharge by temperature, loads, a charger, and the volts at its terminals.

The volts follow from the acid: charge moves sulphate between plates and electrolyte, so the specific gravity falls in a
straight line with charge, and a cell's rested volts are specific gravity + 0.84 (a rule of thumb of the trade).
"""

from dataclasses import dataclass
from math import exp, expm1
from typing import Annotated, Self

from pydantic import Field, model_validator

from monitor.model.equipment import Chemistry, Document, Positive
from simulator.heat import NotNegative


@dataclass(frozen=True, slots=True)
class Acid:
    """What a kind of lead-acid battery is made of.

    Attributes:
        full_sg: specific gravity of the electrolyte, charged.
        empty_sg: the same, discharged.
        loss_per_month: share of the capacity lost in a month (30 days) at 20 degC by itself.
    """

    full_sg: float
    empty_sg: float
    loss_per_month: float


# Flooded: 1.265 and 1.120 of the battery industry's scale, and a loss of 10 % a month at 20 degC, in the middle of what
# makers print. Sealed types are filled stronger and lose 1 to 3 % a month (common practice, no source).
ACIDS = {
    Chemistry.FLOODED: Acid(1.265, 1.120, 0.10),
    Chemistry.AGM: Acid(1.300, 1.150, 0.02),
    Chemistry.GEL: Acid(1.300, 1.150, 0.02),
}
CELL_OFFSET_V = 0.84
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
        acid = self._acid
        gravity = acid.empty_sg + (acid.full_sg - acid.empty_sg) * self.charge_ah / self.capacity_ah
        return self._cells * (gravity + CELL_OFFSET_V + CELL_V_PER_K * (degc - 25))

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
