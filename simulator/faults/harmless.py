"""What is harmless and looks like harm: people aboard, wind and tide, floats that stick, tests and swaps."""

from typing import Annotated, Literal

from pydantic import Field

from monitor.model.equipment import Positive
from monitor.model.scale import Priority
from monitor.model.vessel import Mode, Vessel
from simulator.boat import Boat
from simulator.faults.fault import FaultPlan, ways_of
from simulator.sensors import Instrument
from simulator.tide import DryingBerth, Tide
from simulator.truth import Explains


class Harmless(FaultPlan):
    """It explains no alert unless its kind says so."""

    def explains(self, record: Vessel) -> tuple[Explains, ...]:
        """It explains nothing."""
        del record
        return ()


class OfTheBoat(Harmless):
    """Something of the whole boat, the subject ``boat``."""

    @classmethod
    def ways(cls, record: Vessel) -> list[dict[str, str]]:
        """It is the boat."""
        del record
        return ways_of(["boat"])


class HatchOpen(OfTheBoat):
    """A hatch stands open, in sun and wind: so many air changes an hour."""

    kind: Literal["hatch open"]
    changes_per_h: Positive = 8.0

    def begin(self, boat: Boat) -> None:
        """Open it."""
        boat.airing = self.changes_per_h

    def end(self, boat: Boat) -> None:
        """Shut it."""
        boat.airing = 0.0


class EngineRun(OfTheBoat):
    """Somebody runs the engine for an hour: its heat, and its alternator on every battery."""

    kind: Literal["engine run"]
    heat_w: Positive = 6_000.0
    alternator_a: Positive = 40.0

    def begin(self, boat: Boat) -> None:
        """Run it."""
        boat.heat.run_engine(self.heat_w, 3600.0)
        for bank in boat.banks.values():
            bank.run_engine(self.alternator_a, 3600.0)


class WashDown(Harmless):
    """The deck is washed down, and the water of so much deck finds its way into a bilge, the subject."""

    kind: Literal["wash-down"]
    mm: Positive = 5.0
    minutes: Positive = 20.0
    leak_m2: Positive = 0.1

    def begin(self, boat: Boat) -> None:
        """Wash."""
        inflow = boat.sumps[self.subject].inflow
        tight = inflow.deck_leak_m2
        inflow.deck_leak_m2 = self.leak_m2
        inflow.wash_down(self.mm, self.minutes)
        inflow.deck_leak_m2 = tight

    @classmethod
    def ways(cls, record: Vessel) -> list[dict[str, str]]:
        """It runs into a bilge that holds it: with the bung out it runs through."""
        return [] if record.mode is Mode.ASHORE_BUNG_OUT else ways_of(b.id for b in record.bilges)


class AfloatOnly(Harmless):
    """Something of a boat afloat; the subject is a bilge whose water it moves."""

    @classmethod
    def ways(cls, record: Vessel) -> list[dict[str, str]]:
        """It moves the water in a bilge of a boat afloat."""
        return ways_of(b.id for b in record.bilges) if record.mode is Mode.AFLOAT_LAID_UP else []


class HoistAndRezero(AfloatOnly):
    """She is lifted in the slings and floated again, sits a little otherwise, and her level is set to zero anew.

    The yard writes it into her record: in the slings, and afloat again.
    """

    kind: Literal["hoist and re-zero"]
    sits_m: Annotated[float, Field(ge=-0.1, le=0.1)] = 0.03

    def begin(self, boat: Boat) -> None:
        """Lift her."""
        boat.new_record = boat.record.model_copy(update={"mode": Mode.IN_SLINGS})
        boat.sumps[self.subject].tilt(-0.5)

    def end(self, boat: Boat) -> None:
        """Float her again."""
        boat.sumps[self.subject].tilt(self.sits_m)
        for bilge in boat.record.bilges:
            if bilge.id == self.subject and bilge.level_sensor is not None:
                boat.instruments[bilge.level_sensor].rezero(boat.now_ms)
        boat.new_record = boat.record


class TakesTheGround(AfloatOnly):
    """Her berth dries at low water of springs: she takes the ground and leans, and her bilge water runs to one side."""

    kind: Literal["takes the ground"]
    leans_m: Annotated[float, Field(gt=0, le=0.3)] = 0.05
    draught_m: Annotated[float, Field(gt=0, le=3)] = 1.0

    def begin(self, boat: Boat) -> None:
        """Lie in a drying berth."""
        berth = DryingBerth(Tide(2.2, 1.2, 0.4), self.draught_m, self.leans_m)
        boat.tilts[self.subject, self.kind] = lambda at: berth.tilt_m(at.hour.at_ms)

    def end(self, boat: Boat) -> None:
        """Lie in deeper water."""
        boat.level_again(self.subject, self.kind)


class WindHeels(AfloatOnly):
    """Wind on the beam heels her, and bilge water runs to one side: so far in 10 m/s, with the square of the wind."""

    kind: Literal["wind heels her"]
    at_10_m_s_m: Annotated[float, Field(gt=0, le=0.2)] = 0.02

    def begin(self, boat: Boat) -> None:
        """Lie beam to the wind."""
        boat.tilts[self.subject, self.kind] = lambda at: self.at_10_m_s_m * min((at.hour.wind_m_s / 10) ** 2, 4.0)

    def end(self, boat: Boat) -> None:
        """Lie with the wind ahead."""
        boat.level_again(self.subject, self.kind)


class FloatFault(Harmless):
    """Something of a float switch; the subject is its bilge."""

    @classmethod
    def ways(cls, record: Vessel) -> list[dict[str, str]]:
        """It is a bilge with a float switch."""
        return ways_of(b.id for b in record.bilges if b.float_sensor is not None)


class FloatIced(FloatFault):
    """Ice holds a float where it is."""

    kind: Literal["float iced"]

    def begin(self, boat: Boat) -> None:
        """Freeze in."""
        boat.sumps[self.subject].float_switch.iced = True

    def end(self, boat: Boat) -> None:
        """Thaw out."""
        boat.sumps[self.subject].float_switch.iced = False


class FloatFouled(FloatFault):
    """Something holds a float up in a dry bilge. It may be called *water or bad sensor*: somebody has to look."""

    kind: Literal["float fouled up"]

    def begin(self, boat: Boat) -> None:
        """Hold it up."""
        boat.sumps[self.subject].float_switch.fouled = True

    def end(self, boat: Boat) -> None:
        """Let it down."""
        boat.sumps[self.subject].float_switch.fouled = None

    def explains(self, record: Vessel) -> tuple[Explains, ...]:
        """It explains a warning, not an alarm, where a level contradicts the float; without one it is an alarm."""
        levels = any(b.id == self.subject and b.level_sensor is not None for b in record.bilges)
        most = Priority.WARNING if levels else Priority.ALARM
        floats = (b.float_sensor for b in record.bilges if b.id == self.subject)
        return (Explains("bilge", self.subject, most), *(Explains("silence", s) for s in floats))


class BankFault(Harmless):
    """Something done to a battery bank, the subject."""

    @classmethod
    def ways(cls, record: Vessel) -> list[dict[str, str]]:
        """It is a battery bank."""
        return ways_of(b.id for b in record.batteries)


class LoadTest(BankFault):
    """Somebody tests a battery under a heavy load, for some seconds or minutes."""

    kind: Literal["load test"]
    load_a: Positive = 100.0
    for_s: Annotated[float, Field(gt=0, le=1800)] = 300.0

    def begin(self, boat: Boat) -> None:
        """Test it."""
        boat.banks[self.subject].load_test(self.load_a, self.for_s)


class BatteryRoomSwap(BankFault):
    """A battery goes to the battery room, and a charged one comes in its place. Meanwhile its meter sees nothing."""

    kind: Literal["battery room swap"]
    comes_charged: Annotated[float, Field(gt=0, le=1)] = 0.95

    def begin(self, boat: Boat) -> None:
        """Take it out."""
        for instrument in self._meters(boat):
            instrument.disconnect(0.0)

    def end(self, boat: Boat) -> None:
        """Put the other one in."""
        boat.banks[self.subject].swap(self.comes_charged)
        for instrument in self._meters(boat):
            instrument.reconnect()

    def _meters(self, boat: Boat) -> list[Instrument]:
        meters = (b.voltage_sensor for b in boat.record.batteries if b.id == self.subject)
        return [boat.instruments[m] for m in meters if m is not None]


class HumidistatRests(Harmless):
    """Somebody turns a humidistat up a little, and the dehumidifier rests more. The subject is the space."""

    kind: Literal["humidistat rests"]
    by_rh: Annotated[float, Field(gt=0, le=15)] = 5.0

    def begin(self, boat: Boat) -> None:
        """Turn it up."""
        self._turn(boat, self.by_rh)

    def end(self, boat: Boat) -> None:
        """Turn it back."""
        self._turn(boat, -self.by_rh)

    def _turn(self, boat: Boat, by_rh: float) -> None:
        machine = boat.moisture.dehumidifier
        if machine is not None:
            machine.starts += by_rh / 100
            machine.stops += by_rh / 100

    @classmethod
    def ways(cls, record: Vessel) -> list[dict[str, str]]:
        """It lies in the space of a dehumidifier that was left running."""
        machine = record.dehumidifier
        return ways_of([machine.space if machine is not None and machine.running else None])
