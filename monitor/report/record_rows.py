"""The lay-up record as rows of text: how each thing was left, and who tested it with what and when."""

from dataclasses import dataclass

from monitor.messages.figures import Figures
from monitor.model.equipment import LiquidSystem
from monitor.model.proof import Proof
from monitor.model.vessel import Vessel
from monitor.record.commission import Want, wants_of
from monitor.record.commission_figures import figure
from monitor.record.commission_says import called

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

    def proofs(self) -> list[Row]:
        """Give when each sensor was proved by hand, by whom, how, and what it said; then who took the watch on."""
        wants = wants_of(self.record)
        proved = sorted(((w, w.proof) for w in wants if w.proof is not None), key=lambda pair: pair[1].at)
        rows = [self._proof(want, proof) for want, proof in proved]
        taken = self.record.watch_taken_on
        if taken is not None:
            what = f"The yard took the watch on at {taken.place}; {taken.rung} answered the duty phone"
            rows.append([self._day(taken.at.date().isoformat()), taken.by, what, "\u2013"])
        left = [f"{called(w.sensor)}: not proved {w.way.value}" for w in wants if w.proof is None]
        return [*rows, *(["\u2013", "nobody", text, "\u2013"] for text in left)]

    def _proof(self, want: Want, proof: Proof) -> Row:
        wanted = "" if proof.wanted is None else f", should be {figure(want.sensor, proof.wanted)}"
        said = f"{figure(want.sensor, proof.said)}{wanted}"
        day = self._day(proof.at.date().isoformat())
        return [day, proof.by, f"{called(want.sensor)}: {want.way.value}", said]

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
