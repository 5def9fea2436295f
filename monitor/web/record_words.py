"""A lay-up record as an engineer reads it: what was done to each thing, and what its sensor said last."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from monitor.model.equipment import Battery, Bilge, LiquidSystem, Sensor, SystemState
from monitor.model.quantity import Quantity
from monitor.model.scale import Flag
from monitor.model.vessel import Vessel
from monitor.model.views import Newest
from monitor.model.work import JobEnd
from monitor.record.blind import blind_spots
from monitor.record.standing import standing_items
from monitor.web.clock import YardClock
from monitor.web.commission_shown import proof_entries


@dataclass(frozen=True, slots=True)
class SensorRow:
    """A sensor, what it said last and when; ``doubt`` is empty where that can be believed."""

    sensor: Sensor
    value: str
    at_ms: int | None
    doubt: str


@dataclass(frozen=True, slots=True)
class Entry:
    """One line of the record: a name, how it was left, and what there is to know beside it."""

    name: str
    state: str
    details: tuple[str, ...] = ()
    is_open: bool = False


@dataclass(frozen=True, slots=True)
class RecordWords:
    """A record in words."""

    record: Vessel
    newest: Mapping[str, Newest]
    clock: YardClock

    def systems(self) -> list[Entry]:
        """Give the liquid systems."""
        return [self._system(s) for s in self.record.liquid_systems]

    def batteries(self) -> list[Entry]:
        """Give the batteries."""
        return [self._battery(b) for b in self.record.batteries]

    def bilges(self) -> list[Entry]:
        """Give the bilges."""
        return [self._bilge(b) for b in self.record.bilges]

    def seacocks(self) -> list[Entry]:
        """Give the seacocks, open ones first."""
        found = [
            Entry(s.name, "open" if s.open else "shut", (s.reason,) if s.reason else (), is_open=s.open)
            for s in self.record.seacocks
        ]
        return sorted(found, key=lambda e: not e.is_open)

    def plant(self) -> list[Entry]:
        """Give shore power, dehumidifier and heater."""
        return list(self._plant())

    def work(self) -> list[Entry]:
        """Give how the jobs of the lay-up ended: their number, and each that was not done with its reason."""
        jobs = self.record.jobs
        ends = [f"{n} {end.value}" for end in JobEnd if (n := sum(job.end is end for job in jobs))]
        summed = [Entry("Jobs of the lay-up", ", ".join(ends))] if jobs else []
        not_done = [job for job in jobs if job.end is JobEnd.NOT_DONE]
        return summed + [Entry(job.what, "not done", (f"{job.by}: {job.reason}",), is_open=True) for job in not_done]

    def open_items(self) -> list[Entry]:
        """Give what was left open, off or out, what is still to be done first."""
        found = []
        for item in self.record.open_items:
            if item.closed is None:
                found.append(Entry(f"Tag {item.tag}: {item.what}", f"due {item.due}", is_open=True))
            else:
                by = f" by {item.closed_by}" if item.closed_by else ""
                found.append(Entry(f"Tag {item.tag}: {item.what}", f"put right {self.clock.day(item.closed)}{by}"))
        return sorted(found, key=lambda e: not e.is_open)

    def proofs(self) -> list[Entry]:
        """Give which sensors were proved by hand for this lay-up, by whom, and who took the watch on."""
        if not self.record.proofs and self.record.commissioned is None:
            return []
        return [
            Entry(name, state, details, is_open=state.startswith("not"))
            for name, state, details in proof_entries(self.record, self.clock)
        ]

    def implied_items(self) -> list[Entry]:
        """Give what the record implies must be put right though nobody hung a tag on it."""
        untagged = [item for item in standing_items(self.record) if item.tag is None]
        return [Entry(item.what, f"due {item.due}", is_open=True) for item in untagged]

    def blind_spots(self) -> list[str]:
        """Give what nobody can see aboard."""
        return blind_spots(self.record)

    def sensors(self) -> list[SensorRow]:
        """Give the sensors and what each said last."""
        return [self._sensor(s) for s in self.record.sensors]

    def _system(self, system: LiquidSystem) -> Entry:
        details = []
        state = system.state.value
        if system.state is SystemState.TREATED and system.tested_freeze_degc is not None:
            state = f"treated, protected to {self.clock.figures.degc(system.tested_freeze_degc)}"
            tested = "" if system.tested is None else f" on {self.clock.day(system.tested)}"
            details.append(f"{(system.liquid or '').capitalize()}; tested by {system.tester}{tested}")
        elif system.liquid is not None:
            details.append(system.liquid.capitalize())
        if system.drains:
            probed = ", ".join(f"{d.name} ({'probed' if d.probed else 'not probed'})" for d in system.drains)
            details.append(f"Drains: {probed}")
        if system.changed is not None:
            details.append(f"Liquid last changed {self.clock.day(system.changed)}")
        probe = self.record.sensor(system.sensor or "")
        details.append("No thermometer of its own" if probe is None else f"Thermometer: {probe.place}")
        unproven = system.state is SystemState.NOT_PROVEN or any(not d.probed for d in system.drains)
        return Entry(system.name, state, tuple(details), is_open=unproven or system.state is SystemState.WET)

    def _battery(self, battery: Battery) -> Entry:
        kind = {"agm": "AGM", "lifepo4": "LiFePO4"}.get(battery.chemistry.value, battery.chemistry.value)
        size = f"{kind}, {battery.nominal_v:.0f} V, {battery.capacity_ah:.0f} Ah"
        charger = "Charger connected" if battery.charger else f"No charger; budget {battery.budget_ma:.0f} mA"
        return Entry(battery.name, size, (charger,))

    def _bilge(self, bilge: Bilge) -> Entry:
        heights = [f"{what} at {self.clock.figures.metres(m)}" for what, m in bilge.harm_heights]
        watched = [n for n, s in (("level", bilge.level_sensor), ("float switch", bilge.float_sensor)) if s is not None]
        state = f"watched by {' and '.join(watched)}" if watched else "not watched"
        details = (f"High at {self.clock.figures.metres(bilge.high_m)}", *heights)
        return Entry(bilge.name, state, (", ".join(details),), is_open=not watched)

    def _plant(self) -> Iterator[Entry]:
        yield Entry("Shore power", "left on" if self.record.shore_power.on else "off")
        dryer = self.record.dehumidifier
        if dryer is None:
            yield Entry("Dehumidifier", "none aboard")
        else:
            hold = (f"{dryer.kind.capitalize()}; holds below {dryer.hold_below_rh:.0f} % in {dryer.space}",)
            yield Entry("Dehumidifier", "left running" if dryer.running else "left off", hold)
        heater = self.record.heater
        if heater is not None:
            yield Entry("Heater", "left on" if heater.on else "left off", (heater.note,) if heater.note else ())

    def _sensor(self, sensor: Sensor) -> SensorRow:
        newest = self.newest.get(sensor.id)
        if newest is None:
            return SensorRow(sensor, "not heard yet", None, "")
        doubt = {Flag.SUSPECT: "suspect", Flag.FAIL: "cannot be right"}.get(newest.flag, "")
        return SensorRow(sensor, self.value(sensor.quantity, newest.value), newest.event_ms, doubt)

    def value(self, quantity: Quantity, value: float) -> str:
        """Give a reading in words, with its unit."""
        figures = self.clock.figures
        if quantity.is_switch:
            return str(figures.units[_SWITCH_WORDS[quantity][value >= 0.5]])  # noqa: PLR2004 - half way between
        forms = {
            Quantity.TEMPERATURE: figures.degc,
            Quantity.HUMIDITY: figures.pct,
            Quantity.VOLTAGE: figures.volts,
            Quantity.CELL: figures.volts,
            Quantity.CURRENT: figures.amps,
            Quantity.LEVEL: figures.metres,
        }
        form = forms.get(quantity)
        return f"{value / 100:.0f} hPa" if form is None else form(value)


_SWITCH_WORDS = {
    Quantity.FLOAT_SWITCH: ("float_down", "float_up"),
    Quantity.MAINS: ("mains_off", "mains_on"),
}
