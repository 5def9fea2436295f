"""The lay-up record as rows of text: how each thing was left, and who tested it with what and when."""

from dataclasses import dataclass

from monitor.messages.figures import Figures
from monitor.model.equipment import LiquidSystem
from monitor.model.vessel import Vessel

Row = list[str]


@dataclass(frozen=True, slots=True)
class RecordRows:
    """A record in rows."""

    record: Vessel
    figures: Figures

    def systems(self) -> list[Row]:
        """Give name, state, point, tester, date and thermometer of each liquid system."""
        return [self._system(s) for s in self.record.liquid_systems]

    def seacocks(self) -> list[Row]:
        """Give name, how it was left and why, open ones first."""
        found = sorted(self.record.seacocks, key=lambda s: not s.open)
        return [[s.name, "open" if s.open else "shut", s.reason] for s in found]

    def batteries(self) -> list[Row]:
        """Give name, kind and size, and what charges it."""
        return [
            [
                b.name,
                f"{b.chemistry.value}, {b.nominal_v:.0f} V, {b.capacity_ah:.0f} Ah",
                "charger connected" if b.charger else "no charger",
            ]
            for b in self.record.batteries
        ]

    def plant(self) -> list[Row]:
        """Give shore power, dehumidifier and heater, and how each was left."""
        record = self.record
        rows = [["Shore power", "left on" if record.shore_power.on else "off"]]
        if record.dehumidifier is not None:
            rows.append(["Dehumidifier", "left running" if record.dehumidifier.running else "left off"])
        if record.heater is not None:
            rows.append(["Heater", "left on" if record.heater.on else "left off"])
        return rows

    def _system(self, system: LiquidSystem) -> Row:
        state = system.state.value + (f", {system.liquid.value}" if system.liquid else "")
        if system.drains:
            state += "; " + ", ".join(f"{d.name} ({'probed' if d.probed else 'not probed'})" for d in system.drains)
        probe = self.record.sensor(system.sensor or "")
        return [
            system.name,
            state,
            "\u2013" if system.tested_freeze_degc is None else self.figures.degc(system.tested_freeze_degc),
            "\u2013" if system.tester is None else system.tester.value,
            "\u2013" if system.tested is None else self._day(system.tested.isoformat()),
            "none of its own" if probe is None else probe.place,
        ]

    def _day(self, written: str) -> str:
        return self.figures.date(written)
