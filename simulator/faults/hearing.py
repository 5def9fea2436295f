"""What goes wrong between a boat and those who listen: her gateway, its link and its clock."""

from typing import Annotated, ClassVar, Literal

from pydantic import Field

from monitor.model.equipment import Positive
from monitor.model.vessel import Vessel
from simulator.boat import Boat
from simulator.faults.fault import DAY_MS, FaultPlan, ways_of
from simulator.truth import Explains

HOUR_MS = 3_600_000


class GatewayFault(FaultPlan):
    """Something of the gateway, the subject ``gateway``."""

    expected_rules: ClassVar[tuple[str, ...]] = ("silence",)
    traces_ms: ClassVar[int] = DAY_MS

    def explains(self, record: Vessel) -> tuple[Explains, ...]:
        """It explains that she or any of her sensors is not heard, and nothing of the boat."""
        del record
        return (Explains("silence"),)

    @classmethod
    def ways(cls, record: Vessel) -> list[dict[str, str]]:
        """It is the gateway: every boat has one."""
        del record
        return ways_of(["gateway"])


class GatewaySilent(GatewayFault):
    """The boat's gateway sends nothing any more, and keeps nothing."""

    kind: Literal["gateway silent"]

    def begin(self, boat: Boat) -> None:
        """Fall silent."""
        boat.gateway_on = False

    def end(self, boat: Boat) -> None:
        """Send again."""
        boat.gateway_on = True


class LinkLost(GatewayFault):
    """The link is down; the gateway keeps what it would send, and sends it when the link is back."""

    kind: Literal["link lost"]
    in_order: bool = True

    def begin(self, boat: Boat) -> None:
        """Lose the link."""
        boat.gateway.lose_link()

    def end(self, boat: Boat) -> None:
        """Have it back."""
        boat.gateway.regain_link(boat.now_ms, in_order=self.in_order)


class GatewayReboots(GatewayFault):
    """The gateway reboots, and is away for some minutes; it may come back without the time for an hour."""

    kind: Literal["gateway reboots"]
    minutes: Positive = 2.0
    forgets_time: bool = False

    def begin(self, boat: Boat) -> None:
        """Reboot."""
        boat.gateway.reboot(boat.now_ms, self.minutes)
        if self.forgets_time:
            boat.gateway.forget_time(boat.now_ms)

    def end(self, boat: Boat) -> None:
        """Have the time again, where it was forgotten."""
        if self.forgets_time:
            boat.gateway.clock_is_set()


class RetainedOnReconnect(GatewayFault):
    """The broker hands out the last pack it kept, however old."""

    kind: Literal["old pack retained"]
    expected_rules: ClassVar[tuple[str, ...]] = ()

    def begin(self, boat: Boat) -> None:
        """Hand it out."""
        boat.gateway.hand_retained(boat.now_ms)

    def explains(self, record: Vessel) -> tuple[Explains, ...]:
        """It explains nothing: an old pack is no news."""
        del record
        return ()


class PacksLate(RetainedOnReconnect):
    """Packs come late, each by up to so many minutes, and overtake each other."""

    kind: Literal["packs late"]  # type: ignore[assignment]
    minutes: Annotated[float, Field(gt=0, le=30)] = 5.0

    def begin(self, boat: Boat) -> None:
        """Lag."""
        boat.gateway.lag(60 * self.minutes)

    def end(self, boat: Boat) -> None:
        """Lag no more."""
        boat.gateway.lag(0.0)


class PacksTwice(RetainedOnReconnect):
    """A share of the packs comes twice, as QoS 1 does where an acknowledgement got lost."""

    kind: Literal["packs twice"]  # type: ignore[assignment]
    share: Annotated[float, Field(gt=0, le=1)] = 0.1

    def begin(self, boat: Boat) -> None:
        """Repeat."""
        boat.gateway.repeat(self.share)

    def end(self, boat: Boat) -> None:
        """Repeat no more."""
        boat.gateway.repeat(0.0)


class ClockWrong(RetainedOnReconnect):
    """The gateway's clock is set wrongly by so many hours, as at a change to or from summer time."""

    kind: Literal["clock change"]  # type: ignore[assignment]
    hours: Annotated[float, Field(ge=-24, le=24)] = -1.0

    def begin(self, boat: Boat) -> None:
        """Set it wrongly."""
        boat.gateway.clock_jumps(round(self.hours * HOUR_MS))

    def end(self, boat: Boat) -> None:
        """Set it right."""
        boat.gateway.clock_is_set()

    def explains(self, record: Vessel) -> tuple[Explains, ...]:
        """It explains that she is not heard as she should be."""
        del record
        return (Explains("silence"),)


class ClockDrifts(ClockWrong):
    """The gateway's clock gains so many seconds a day."""

    kind: Literal["clock drifts"]  # type: ignore[assignment]
    s_per_day: Annotated[float, Field(ge=-600, le=600)] = 20.0

    def begin(self, boat: Boat) -> None:
        """Drift from now on."""
        boat.gateway.clock_drifts(self.s_per_day, boat.now_ms)
