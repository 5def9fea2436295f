"""The liquids that truly stand in a boat's systems, by her record and by what her plan says of them."""

from collections.abc import Mapping
from dataclasses import dataclass

from monitor.model.equipment import Liquid, LiquidSystem, SystemKind, SystemState
from simulator.ice import FreezingLiquid
from simulator.liquid import LiquidPlan
from simulator.sensors import Truth


@dataclass(frozen=True, slots=True)
class _Amount:
    """How much stands in a system, and its conductance to where it stands (all invented)."""

    kg: float
    w_k: float


# Closed cooling: block, exchanger and hoses; the others: what stands in hoses, pumps and traps.
_AMOUNTS = {
    SystemKind.CLOSED_COOLING: _Amount(14.0, 14.0),
    SystemKind.RAW_WATER: _Amount(3.0, 4.0),
    SystemKind.FRESH_WATER: _Amount(2.0, 3.0),
    SystemKind.HEADS: _Amount(1.5, 2.0),
    SystemKind.HEATING: _Amount(6.0, 6.0),
    SystemKind.WASTE_WATER: _Amount(5.0, 4.0),
}
# What stays behind a drain that nobody probed.
_LEFT_BEHIND = _Amount(0.3, 0.6)
# Harbour water where no salinity was measured (invented: an estuary).
_SALINITY_G_KG = 25.0


class LiquidAboard:
    """A liquid in a system, and the place it stands in."""

    __slots__ = ("liquid", "place_degc", "system")

    def __init__(self, system: str, liquid: FreezingLiquid, place_degc: Truth) -> None:
        self.system = system
        self.liquid = liquid
        self.place_degc = place_degc


def liquids_aboard(
    systems: tuple[LiquidSystem, ...], freezes_degc: Mapping[str, float], places: Mapping[str, Truth]
) -> list[LiquidAboard]:
    """Give what stands in each system. What was drained and probed holds nothing.

    Args:
        systems: the record's liquid systems.
        freezes_degc: where treated systems truly freeze; the tested point where one is left out.
        places: the temperature of each system's place, by its id.
    """
    found = []
    for system in systems:
        plan = _plan(system, freezes_degc.get(system.id))
        if plan is not None:
            place = places[system.id]
            found.append(LiquidAboard(system.id, FreezingLiquid(plan, place()), place))
    return found


def left_behind(system: str, place: Truth) -> LiquidAboard:
    """Give what stays in a system whose drain was blocked, though it was opened."""
    plan = LiquidPlan(kg=_LEFT_BEHIND.kg, w_k=_LEFT_BEHIND.w_k, liquid=Liquid.FRESH_WATER)
    return LiquidAboard(system, FreezingLiquid(plan, place()), place)


def _plan(system: LiquidSystem, freezes_degc: float | None) -> LiquidPlan | None:
    amount = _AMOUNTS[system.kind]
    match system.state:
        case SystemState.TREATED:
            point = system.tested_freeze_degc if freezes_degc is None else freezes_degc
            liquid = system.liquid or Liquid.PROPYLENE_GLYCOL
            if point is None or point >= 0 or liquid in {Liquid.FRESH_WATER, Liquid.SEA_WATER}:
                return LiquidPlan(kg=amount.kg, w_k=amount.w_k, liquid=Liquid.FRESH_WATER)
            return LiquidPlan(kg=amount.kg, w_k=amount.w_k, liquid=liquid, freezes_degc=max(point, -50.0))
        case SystemState.DRAINED:
            return None
        case _:
            if system.liquid is Liquid.SEA_WATER:
                salinity = system.salinity_g_per_kg or _SALINITY_G_KG
                return LiquidPlan(kg=amount.kg, w_k=amount.w_k, liquid=Liquid.SEA_WATER, salinity_g_per_kg=salinity)
            return LiquidPlan(kg=amount.kg, w_k=amount.w_k, liquid=Liquid.FRESH_WATER)
