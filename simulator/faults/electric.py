"""What goes wrong with batteries, chargers and shore power."""

from collections.abc import Iterator
from datetime import datetime, time, timedelta
from typing import Annotated, ClassVar, Literal
from zoneinfo import ZoneInfo

from pydantic import Field

from monitor.model.equipment import Positive
from monitor.model.vessel import Vessel
from simulator.boat import Boat, Happening
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
        """It lies in a battery bank. Behind a charger it shows once that has stopped."""
        return ways_of(b.id for b in record.batteries)


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
        boat.shore_power(on=False, why=self._why)

    def end(self, boat: Boat) -> None:
        """Have it back."""
        boat.shore_power(on=True, why=self._why)

    @property
    def _why(self) -> str:
        return f"{type(self).__name__} {self.begins_ms}"

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


class MeterEmpty(ShorePowerLost):
    """The prepaid meter of her berth has run empty: the power is truly gone, until somebody pays."""

    kind: Literal["prepaid meter empty"]  # type: ignore[assignment]


class WrongLeadPulled(ShorePowerLost):
    """Somebody pulled the wrong lead, and puts it back."""

    kind: Literal["wrong lead pulled"]  # type: ignore[assignment]


class ResidualCurrentTrips(ShorePowerLost):
    """The residual-current breaker of her berth trips."""

    kind: Literal["residual-current breaker trips"]  # type: ignore[assignment]


class NightCuts(ShorePowerLost):
    """The yard cuts the power each night, by its own clock. Where its calendar says so it is no loss.

    Attributes:
        off: hour of the yard's day at which it goes.
        on: hour at which it is back.
        planned: whether the yard's calendar says so.
    """

    kind: Literal["night power cuts"]  # type: ignore[assignment]
    zone: str = "America/New_York"
    off: Annotated[int, Field(ge=0, le=23)] = 23
    on: Annotated[int, Field(ge=0, le=23)] = 5
    planned: bool = True

    def happenings(self) -> Iterator[Happening]:
        """Give every night's cut."""
        yield Happening(self.begins_ms, self._begin)
        zone = ZoneInfo(self.zone)
        day = self.begins.astimezone(zone).date()
        ends = self.begins + timedelta(days=400) if self.ends is None else self.ends
        while (off := datetime.combine(day, time(self.off), zone)) < ends:
            back = datetime.combine(day + timedelta(days=self.on <= self.off), time(self.on), zone)
            if off >= self.begins:
                yield Happening(round(off.timestamp()) * 1000, lambda boat: boat.shore_power(on=False, why=self._why))
                yield Happening(round(back.timestamp()) * 1000, lambda boat: boat.shore_power(on=True, why=self._why))
            day += timedelta(days=1)

    def begin(self, boat: Boat) -> None:
        """Change nothing by itself: the nights do."""

    def explains(self, record: Vessel) -> tuple[Explains, ...]:
        """It explains a loss only where nobody knows of the cuts."""
        return () if self.planned else super().explains(record)


class BatteryLeftLow(FaultPlan):
    """A battery was left with so little charge."""

    kind: Literal["battery left low"]
    charged: Annotated[float, Field(gt=0, lt=1)]
    expected_rules: ClassVar[tuple[str, ...]] = ("battery",)

    def begin(self, boat: Boat) -> None:
        """Have only so much in it."""
        bank = boat.banks[self.subject]
        bank.swap(self.charged)

    def explains(self, record: Vessel) -> tuple[Explains, ...]:
        """It explains a battery that is low and could freeze."""
        del record
        return (Explains("battery", self.subject), Explains("frost", self.subject))

    @classmethod
    def ways(cls, record: Vessel) -> list[dict[str, str]]:
        """It lies in a battery bank that no charger fills again."""
        return ways_of(b.id for b in record.batteries if not (b.charger and record.shore_power.on))
