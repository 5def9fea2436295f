"""One boat through the winter: her hull, moisture, batteries and bilges, and what her sensors say of them."""

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from random import Random

from pydantic import Field

from monitor.model.equipment import Battery, Bilge, Degc, Document, Sensor, Slug
from monitor.model.quantity import Quantity
from monitor.model.vessel import Vessel
from simulator.battery import Bank, BankPlan, BatteryPlan
from simulator.bilge import BilgePlan, Sump
from simulator.heat import Heat, HeatPlan
from simulator.moisture import AirPlan, Moisture
from simulator.sensors import Instrument, Truth
from simulator.truth_keeper import TruthKeeper
from simulator.vapour import saturation_kg_m3, saturation_pa
from simulator.weather import Hour

MINUTE_MS = 60_000

# What a pack holds: sensor, unit, stated time (ms), value.
PackReading = tuple[str, str, int, float]


class Place(StrEnum):
    """Where a thermometer truly hangs."""

    OUTSIDE = "outside"
    CABIN = "cabin"
    HULL_SIDE = "hull side"
    ENGINE_SPACE = "engine space"
    BLOCK = "block"
    WATER = "water"


# Where thermometers hang whose place a plan does not say.
USUAL_PLACES = {
    "outside-air": Place.OUTSIDE,
    "cabin": Place.CABIN,
    "galley": Place.HULL_SIDE,
    "engine-space": Place.ENGINE_SPACE,
}
# A pipe along the hull side under the galley sink lies this far between outside air (0) and cabin (1); common practice.
HULL_SIDE_FACTOR = 0.5


class BoatPlan(Document):
    """A boat as she truly is, beside her record: what is not said has the usual value."""

    vessel: Slug
    heat: HeatPlan = HeatPlan()
    air: AirPlan = AirPlan()
    batteries: dict[Slug, BatteryPlan] = Field(default_factory=dict)
    bilges: dict[Slug, BilgePlan] = Field(default_factory=dict)
    freezes_degc: dict[Slug, Degc] = Field(default_factory=dict)
    places: dict[Slug, Place] = Field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Outside:
    """What is outside all boats alike at the end of a step.

    Attributes:
        hour: the weather.
        vapour_pa: vapour pressure of the outside air.
        water_degc: the harbour's water.
    """

    hour: Hour
    vapour_pa: float
    water_degc: float

    @classmethod
    def of(cls, hour: Hour, water_degc: float) -> "Outside":
        """Work out the vapour pressure once for all boats."""
        return cls(hour, saturation_pa(hour.dew_point_degc), water_degc)


@dataclass(frozen=True, slots=True)
class Happening:
    """Something that befalls the boat at a time."""

    at_ms: int
    happens: Callable[["Boat"], None]


class Boat:
    """One boat, stepped through the winter. What befalls her changes her parts from outside; she knows no faults.

    Attributes:
        record: her lay-up record.
        heat: temperatures.
        moisture: the cabin's moisture.
        banks: battery banks by their id in the record.
        sumps: bilges by their id in the record.
        mains: whether shore power is there.
        gateway_on: whether her gateway sends.
        instruments: sensors by id.
    """

    def __init__(self, record: Vessel, plan: BoatPlan, outside: Outside, seed: int) -> None:
        start_degc = outside.hour.outside_degc
        self.record = record
        self.plan = plan
        self.outside = outside
        self.now_ms = outside.hour.at_ms
        self.heat = Heat(plan.heat, start_degc)
        self.moisture = Moisture(plan.air, start_degc)
        self.mains = record.shore_power.on
        self.banks = {
            b.id: self._bank(b, plan.batteries.get(b.id, BatteryPlan()), start_degc) for b in record.batteries
        }
        self.sumps = {b.id: Sump(plan.bilges.get(b.id, BilgePlan())) for b in record.bilges}
        self.truth = TruthKeeper(record.id)
        self.gateway_on = True
        self.instruments = {
            s.id: Instrument(s, self._truth(s, plan), Random(f"{seed}/{record.id}/{s.id}")) for s in record.sensors
        }
        self._floats = {b.id: b.float_sensor for b in record.bilges if b.float_sensor is not None}
        self._happenings: list[Happening] = []
        self._moved: list[tuple[int, str, float]] = []
        self._drying_w = 0.0

    def _bank(self, battery: Battery, plan: BatteryPlan, start_degc: float) -> Bank:
        truth = BankPlan(
            chemistry=battery.chemistry,
            capacity_ah=battery.capacity_ah,
            nominal_v=battery.nominal_v,
            **plan.model_dump(),
        )
        return Bank(truth, start_degc, mains=self.mains)

    def will_happen(self, happening: Happening) -> None:
        """Take note of something that will befall her."""
        self._happenings.append(happening)
        self._happenings.sort(key=lambda h: h.at_ms, reverse=True)

    def step(self, outside: Outside) -> list[tuple[int, str, float]]:
        """Go on to the time of the weather given.

        Returns:
            What her switches did on the way, as (ms UTC, sensor, value): nothing where the gateway is silent.
        """
        self._moved = []
        to_ms = outside.hour.at_ms
        while self._happenings and self._happenings[-1].at_ms < to_ms:
            self._happenings.pop().happens(self)
        hour = outside.hour
        dt_s = (to_ms - self.now_ms) / 1000
        heat = self.heat
        heat.step(dt_s, hour.outside_degc, outside.water_degc, self._drying_w)
        evaporated = self._step_bilges(dt_s, hour.rain_mm)
        self._drying_w = self.moisture.step(
            dt_s, heat.cabin_degc, hour.outside_degc, outside.vapour_pa, hour.wind_m_s, evaporated, mains=self.mains
        )
        for bank in self.banks.values():
            bank.step(dt_s, heat.engine_space_degc, self.mains)
        self.outside = outside
        self.now_ms = to_ms
        return self._moved if self.gateway_on else []

    def _step_bilges(self, dt_s: float, rain_mm: float) -> float:
        evaporated = 0.0
        for bilge, sump in self.sumps.items():
            drying = (
                saturation_kg_m3(self.heat.engine_space_degc) - self.moisture.vapour_kg_m3 if sump.litres > 0 else 0.0
            )
            litres, changes = sump.step(dt_s, rain_mm, drying)
            evaporated += litres
            for change in changes:
                self._switch(self._floats.get(bilge), self.now_ms + round(change.after_s * 1000), change.up)
        return evaporated

    def bail(self, bilge: str) -> None:
        """Bail a bilge dry by hand."""
        if self.sumps[bilge].empty():
            self._switch(self._floats.get(bilge), self.now_ms + MINUTE_MS, on=False)

    def shore_power(self, on: bool) -> None:
        """Lose shore power, or have it back."""
        if on != self.mains:
            self.mains = on
            self._switch(self.record.shore_power.mains_sensor, self.now_ms + MINUTE_MS, on)

    def _switch(self, sensor: str | None, at_ms: int, on: bool) -> None:
        if sensor is not None:
            self._moved.append((at_ms, sensor, float(on)))

    def readings(self) -> list[PackReading]:
        """Say what the sensors read now: nothing where the gateway is silent."""
        if not self.gateway_on:
            return []
        now_ms = self.now_ms
        said = []
        for instrument in self.instruments.values():
            value = instrument.read()
            if value is not None:
                said.append((instrument.id, instrument.unit, now_ms, value))
        return said

    def _truth(self, sensor: Sensor, plan: BoatPlan) -> Truth:
        match sensor.quantity:
            case Quantity.TEMPERATURE:
                return self._degc(sensor, plan)
            case Quantity.HUMIDITY:
                return lambda: self.moisture.rh
            case Quantity.MAINS:
                return lambda: float(self.mains)
            case Quantity.VOLTAGE:
                bank = self.banks[_linked(self.record.batteries, "voltage_sensor", sensor)]
                return lambda: bank.terminal_v
            case Quantity.LEVEL:
                sump = self.sumps[_linked(self.record.bilges, "level_sensor", sensor)]
                return lambda: sump.level_m
            case Quantity.FLOAT_SWITCH:
                sump = self.sumps[_linked(self.record.bilges, "float_sensor", sensor)]
                return lambda: float(sump.float_up)
            case _:
                raise ValueError(f"{self.record.id}: sensor {sensor.id!r}: {sensor.quantity} cannot be simulated yet")

    def _degc(self, sensor: Sensor, plan: BoatPlan) -> Truth:
        place = plan.places.get(sensor.id, USUAL_PLACES.get(sensor.id))
        heat = self.heat
        match place:
            case Place.OUTSIDE:
                return lambda: self.outside.hour.outside_degc
            case Place.CABIN:
                return lambda: heat.cabin_degc
            case Place.HULL_SIDE:
                return lambda: (
                    HULL_SIDE_FACTOR * heat.cabin_degc + (1 - HULL_SIDE_FACTOR) * self.outside.hour.outside_degc
                )
            case Place.ENGINE_SPACE:
                return lambda: heat.engine_space_degc
            case Place.BLOCK:
                return lambda: heat.block_degc
            case Place.WATER:
                return lambda: self.outside.water_degc
            case None:
                raise ValueError(
                    f"{self.record.id}: the plan does not say where thermometer {sensor.id!r} hangs (places)"
                )


def _linked(parts: tuple[Battery, ...] | tuple[Bilge, ...], link: str, sensor: Sensor) -> str:
    for part in parts:
        if getattr(part, link) == sensor.id:
            return part.id
    raise ValueError(f"sensor {sensor.id!r} measures {sensor.quantity}, and the record links it to nothing")
