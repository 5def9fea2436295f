"""What goes wrong, each kind in its own words: whom it befalls, when, how badly, and which rule ought to notice.

A fault that lies in the record (weak coolant, water left in pipes) changes nothing in the boat: it stands there from
the start, and the frost makes it harm. Times are whole hours.
"""

from abc import abstractmethod
from collections.abc import Iterator
from typing import Annotated, Any, ClassVar, Literal

from pydantic import AwareDatetime, Field, field_validator

from monitor.model.equipment import Document, Positive, Slug
from monitor.model.vessel import Vessel
from simulator.bilge import bore_m2, drip_l_s
from simulator.boat import Boat, Happening


class FaultPlan(Document):
    """One fault of one boat.

    Attributes:
        vessel: whom it befalls.
        subject: the thing in her record that it lies in.
        begins: when it begins.
        ends: when somebody puts it right, None where nobody does.
        expected_rules: the rules that ought to notice.
    """

    vessel: Slug
    subject: Slug
    begins: AwareDatetime
    ends: AwareDatetime | None = None
    expected_rules: ClassVar[tuple[str, ...]]

    @field_validator("begins", "ends")
    @classmethod
    def _whole_hour(cls, at: AwareDatetime | None) -> AwareDatetime | None:
        if at is not None and at.timestamp() % 3600:
            raise ValueError("a fault begins and ends at a whole hour")
        return at

    @property
    def begins_ms(self) -> int:
        """When it begins, ms UTC."""
        return round(self.begins.timestamp()) * 1000

    @property
    def ends_ms(self) -> int | None:
        """When it is put right, ms UTC."""
        return None if self.ends is None else round(self.ends.timestamp()) * 1000

    def happenings(self) -> Iterator[Happening]:
        """Give what befalls the boat."""
        yield Happening(self.begins_ms, self.begin)
        if self.ends_ms is not None:
            yield Happening(self.ends_ms, self.end)

    def truth(self) -> dict[str, Any]:
        """Give the fault as data for a report, with the rules that ought to notice."""
        return {**self.model_dump(mode="json", exclude={"vessel"}), "expected_rules": list(self.expected_rules)}

    def begin(self, boat: Boat) -> None:
        """Begin. A fault of the record has nothing to change."""

    def end(self, boat: Boat) -> None:
        """Put it right."""

    @abstractmethod
    def subjects(self, record: Vessel) -> set[str]:
        """Give what the subject may be."""

    def misfits(self, record: Vessel) -> Iterator[str]:
        """Give what this fault names and the record does not know."""
        known = self.subjects(record)
        if self.subject not in known:
            yield f"subject {self.subject!r} is none of {record.id}'s: {', '.join(sorted(known)) or 'she has none'}"


class LiquidSystemFault(FaultPlan):
    """A fault that lies in a liquid system and stands in the record."""

    expected_rules: ClassVar[tuple[str, ...]] = ("frost",)

    def subjects(self, record: Vessel) -> set[str]:
        """It lies in a liquid system."""
        return {s.id for s in record.liquid_systems}


class WeakCoolant(LiquidSystemFault):
    """The coolant's tested freeze point stands in the record, and the winter goes below it."""

    kind: Literal["weak coolant"]


class WaterLeftInPipes(LiquidSystemFault):
    """A liquid system was left wet, and the record says so."""

    kind: Literal["water left in pipes"]


class GlandDrip(FaultPlan):
    """A stern gland drips: so many drops a minute, 0.05 mL each."""

    kind: Literal["gland drip"]
    drops_per_min: Positive
    expected_rules: ClassVar[tuple[str, ...]] = ("bilge",)

    def begin(self, boat: Boat) -> None:
        """Drip."""
        boat.sumps[self.subject].drip_l_s += drip_l_s(self.drops_per_min)

    def end(self, boat: Boat) -> None:
        """Tighten the gland and bail her."""
        boat.sumps[self.subject].drip_l_s -= drip_l_s(self.drops_per_min)
        boat.bail(self.subject)

    def subjects(self, record: Vessel) -> set[str]:
        """It lies in the bilge it drips into."""
        return {b.id for b in record.bilges}


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

    def subjects(self, record: Vessel) -> set[str]:
        """It is a seacock."""
        return {s.id for s in record.seacocks}

    def misfits(self, record: Vessel) -> Iterator[str]:
        """Give what this fault names and the record does not know."""
        yield from super().misfits(record)
        if self.bilge not in {b.id for b in record.bilges}:
            yield f"bilge {self.bilge!r} is none of {record.id}'s"


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

    def subjects(self, record: Vessel) -> set[str]:
        """It lies in a battery bank."""
        return {b.id for b in record.batteries}


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

    def subjects(self, record: Vessel) -> set[str]:
        """It lies in a battery bank."""
        return {b.id for b in record.batteries}


class DehumidifierStops(FaultPlan):
    """A dehumidifier stops though the shore power is there. The subject is the space it dries."""

    kind: Literal["dehumidifier stops"]
    expected_rules: ClassVar[tuple[str, ...]] = ("damp",)

    def begin(self, boat: Boat) -> None:
        """Stop drying."""
        boat.moisture.dehumidifier_on = False

    def end(self, boat: Boat) -> None:
        """Set it going again."""
        boat.moisture.dehumidifier_on = True

    def subjects(self, record: Vessel) -> set[str]:
        """It lies in a space."""
        return {s.id for s in record.spaces}


class ShorePowerLost(FaultPlan):
    """Shore power goes. The mains sensor says so within the minute."""

    kind: Literal["shore power lost"]
    expected_rules: ClassVar[tuple[str, ...]] = ("power",)

    def begin(self, boat: Boat) -> None:
        """Go dark."""
        boat.shore_power(on=False)

    def end(self, boat: Boat) -> None:
        """Have it back."""
        boat.shore_power(on=True)

    def subjects(self, record: Vessel) -> set[str]:
        """It lies with her mains sensor."""
        return {s for s in (record.shore_power.mains_sensor,) if s is not None}


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

    def subjects(self, record: Vessel) -> set[str]:  # noqa: ARG002 - every boat has one
        """It is the gateway."""
        return {"gateway"}


class SensorSticks(FaultPlan):
    """A sensor says its last value for ever after."""

    kind: Literal["sensor sticks"]
    expected_rules: ClassVar[tuple[str, ...]] = ("silence",)

    def begin(self, boat: Boat) -> None:
        """Stick."""
        boat.instruments[self.subject].stick()

    def end(self, boat: Boat) -> None:
        """Come loose."""
        boat.instruments[self.subject].loosen()

    def subjects(self, record: Vessel) -> set[str]:
        """It is a sensor."""
        return {s.id for s in record.sensors}


Fault = Annotated[
    WeakCoolant
    | WaterLeftInPipes
    | GlandDrip
    | SeacockPassing
    | HiddenLoad
    | ChargerTrips
    | DehumidifierStops
    | ShorePowerLost
    | GatewaySilent
    | SensorSticks,
    Field(discriminator="kind"),
]
