"""What goes wrong with batteries, chargers and shore power."""

from typing import ClassVar, Literal

from monitor.model.equipment import Positive
from monitor.model.vessel import Vessel
from simulator.boat import Boat
from simulator.faults.fault import FaultPlan, ways_of
from simulator.truth import Explains


class HiddenLoad(FaultPlan):
    """Something nobody recorded draws on a battery."""

    kind: Literal["hidden load"]
    load_ma: Positive
    expected_rules: ClassVar[tuple[str, ...]] = ("battery",)

    def begin(self, boat: Boat) -> None:
        """Draw."""
        boat.banks[self.subject].load_a += self.load_ma / 1000

    def end(self, boat: Boat) -> None:
        """Find it and switch it off."""
        boat.banks[self.subject].load_a -= self.load_ma / 1000

    def explains(self, record: Vessel) -> tuple[Explains, ...]:
        """It explains a battery that runs down, and one that could freeze."""
        del record
        return (Explains("battery", self.subject), Explains("frost", self.subject))

    def facts(self, boat: Boat) -> dict[str, float | str | bool]:
        """Give the share of the capacity that it draws in a day."""
        return {"draw_pct_day": 2.4 * self.load_ma / boat.banks[self.subject].capacity_ah}

    @classmethod
    def ways(cls, record: Vessel) -> list[dict[str, str]]:
        """It lies in a battery bank that no charger fills again."""
        return ways_of(b.id for b in record.batteries if not (b.charger and record.shore_power.on))


class ChargerTrips(FaultPlan):
    """A charger stops though the shore power is there."""

    kind: Literal["charger trips"]
    expected_rules: ClassVar[tuple[str, ...]] = ("battery",)

    def begin(self, boat: Boat) -> None:
        """Stop charging."""
        boat.banks[self.subject].charger_on = False

    def end(self, boat: Boat) -> None:
        """Set it going again."""
        boat.banks[self.subject].charger_on = True

    def explains(self, record: Vessel) -> tuple[Explains, ...]:
        """It explains a battery that runs down and could freeze; without a mains sensor, shore power doubted too."""
        doubted = () if record.shore_power.mains_sensor else (Explains("power"),)
        return (Explains("battery", self.subject), Explains("frost", self.subject), *doubted)

    @classmethod
    def ways(cls, record: Vessel) -> list[dict[str, str]]:
        """It lies in a battery bank with a charger that has power."""
        return ways_of(b.id for b in record.batteries if b.charger and record.shore_power.on)


class ShorePowerLost(FaultPlan):
    """Shore power goes. The mains sensor, where there is one, says so within the minute."""

    kind: Literal["shore power lost"]
    expected_rules: ClassVar[tuple[str, ...]] = ("power",)

    def begin(self, boat: Boat) -> None:
        """Go dark."""
        boat.shore_power(on=False)

    def end(self, boat: Boat) -> None:
        """Have it back."""
        boat.shore_power(on=True)

    def explains(self, record: Vessel) -> tuple[Explains, ...]:
        """It explains itself and all that stops with it."""
        batteries = [b.id for b in record.batteries if b.charger]
        return (
            Explains("power"),
            Explains("damp"),
            *(Explains(rule, b) for b in batteries for rule in ("battery", "frost")),
        )

    @classmethod
    def ways(cls, record: Vessel) -> list[dict[str, str]]:
        """It lies with her mains sensor, or with her shore power where she has none."""
        if not record.shore_power.on:
            return []
        return ways_of([record.shore_power.mains_sensor or "shore-power"])
