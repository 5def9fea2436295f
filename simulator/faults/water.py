"""Water that comes in: by gland, seacock, hose, deck, condensate, or rain where the drain is blocked."""

from abc import abstractmethod
from typing import ClassVar, Literal

from monitor.model.equipment import Positive, Slug
from monitor.model.vessel import Mode, Vessel
from simulator.bilge import BilgePlan, bore_m2, drip_l_s
from simulator.boat import Boat
from simulator.faults.fault import FaultPlan, ways_of
from simulator.openings import Opening, orifice_l_s
from simulator.truth import Explains

Facts = dict[str, float | str | bool]
_ONE_MM2 = 1e-6


class WaterFault(FaultPlan):
    """Water that comes into a bilge, its subject."""

    expected_rules: ClassVar[tuple[str, ...]] = ("bilge",)

    @property
    def into(self) -> str:
        """The bilge it runs into."""
        return self.subject

    def begin(self, boat: Boat) -> None:
        """Let it in."""
        boat.truth.water_comes(self.into)
        self.let_in(boat)

    def end(self, boat: Boat) -> None:
        """Stop it and bail her."""
        self.stop(boat)
        boat.bail(self.into)

    @abstractmethod
    def let_in(self, boat: Boat) -> None:
        """Let it in."""

    @abstractmethod
    def stop(self, boat: Boat) -> None:
        """Stop it."""

    def explains(self, record: Vessel) -> tuple[Explains, ...]:
        """It explains water in the bilge it runs into, and what the bilge's battery pumps away."""
        return (
            Explains("bilge", self.into),
            *(Explains("battery", b.id) for b in record.batteries if _feeds_pump(record, b.id)),
        )

    @classmethod
    def ways(cls, record: Vessel) -> list[dict[str, str]]:
        """It lies in the bilge it runs into, where she lies afloat."""
        return ways_of(b.id for b in record.bilges) if record.mode is Mode.AFLOAT_LAID_UP else []


class GlandDrip(WaterFault):
    """A stern gland drips: so many drops a minute, 0.05 mL each."""

    kind: Literal["gland drip"]
    drops_per_min: Positive

    def let_in(self, boat: Boat) -> None:
        """Drip."""
        inflow = boat.sumps[self.into].inflow
        inflow.drip(inflow.gland_l_s + drip_l_s(self.drops_per_min))

    def stop(self, boat: Boat) -> None:
        """Tighten the gland."""
        inflow = boat.sumps[self.into].inflow
        inflow.drip(inflow.gland_l_s - drip_l_s(self.drops_per_min))

    def facts(self, boat: Boat) -> Facts:
        """Give the drip."""
        del boat
        return {"drops_per_min": self.drops_per_min, "litres_h": 3600 * drip_l_s(self.drops_per_min)}


class HoleFault(WaterFault):
    """An opening below the waterline."""

    height_m: float = 0.05

    @abstractmethod
    def area_m2(self, boat: Boat) -> float:
        """Give the opening's area."""

    def let_in(self, boat: Boat) -> None:
        """Let the sea in."""
        opening = Opening(self.area_m2(boat), self.height_m)
        boat.openings[id(self)] = opening
        boat.sumps[self.into].inflow.openings.append(opening)

    def stop(self, boat: Boat) -> None:
        """Plug it."""
        boat.openings.pop(id(self)).area_m2 = 0.0

    def head_m(self, boat: Boat) -> float:
        """Give the head on it as she floats, empty."""
        return boat.plan.bilges.get(self.into, BilgePlan()).waterline_m - self.height_m

    def facts(self, boat: Boat) -> Facts:
        """Give what comes in at first."""
        litres_min = 60 * orifice_l_s(self.area_m2(boat), self.head_m(boat))
        return {"litres_min": litres_min, "litres_h": 60 * litres_min, "bilge": self.into}


class SeacockPassing(HoleFault):
    """A seacock that is recorded shut passes through an opening of this bore, and its hose is off."""

    kind: Literal["seacock passing, hose off"]
    bilge: Slug
    bore_mm: Positive

    @property
    def into(self) -> str:
        """The bilge it runs into."""
        return self.bilge

    def area_m2(self, boat: Boat) -> float:
        """Give the bore's area."""
        del boat
        return bore_m2(self.bore_mm)

    @classmethod
    def ways(cls, record: Vessel) -> list[dict[str, str]]:
        """It is a seacock that is shut, and the water runs into a bilge of a boat afloat."""
        if record.mode is not Mode.AFLOAT_LAID_UP:
            return []
        return [{"subject": s.id, "bilge": b.id} for s in record.seacocks if not s.open for b in record.bilges]


class HoseWeeps(HoleFault):
    """A hose below the waterline weeps: so many litres an hour while she is empty."""

    kind: Literal["hose weeps"]
    litres_h: Positive

    def area_m2(self, boat: Boat) -> float:
        """Give the area that lets in as much."""
        return _ONE_MM2 * self.litres_h / 3600 / orifice_l_s(_ONE_MM2, self.head_m(boat))


class DeckLeaks(WaterFault):
    """Rain from so much deck finds its way in."""

    kind: Literal["deck leaks"]
    leak_m2: Positive

    def let_in(self, boat: Boat) -> None:
        """Leak."""
        boat.sumps[self.into].inflow.deck_leak_m2 += self.leak_m2

    def stop(self, boat: Boat) -> None:
        """Cover her."""
        inflow = boat.sumps[self.into].inflow
        inflow.deck_leak_m2 = max(inflow.deck_leak_m2 - self.leak_m2, 0.0)


class DrainBlocked(DeckLeaks):
    """Ashore with the bung out, leaves block the drain, and rain from so much deck stands in her."""

    kind: Literal["drain blocked"]  # type: ignore[assignment]

    def let_in(self, boat: Boat) -> None:
        """Block the drain."""
        super().let_in(boat)
        boat.sumps[self.into].bung_at_m = None

    def stop(self, boat: Boat) -> None:
        """Clear the drain."""
        super().stop(boat)
        boat.sumps[self.into].bung_at_m = 0.0

    @classmethod
    def ways(cls, record: Vessel) -> list[dict[str, str]]:
        """It lies in a bilge of a boat ashore with her bung out."""
        return ways_of(b.id for b in record.bilges) if record.mode is Mode.ASHORE_BUNG_OUT else []


class CondensateHoseOff(WaterFault):
    """A dehumidifier's hose is off, and what it takes from the air, so many litres a day, runs into the bilge."""

    kind: Literal["condensate hose off"]
    litres_day: Positive

    def let_in(self, boat: Boat) -> None:
        """Run into the bilge."""
        boat.sumps[self.into].inflow.condensate_l_s = self.litres_day / 86_400

    def stop(self, boat: Boat) -> None:
        """Put the hose back."""
        boat.sumps[self.into].inflow.condensate_l_s = 0.0

    def facts(self, boat: Boat) -> Facts:
        """Give the inflow."""
        del boat
        return {"litres_h": self.litres_day / 24}

    @classmethod
    def ways(cls, record: Vessel) -> list[dict[str, str]]:
        """It lies in a bilge of a boat with a dehumidifier running, where water stays in her."""
        runs = record.dehumidifier is not None and record.dehumidifier.running
        stays = record.mode is not Mode.ASHORE_BUNG_OUT
        return ways_of(b.id for b in record.bilges) if runs and stays else []


def _feeds_pump(record: Vessel, battery: str) -> bool:
    pumps = any(b.pump_lph for b in record.bilges)
    return pumps and any(b.id == battery and (b.feeds_pump or len(record.batteries) == 1) for b in record.batteries)
