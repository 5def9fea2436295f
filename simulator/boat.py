"""One boat through the winter: her hull, moisture, liquids, batteries and bilges, and what her sensors say of them."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from random import Random

from monitor.model.equipment import Battery, Bilge, LiquidSystem, Sensor
from monitor.model.quantity import SPANS, Quantity
from monitor.model.vessel import Mode, Vessel
from simulator.bank_plan import BankPlan, BatteryPlan
from simulator.battery import Bank
from simulator.bilge import BilgePlan, Sump
from simulator.boat_plan import USUAL_PLACES, BoatPlan, Place
from simulator.gateway import Arrival, Gateway, PackReading
from simulator.heat import Heat
from simulator.ice import IceEvent
from simulator.liquids_aboard import left_behind, liquids_aboard
from simulator.moisture import Moisture
from simulator.mould import Mould, Sensitivity
from simulator.openings import Opening
from simulator.outside import Outside
from simulator.sensors import Instrument, Truth
from simulator.truth import Cause, Explains, TruthLog
from simulator.truth_keeper import TruthKeeper
from simulator.vapour import saturation_kg_m3

MINUTE_MS = 60_000
# Heat that a cubic metre of air carries for each kelvin, Wh: 1.2 kg by 1,005 J/(kg K).
AIR_WH_M3_K = 0.335
# A split pipe whose tank drains through it by gravity (invented).
BURST_L_MIN = 2.0
_SWITCH_UNIT = SPANS[Quantity.FLOAT_SWITCH].unit


@dataclass(frozen=True, slots=True)
class Happening:
    """Something that befalls the boat at a time."""

    at_ms: int
    happens: Callable[["Boat"], None]


class Boat:
    """One boat, stepped through the winter. What befalls her changes her parts from outside; she knows no faults.

    Attributes:
        record: her lay-up record.
        new_record: a new version of it that somebody has just written, None where nobody has.
        plan: how she truly is.
        heat: temperatures.
        moisture: the cabin's moisture.
        mould: the mould index of the furnishings of her first space; None where no space is recorded.
        liquids: what stands in her liquid systems.
        banks: battery banks by their id in the record.
        sumps: bilges by their id in the record.
        mains: whether shore power is there.
        gateway: what sends.
        gateway_on: whether it has power.
        instruments: sensors by id.
        truth: keeps the truth of her.
        neighbours: all boats of the yard by id.
        airing: air changes an hour that an open hatch adds.
        tilts: by how much water stands higher where a bilge's sensors are, by what is outside; by bilge and reason.
        splits: systems that split when they freeze solid, and the litres of their tank.
        openings: openings below the waterline, by whoever made them.
        swapped: what sensors measured before they were swapped, by sensor.
    """

    def __init__(self, record: Vessel, plan: BoatPlan, outside: Outside, seed: int, log: TruthLog) -> None:
        start_degc = outside.hour.outside_degc
        self.record = record
        self.new_record: Vessel | None = None
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
        if record.mode is Mode.ASHORE_BUNG_OUT:
            for sump in self.sumps.values():
                sump.bung_at_m = 0.0
        self.gateway = Gateway(f"{seed}/{record.id}")
        self.gateway_on = True
        self.instruments = {
            s.id: Instrument(s, self._truth_of(s), Random(f"{seed}/{record.id}/{s.id}"), self._place_of(s))
            for s in record.sensors
        }
        places = {s.id: self.system_place(s) for s in record.liquid_systems}
        self.liquids = liquids_aboard(record.liquid_systems, plan.freezes_degc, places)
        self.neighbours: Mapping[str, Boat] = {record.id: self}
        self.airing = 0.0
        self.tilts: dict[tuple[str, str], Callable[[Outside], float]] = {}
        self._no_power: set[str] = set()
        self.splits: dict[str, float] = {}
        self.openings: dict[int, Opening] = {}
        self.swapped: dict[str, Truth] = {}
        space = record.spaces[0] if record.spaces else None
        self.mould = None if space is None else Mould(Sensitivity(space.mould_class.value))
        self.truth = TruthKeeper(self, log)
        self._floats = {b.id: b.float_sensor for b in record.bilges if b.float_sensor is not None}
        self._happenings: list[Happening] = []
        self._moved: list[tuple[int, str, float]] = []
        self._cabin_w = self._engine_space_w = 0.0
        self._ground = record.mode.is_ashore
        feeding = [b.id for b in record.batteries if b.feeds_pump or len(record.batteries) == 1]
        self._pump_bank = feeding[0] if feeding and any(s.pump.ready for s in self.sumps.values()) else None

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

    def step(self, outside: Outside) -> None:
        """Go on to the time of the weather given."""
        to_ms = outside.hour.at_ms
        while self._happenings and self._happenings[-1].at_ms < to_ms:
            self._happenings.pop().happens(self)
        hour = outside.hour
        dt_s = (to_ms - self.now_ms) / 1000
        heat = self.heat
        heat.step(
            dt_s,
            hour.outside_degc,
            outside.water_degc,
            self._cabin_w,
            engine_space_w=self._engine_space_w,
            sun_w_m2=hour.sun_w_m2,
            ground_degc=outside.ground_degc if self._ground else None,
            airing_w_k=self.airing * self.plan.air.volume_m3 * AIR_WH_M3_K,
            mains=self.mains,
        )
        if self.tilts:
            tilted: dict[str, float] = {}
            for (bilge, _), tilt in self.tilts.items():
                tilted[bilge] = tilted.get(bilge, 0.0) + tilt(outside)
            for bilge, by_m in tilted.items():
                self.sumps[bilge].tilt(by_m)
        evaporated = self._step_bilges(dt_s, hour.rain_mm)
        self._cabin_w = self.moisture.step(
            dt_s,
            heat.cabin_degc,
            hour.outside_degc,
            outside.vapour_pa,
            hour.wind_m_s,
            evaporated,
            mains=self.mains,
            airing_per_h=self.airing,
        )
        pumps = self._pump_draws() if self._pump_bank is not None else None
        for bank_id, bank in self.banks.items():
            if pumps is not None and bank_id == self._pump_bank:
                bank.step(dt_s, heat.engine_space_degc, self.mains, *pumps)
            else:
                bank.step(dt_s, heat.engine_space_degc, self.mains)
        for aboard in self.liquids:
            aboard.liquid.step(dt_s, aboard.place_degc())
            if self.splits and IceEvent.THAWED in aboard.liquid.events:
                self._burst(aboard.system)
        if self.mould is not None:
            self.mould.step(dt_s, self.moisture.surface_degc, self.moisture.surface_rh)
        self.outside = outside
        self.now_ms = to_ms
        self.truth.look()

    def _step_bilges(self, dt_s: float, rain_mm: float) -> float:
        evaporated = 0.0
        volts = None if self._pump_bank is None else self.banks[self._pump_bank].terminal_v
        for bilge, sump in self.sumps.items():
            drying = (
                saturation_kg_m3(self.heat.engine_space_degc) - self.moisture.vapour_kg_m3 if sump.litres > 0 else 0.0
            )
            litres, changes = sump.step(dt_s, rain_mm, drying, volts=volts)
            evaporated += litres
            for change in changes:
                at_ms = self.now_ms + round(change.after_s * 1000)
                if change.up:
                    self.truth.mark("float up", bilge, at_ms)
                self._switch(self._floats.get(bilge), at_ms, change.up)
        return evaporated

    def _pump_draws(self) -> tuple[float, float]:
        pumps = [sump.pump for sump in self.sumps.values()]
        return sum(p.used_ah for p in pumps), sum(p.now_a for p in pumps)

    def _burst(self, system: str) -> None:
        """Have a system that froze solid run into the first bilge, now that its ice lets go."""
        litres = self.splits.get(system)
        if litres is not None and self.truth.froze_solid(system) and self.sumps:
            bilge = next(iter(self.sumps))
            del self.splits[system]
            self.truth.note_cause(
                Cause("pipe burst", self.record.id, system, self.now_ms, explains=(Explains("bilge", bilge),))
            )
            self.truth.water_comes(bilge)
            self.sumps[bilge].inflow.burst(BURST_L_MIN, litres)

    def leave_water(self, system: str) -> None:
        """Have some water stay in a system that was drained."""
        known = next(s for s in self.record.liquid_systems if s.id == system)
        self.liquids.append(left_behind(system, self.system_place(known)))

    def level_again(self, bilge: str, why: str) -> None:
        """Have one reason gone for which she does not lie level."""
        del self.tilts[bilge, why]
        self.sumps[bilge].tilt(0.0)

    def bail(self, bilge: str) -> None:
        """Bail a bilge dry by hand."""
        if self.sumps[bilge].empty():
            self._switch(self._floats.get(bilge), self.now_ms + MINUTE_MS, on=False)

    def shore_power(self, on: bool, why: str) -> None:
        """Lose shore power for a reason, or have that reason gone: it is back once there is none left."""
        if on:
            self._no_power.discard(why)
        else:
            self._no_power.add(why)
        on = self.record.shore_power.on and not self._no_power
        if on != self.mains:
            self.mains = on
            self._switch(self.record.shore_power.mains_sensor, self.now_ms + MINUTE_MS, on)

    def _switch(self, sensor: str | None, at_ms: int, on: bool) -> None:
        if sensor is not None and self.instruments[sensor].is_sound:
            self._moved.append((at_ms, sensor, float(on)))

    def send(self) -> list[Arrival]:
        """Have the gateway send what switches did since the last step and what the sensors read now.

        Returns:
            What has come to the broker by now, in the order it came.
        """
        moved, self._moved = self._moved, []
        if not self.gateway_on:
            return list(self.gateway.due(self.now_ms))
        arrived: list[Arrival] = []
        now_ms = self.now_ms
        if moved:
            # What moved at the very time of the pack is said by the pack; of two moves in one minute the last is said.
            last = {(at, sensor): on for at, sensor, on in moved if at < now_ms}
            for (at, sensor), on in sorted(last.items()):
                arrived += self.gateway.send(at, [(sensor, _SWITCH_UNIT, at, on)])
        said: list[PackReading] = []
        for instrument in self.instruments.values():
            value = instrument.read(now_ms)
            if value is not None:
                said.append((instrument.id, instrument.unit, now_ms, value))
        arrived += self.gateway.send(now_ms, said)
        return arrived

    def _truth_of(self, sensor: Sensor) -> Truth:
        match sensor.quantity:
            case Quantity.TEMPERATURE:
                return self._degc(sensor)
            case Quantity.HUMIDITY:
                return lambda: self.moisture.rh
            case Quantity.MAINS:
                return lambda: float(self.mains)
            case Quantity.VOLTAGE:
                bank = self.banks[_linked(self.record.batteries, "voltage_sensor", sensor)]
                return lambda: bank.terminal_v
            case Quantity.LEVEL:
                sump = self.sumps[_linked(self.record.bilges, "level_sensor", sensor)]
                return lambda: sump.sensed_level_m
            case Quantity.FLOAT_SWITCH:
                sump = self.sumps[_linked(self.record.bilges, "float_sensor", sensor)]
                return lambda: float(sump.float_up)
            case _:
                raise ValueError(f"{self.record.id}: sensor {sensor.id!r}: {sensor.quantity} cannot be simulated yet")

    def _place_of(self, sensor: Sensor) -> Truth | None:
        """Give the temperature that a humidity or level sensor itself has."""
        heat = self.heat
        if sensor.quantity is Quantity.HUMIDITY:
            return lambda: heat.cabin_degc
        return (lambda: heat.engine_space_degc) if sensor.quantity is Quantity.LEVEL else None

    def system_place(self, system: LiquidSystem) -> Truth:
        """Give the temperature where a liquid system lies: where its thermometer hangs, else in the cabin."""
        sensor = None if system.sensor is None else self.record.sensor(system.sensor)
        if sensor is None:
            return lambda: self.heat.cabin_degc
        return self._degc(sensor)

    def _degc(self, sensor: Sensor) -> Truth:
        place = self.plan.places.get(sensor.id, USUAL_PLACES.get(sensor.id))
        heat = self.heat
        match place:
            case Place.OUTSIDE:
                return lambda: self.outside.hour.outside_degc
            case Place.CABIN:
                return lambda: heat.cabin_degc
            case Place.HULL_SIDE:
                return lambda: heat.locker_degc
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
