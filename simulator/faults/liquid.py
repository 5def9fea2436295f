"""Liquid systems left so that they can freeze. These faults stand in the record, and the frost makes them harm."""

from typing import Annotated, ClassVar, Literal

from pydantic import Field

from monitor.model.equipment import Degc, LiquidSystem, Positive, SystemKind, SystemState
from monitor.model.vessel import Vessel
from simulator.boat import Boat
from simulator.faults.fault import FaultPlan, ways_of


class LiquidSystemFault(FaultPlan):
    """A fault that lies in a liquid system from lay-up on."""

    expected_rules: ClassVar[tuple[str, ...]] = ("frost",)
    lies_in_record: ClassVar[bool] = True

    def _amended(self, record: Vessel, **change: object) -> Vessel:
        systems = tuple(
            LiquidSystem.model_validate({**s.model_dump(), **change}) if s.id == self.subject else s
            for s in record.liquid_systems
        )
        return record.model_copy(update={"liquid_systems": systems})


class WeakCoolant(LiquidSystemFault):
    """The coolant's tested freeze point stands in the record, and the winter goes below it.

    ``tested_degc`` is what a made-up record shows; where it is left out the record stays as it is.
    """

    kind: Literal["weak coolant"]
    tested_degc: Annotated[Degc, Field(le=0)] | None = None

    def amend(self, record: Vessel) -> Vessel:
        """Write the weak point into the record."""
        if self.tested_degc is None:
            return record
        return self._amended(record, tested_freeze_degc=round(self.tested_degc, 1))

    @classmethod
    def ways(cls, record: Vessel) -> list[dict[str, str]]:
        """It lies in a treated system."""
        return ways_of(s.id for s in record.liquid_systems if s.state is SystemState.TREATED)


class WaterLeftInPipes(LiquidSystemFault):
    """A liquid system was left wet, and the record says so.

    Where it has frozen solid, ``burst_litres`` of its tank run into the boat at the thaw.
    """

    kind: Literal["water left in pipes"]
    burst_litres: Positive | None = None

    def begin(self, boat: Boat) -> None:
        """Split where it freezes solid."""
        if self.burst_litres is not None:
            boat.splits[self.subject] = self.burst_litres

    def amend(self, record: Vessel) -> Vessel:
        """Write into the record that it was left wet."""
        return self._amended(record, state=SystemState.WET)

    @classmethod
    def ways(cls, record: Vessel) -> list[dict[str, str]]:
        """It lies in any system but the engine's closed cooling."""
        return ways_of(s.id for s in record.liquid_systems if s.kind is not SystemKind.CLOSED_COOLING)


class DrainNotProbed(LiquidSystemFault):
    """A system was drained and a drain not probed, which the record says; it was blocked, and some water stayed."""

    kind: Literal["drain not probed"]

    def begin(self, boat: Boat) -> None:
        """Have water in it."""
        boat.leave_water(self.subject)

    def amend(self, record: Vessel) -> Vessel:
        """Write into the record that nobody probed."""
        system = next(s for s in record.liquid_systems if s.id == self.subject)
        drains = tuple(d.model_copy(update={"probed": False}) for d in system.drains)
        return self._amended(record, drains=drains)

    @classmethod
    def ways(cls, record: Vessel) -> list[dict[str, str]]:
        """It lies in a drained system."""
        return ways_of(s.id for s in record.liquid_systems if s.state is SystemState.DRAINED)


class WaterHidden(DrainNotProbed):
    """A system is recorded drained and probed, and some water stayed all the same. No sensor knows of it."""

    kind: Literal["water hidden in pipes"]  # type: ignore[assignment]
    lies_in_record: ClassVar[bool] = False
    expected_rules: ClassVar[tuple[str, ...]] = ()

    def amend(self, record: Vessel) -> Vessel:
        """Leave the record as it is."""
        return record
