"""What is in a liquid system and what it does as heat leaves it: enthalpy, temperature and ice of water and solutions.

Enthalpy is per kilogram and zero in the liquid at its own freezing point. Water freezes at one temperature. A solution
freezes as pure ice grows and what is left grows stronger: with a freezing point depression in proportion to molality
(ideal solution, Blagden's law), the unfrozen share of its water at temperature T is T_f / T, T_f being the freezing
point of the whole in degC (the lever rule). Against TEOS-10 the ice of sea water comes out within 0.005, against the
measured freezing curves of glycols within 0.04 (tests/simulator/test_liquids.py).
"""

from math import exp, log, sqrt
from typing import Annotated, Protocol, Self

from pydantic import Field, model_validator

from monitor.model.equipment import Document, Liquid, Positive

# Heat of fusion at 0 degC, J/kg (IAPWS), and specific heats near 0 degC, J/(kg K): water, ice (CRC Handbook).
FUSION = 333_550.0
WATER = 4_190.0
ICE = 2_100.0
# What a molal solution's freezing point is lowered by, K kg/mol (CRC Handbook).
MOLAL_K = 1.86
# Of glycols: molar mass, kg/mol, and specific heat near 0 degC, J/(kg K) (CRC Handbook).
GLYCOLS = {Liquid.ETHYLENE_GLYCOL: (0.06207, 2_350.0), Liquid.PROPYLENE_GLYCOL: (0.07609, 2_450.0)}
# Freezing point of sea water by salinity, K kg/g: 1.922 K at 35 g/kg (UNESCO 1983), taken in proportion.
SEA_K = 1.922 / 35
# A solution's step is divided so that none is longer than this share of its shortest time constant.
FINE = 0.5
MOST_PARTS = 50


class LiquidPlan(Document):
    """How much of what is in a liquid system, and how it hangs on its place.

    Attributes:
        kg: its mass.
        liquid: what it is.
        w_k: conductance to its place. A hose holds about 1 W/K a metre (common practice).
        salinity_g_per_kg: of sea water.
        freezes_degc: where a glycol mixture truly begins to freeze, whatever a tester said.
    """

    kg: Positive
    liquid: Liquid
    w_k: Positive
    salinity_g_per_kg: Annotated[float, Field(gt=0, le=40)] | None = None
    freezes_degc: Annotated[float, Field(ge=-50, lt=0)] | None = None

    @model_validator(mode="after")
    def _says_when_it_freezes(self) -> Self:
        needs = {"freezes_degc": self.liquid in GLYCOLS, "salinity_g_per_kg": self.liquid is Liquid.SEA_WATER}
        for key, needed in needs.items():
            if needed and getattr(self, key) is None:
                raise ValueError(f"{self.liquid} needs its {key}")
            if not needed and getattr(self, key) is not None:
                raise ValueError(f"{self.liquid} has no {key}; leave it out")
        return self


class Substance(Protocol):
    """What enthalpy tells of a liquid, and how it moves."""

    def enthalpy(self, degc: float) -> float:
        """Give J/kg at a temperature."""

    def state(self, enthalpy: float) -> tuple[float, float]:
        """Give the temperature, degC, and the share of the mass that is ice."""

    def advance(self, enthalpy: float, place_degc: float, w_k_kg: float, dt_s: float) -> float:
        """Give the enthalpy after a time in a place, by the conductance for each kilogram."""


def substance(plan: LiquidPlan) -> Substance:
    """Give what a plan says is in the system."""
    if plan.freezes_degc is not None:
        molar_kg, heat = GLYCOLS[plan.liquid]
        solute = -plan.freezes_degc / MOLAL_K * molar_kg
        return Solution(plan.freezes_degc, solute / (1 + solute), heat)
    if plan.salinity_g_per_kg is not None:
        # Dissolved salt adds next to nothing to the specific heat.
        return Solution(-SEA_K * plan.salinity_g_per_kg, plan.salinity_g_per_kg / 1000, 0.0)
    return FreshWater()


class FreshWater:
    """Water: cools, freezes at 0 degC, and goes on cooling as ice. Steps are exact at any length."""

    __slots__ = ()

    def enthalpy(self, degc: float) -> float:
        """Give J/kg at a temperature; at 0 degC and above it is liquid."""
        return WATER * degc if degc >= 0 else ICE * degc - FUSION

    def state(self, enthalpy: float) -> tuple[float, float]:
        """Give the temperature, degC, and the share of the mass that is ice."""
        if enthalpy >= 0:
            return enthalpy / WATER, 0.0
        if enthalpy > -FUSION:
            return 0.0, -enthalpy / FUSION
        return (enthalpy + FUSION) / ICE, 1.0

    def advance(self, enthalpy: float, place_degc: float, w_k_kg: float, dt_s: float) -> float:
        """Give the enthalpy after a time in a place: towards 0 degC, over the plateau, and away from it."""
        if enthalpy > 0:
            degc = place_degc + (enthalpy / WATER - place_degc) * exp(-w_k_kg * dt_s / WATER)
            if degc >= 0:
                return WATER * degc
            dt_s -= WATER / w_k_kg * log(1 - enthalpy / WATER / place_degc)
            enthalpy = 0.0
        elif enthalpy < -FUSION:
            began = (enthalpy + FUSION) / ICE
            degc = place_degc + (began - place_degc) * exp(-w_k_kg * dt_s / ICE)
            if degc <= 0:
                return ICE * degc - FUSION
            dt_s -= ICE / w_k_kg * log(1 - began / place_degc)
            enthalpy = -FUSION
        flow = w_k_kg * place_degc
        enthalpy += flow * dt_s
        if enthalpy > 0:
            return WATER * place_degc * (1 - exp(-w_k_kg * (enthalpy / flow) / WATER))
        if enthalpy < -FUSION:
            over_s = (enthalpy + FUSION) / flow
            return ICE * place_degc * (1 - exp(-w_k_kg * over_s / ICE)) - FUSION
        return enthalpy


class Solution:
    """Glycol and water, or sea water: below its freezing point ice grows with every kelvin.

    With t = T - T_f, of a kilogram with a share w of water: ice = w t / T and
    h = c t - ice ((c_water - c_ice) t + L), a quadratic in t for a given h. Steps are exact above the freezing point
    and implicit (backward Euler) below it, where they are that quadratic too.
    """

    __slots__ = ("_b0", "_c", "_freezes", "_slope", "_water")

    def __init__(self, freezes_degc: float, solute: float, solute_j_kg_k: float) -> None:
        self._freezes = freezes_degc
        self._water = water = 1 - solute
        self._c = water * WATER + solute * solute_j_kg_k
        fusion = FUSION + (WATER - ICE) * freezes_degc
        self._slope = self._c - water * (WATER - ICE)
        self._b0 = self._c * freezes_degc - water * fusion

    def enthalpy(self, degc: float) -> float:
        """Give J/kg at a temperature."""
        below = degc - self._freezes
        return self._c * below if below >= 0 else below * (self._slope * below + self._b0) / degc

    def state(self, enthalpy: float) -> tuple[float, float]:
        """Give the temperature, degC, and the share of the mass that is ice."""
        if enthalpy >= 0:
            return self._freezes + enthalpy / self._c, 0.0
        below = self._below(enthalpy, 0.0)
        degc = self._freezes + below
        return degc, self._water * below / degc

    def _below(self, enthalpy: float, give: float) -> float:
        # T - T_f where h(T) = `enthalpy` - `give` (T - T_f); `enthalpy` is negative. Of the quadratic's roots one is
        # negative; it is taken in the form that subtracts nothing of its own size.
        a = self._slope + give
        b = self._b0 - enthalpy + give * self._freezes
        c = -self._freezes * enthalpy
        root = sqrt(b * b - 4 * a * c)
        return 2 * c / (root - b) if b < 0 else -(b + root) / (2 * a)

    def advance(self, enthalpy: float, place_degc: float, w_k_kg: float, dt_s: float) -> float:
        """Give the enthalpy after a time in a place."""
        freezes = self._freezes
        if enthalpy > 0:
            warm = freezes + enthalpy / self._c
            degc = place_degc + (warm - place_degc) * exp(-w_k_kg * dt_s / self._c)
            if degc >= freezes:
                return self._c * (degc - freezes)
            dt_s -= self._c / w_k_kg * log((warm - place_degc) / (freezes - place_degc))
            enthalpy = 0.0
        parts = min(1 + int(w_k_kg * dt_s / (FINE * self._slope)), MOST_PARTS)
        give = w_k_kg * dt_s / parts
        for _ in range(parts):
            aim = enthalpy - give * (freezes - place_degc)
            enthalpy = aim / (1 + give / self._c) if aim >= 0 else aim - give * self._below(aim, give)
        return enthalpy
