"""What goes wrong with the air aboard."""

from typing import ClassVar, Literal

from monitor.model.vessel import Vessel
from simulator.boat import Boat
from simulator.faults.fault import FaultPlan, ways_of
from simulator.truth import Explains


class DehumidifierStops(FaultPlan):
    """A dehumidifier stops though the shore power is there. The subject is the space it dries."""

    kind: Literal["dehumidifier stops"]
    expected_rules: ClassVar[tuple[str, ...]] = ("damp",)

    def begin(self, boat: Boat) -> None:
        """Stop drying."""
        boat.moisture.dehumidifier_on = False
        boat.truth.dry_no_more(self.subject)

    def end(self, boat: Boat) -> None:
        """Set it going again."""
        boat.moisture.dehumidifier_on = True
        boat.truth.dry_again(self.subject)

    def explains(self, record: Vessel) -> tuple[Explains, ...]:
        """It explains damp, and without a mains sensor shore power doubted."""
        doubted = () if record.shore_power.mains_sensor else (Explains("power"),)
        return (Explains("damp"), *doubted)

    @classmethod
    def ways(cls, record: Vessel) -> list[dict[str, str]]:
        """It lies in the space of a dehumidifier that was left running."""
        machine = record.dehumidifier
        return ways_of([machine.space if machine is not None and machine.running else None])
