"""Water that comes in: by gland, seacock, hose, deck or burst pipe."""

from math import sqrt
from typing import ClassVar, Literal

from monitor.model.equipment import Positive, Slug
from monitor.model.vessel import Mode, Vessel
from simulator.bilge import DISCHARGE, GRAVITY, BilgePlan, bore_m2, drip_l_s
from simulator.boat import Boat
from simulator.faults.fault import FaultPlan, ways_of
from simulator.truth import Explains


class WaterFault(FaultPlan):
    """Water in a bilge of a boat afloat."""

    expected_rules: ClassVar[tuple[str, ...]] = ("bilge",)

    @classmethod
    def ways(cls, record: Vessel) -> list[dict[str, str]]:
        """It lies in the bilge it runs into, where she lies afloat."""
        return ways_of(b.id for b in record.bilges) if record.mode is Mode.AFLOAT_LAID_UP else []


class GlandDrip(WaterFault):
    """A stern gland drips: so many drops a minute, 0.05 mL each."""

    kind: Literal["gland drip"]
    drops_per_min: Positive

    def begin(self, boat: Boat) -> None:
        """Drip."""
        boat.sumps[self.subject].drip_l_s += drip_l_s(self.drops_per_min)

    def end(self, boat: Boat) -> None:
        """Tighten the gland and bail her."""
        boat.sumps[self.subject].drip_l_s -= drip_l_s(self.drops_per_min)
        boat.bail(self.subject)

    def facts(self, boat: Boat) -> dict[str, float | str | bool]:
        """Give the drip."""
        del boat
        return {"drops_per_min": self.drops_per_min, "litres_h": 3600 * drip_l_s(self.drops_per_min)}


class SeacockPassing(FaultPlan):
    """A seacock that is recorded shut passes through an opening of this bore, and its hose is off."""

    kind: Literal["seacock passing, hose off"]
    bilge: Slug
    bore_mm: Positive
    height_m: float = 0.05
    expected_rules: ClassVar[tuple[str, ...]] = ("bilge",)

    def begin(self, boat: Boat) -> None:
        """Let the sea in."""
        sump = boat.sumps[self.bilge]
        sump.opening_m2 = bore_m2(self.bore_mm)
        sump.opening_at_m = self.height_m

    def end(self, boat: Boat) -> None:
        """Plug it and bail her."""
        boat.sumps[self.bilge].opening_m2 = 0.0
        boat.bail(self.bilge)

    def explains(self, record: Vessel) -> tuple[Explains, ...]:
        """It explains water in the bilge it runs into."""
        del record
        return (Explains("bilge", self.bilge),)

    def facts(self, boat: Boat) -> dict[str, float | str | bool]:
        """Give what comes in at first."""
        head_m = boat.plan.bilges.get(self.bilge, BilgePlan()).waterline_m - self.height_m
        litres_min = 60_000 * DISCHARGE * bore_m2(self.bore_mm) * sqrt(2 * GRAVITY * max(head_m, 0.0))
        return {"litres_min": litres_min, "litres_h": 60 * litres_min, "bilge": self.bilge}

    @classmethod
    def ways(cls, record: Vessel) -> list[dict[str, str]]:
        """It is a seacock that is shut, and the water runs into a bilge of a boat afloat."""
        if record.mode is not Mode.AFLOAT_LAID_UP:
            return []
        return [{"subject": s.id, "bilge": b.id} for s in record.seacocks if not s.open for b in record.bilges]
