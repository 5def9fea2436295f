"""What goes wrong between a boat and those who listen: her gateway and her sensors."""

from typing import ClassVar, Literal

from monitor.model.scale import Priority
from monitor.model.vessel import Vessel
from simulator.boat import Boat
from simulator.faults.fault import FaultPlan, ways_of


class GatewaySilent(FaultPlan):
    """The boat's gateway sends nothing any more. The subject is ``gateway``."""

    kind: Literal["gateway silent"]
    expected_rules: ClassVar[tuple[str, ...]] = ("silence",)

    def begin(self, boat: Boat) -> None:
        """Fall silent."""
        boat.gateway_on = False

    def end(self, boat: Boat) -> None:
        """Send again."""
        boat.gateway_on = True

    @classmethod
    def ways(cls, record: Vessel) -> list[dict[str, str]]:
        """It is the gateway: every boat has one."""
        del record
        return ways_of(["gateway"])


class SensorSticks(FaultPlan):
    """A sensor says its last value for ever after."""

    kind: Literal["sensor sticks"]
    expected_rules: ClassVar[tuple[str, ...]] = ("silence",)
    most: ClassVar[Priority] = Priority.ALARM

    def begin(self, boat: Boat) -> None:
        """Stick."""
        boat.instruments[self.subject].stick()

    def end(self, boat: Boat) -> None:
        """Come loose."""
        boat.instruments[self.subject].loosen()

    @classmethod
    def ways(cls, record: Vessel) -> list[dict[str, str]]:
        """It is a sensor that measures."""
        return ways_of(s.id for s in record.sensors)
