"""Liquid systems left so that they can freeze. These faults stand in the record, and the frost makes them harm."""

from typing import Annotated, ClassVar, Literal

from pydantic import Field

from monitor.model.equipment import Degc, LiquidSystem, SystemKind, SystemState
from monitor.model.vessel import Vessel
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
    """A liquid system was left wet, and the record says so."""

    kind: Literal["water left in pipes"]

    def amend(self, record: Vessel) -> Vessel:
        """Write into the record that it was left wet."""
        return self._amended(record, state=SystemState.WET)

    @classmethod
    def ways(cls, record: Vessel) -> list[dict[str, str]]:
        """It lies in any system but the engine's closed cooling."""
        return ways_of(s.id for s in record.liquid_systems if s.kind is not SystemKind.CLOSED_COOLING)
