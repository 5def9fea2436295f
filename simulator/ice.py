"""A liquid system that may freeze where it stands: its state is its enthalpy, temperature and ice follow from it.

One lump: the whole of it has one temperature. Supercooling is left out: water that stands still and clean may stay
liquid some kelvin below its freezing point for hours, so ice here is never later than the truth.
"""

from enum import StrEnum

from simulator.liquid import FreshWater, LiquidPlan, substance

# So much ice is the beginning of freezing (invented: a film on the wall of a hose).
BEGINS_SHARE = 0.001
# Fresh water counts as frozen solid here, since what is still liquid is shut in by ice (invented).
SOLID_SHARE = 0.9
# A solution is slush that bursts nothing until so much of its mass is ice (invented; makers' tables that give both a
# freezing and a burst point for propylene glycol lie near this share by the rule of `simulator.liquid`: from memory).
SOLID_SOLUTION_SHARE = 0.4


class IceEvent(StrEnum):
    """What befalls a liquid as it freezes and thaws."""

    BEGINS = "begins to freeze"
    SOLID = "frozen solid"
    THAWED = "thawed"


class FreezingLiquid:
    """The liquid of one system, stepped through the winter.

    Attributes:
        degc: its temperature.
        ice_share: the share of its mass that is ice.
        frozen: whether it has begun to freeze and has not thawed again.
        solid: whether it was frozen solid since it began to freeze.
        events: what befell it in the last step, in order; mostly nothing.
        enthalpy_j_kg: its state; zero in the liquid at its freezing point.
    """

    __slots__ = (
        "_kg",
        "_solid_share",
        "_substance",
        "_w_k_kg",
        "degc",
        "enthalpy_j_kg",
        "events",
        "frozen",
        "ice_share",
        "solid",
    )

    def __init__(self, plan: LiquidPlan, start_degc: float) -> None:
        self._substance = substance(plan)
        self._kg = plan.kg
        self._w_k_kg = plan.w_k / plan.kg
        self._solid_share = SOLID_SHARE if isinstance(self._substance, FreshWater) else SOLID_SOLUTION_SHARE
        self.enthalpy_j_kg = self._substance.enthalpy(start_degc)
        self.degc, self.ice_share = self._substance.state(self.enthalpy_j_kg)
        self.frozen = self.ice_share > BEGINS_SHARE
        self.solid = self.ice_share >= self._solid_share
        self.events: tuple[IceEvent, ...] = ()

    @property
    def enthalpy_j(self) -> float:
        """The enthalpy of all of it."""
        return self._kg * self.enthalpy_j_kg

    def step(self, dt_s: float, place_degc: float) -> float:
        """Go on by a step in a place of a temperature.

        Returns:
            The heat it gave to the place, W, mean over the step; negative where it took heat. Given to the place in
            its next step it keeps the balance, and is stable while conductance times step is less than the place's
            heat capacity.
        """
        before = self.enthalpy_j_kg
        after = self._substance.advance(before, place_degc, self._w_k_kg, dt_s)
        self.enthalpy_j_kg = after
        self.degc, self.ice_share = self._substance.state(after)
        if self.events:
            self.events = ()
        if self.ice_share > 0 or self.frozen:
            self._note()
        return self._kg * (before - after) / dt_s

    def _note(self) -> None:
        events = []
        if not self.frozen and self.ice_share > BEGINS_SHARE:
            self.frozen = True
            events.append(IceEvent.BEGINS)
        if self.frozen and not self.solid and self.ice_share >= self._solid_share:
            self.solid = True
            events.append(IceEvent.SOLID)
        if self.frozen and self.ice_share <= 0:
            self.frozen = self.solid = False
            events.append(IceEvent.THAWED)
        if events:
            self.events = tuple(events)
