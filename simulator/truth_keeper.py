"""Keeps one boat's truth: looks at her after each step, and notes when causes and harms begin and end."""

from collections.abc import Callable
from typing import TYPE_CHECKING

from simulator.battery import Bank
from simulator.bilge import Sump
from simulator.truth import Cause, Harm, HarmKind, Mark, TruthLog

if TYPE_CHECKING:
    from simulator.boat import Boat

# A harm must have gone back so far before it can begin again, so that one is not counted twice.
HALF, HALF_AGAIN = 0.50, 0.55
# Charges whose passing is noted, %: 69 % are 12.4 V at rest, flooded (battery industry scale).
CHARGE_MARKS = (69,)
WANTS_CHARGE, WANTS_NONE = 0.75, 0.80
MOULD_BEGINS, MOULD_AGAIN = 1.0, 0.9
DRY_AGAIN_M = 0.02
PUMP_H = 24.0
# A pump draws about 1.5 A at 12 V for each 1,000 L/h of its rating (makers' data sheets; common practice).
PUMP_A_PER_LPH = 1.5 / 1000
LOOK_MS = 3_600_000
RISEN_M = 0.020


class TruthKeeper:
    """What is true of one boat, noted in a log that may be shared by many."""

    __slots__ = ("_boat", "_heights", "_hourly", "_log", "_open", "_rising", "_undried")

    def __init__(self, boat: "Boat", log: TruthLog) -> None:
        self._boat = boat
        self._log = log
        self._open: dict[tuple[HarmKind, str], Harm] = {}
        self._undried: dict[str, float] = {}
        self._rising: list[tuple[str, Sump, float]] = []
        record = boat.record
        self._heights: list[tuple[Sump, str, HarmKind, float]] = []
        for bilge in record.bilges:
            for kind, height_m in (
                (HarmKind.STARTER, bilge.starter_m),
                (HarmKind.TERMINALS, bilge.terminals_m),
                (HarmKind.SOLE, bilge.sole_m),
            ):
                if height_m is not None:
                    self._heights.append((boat.sumps[bilge.id], bilge.id, kind, height_m))
        self._hourly: list[Callable[[int], None]] = [self._battery_of(b.id) for b in record.batteries]
        self._hourly.append(self._look_at_mould)

    def note_cause(self, cause: Cause) -> None:
        """Note that a cause has begun."""
        self._log.causes.append(cause)

    def dry_no_more(self, space: str) -> None:
        """Note that nothing dries a space any more, to mark when that begins to show."""
        machine = self._boat.record.dehumidifier
        self._undried[space] = 65.0 if machine is None else machine.hold_below_rh

    def dry_again(self, space: str) -> None:
        """Note that a space is dried again, and may not have grown humid at all."""
        self._undried.pop(space, None)

    def water_comes(self, bilge: str) -> None:
        """Note that water begins to come into a bilge, to mark when it has risen 20 mm."""
        sump = self._boat.sumps[bilge]
        self._rising.append((bilge, sump, sump.level_m + RISEN_M))

    def mark(self, kind: str, subject: str, at_ms: int) -> None:
        """Note a moment on the way to a harm."""
        self._log.marks.append(Mark(kind, self._boat.record.id, subject, at_ms))

    def froze_solid(self, system: str) -> bool:
        """Say whether a system was frozen solid until now."""
        return (HarmKind.FROZEN, system) in self._open

    def look(self) -> None:
        """Look at her after a step."""
        boat = self._boat
        now_ms = boat.now_ms
        for aboard in boat.liquids:
            liquid = aboard.liquid
            if liquid.events or liquid.frozen:
                self._harm(HarmKind.FREEZES, aboard.system, now_ms, begins=liquid.frozen, ends=not liquid.frozen)
                self._harm(HarmKind.FROZEN, aboard.system, now_ms, begins=liquid.solid, ends=not liquid.frozen)
        for sump, bilge, kind, height_m in self._heights:
            if sump.level_m > DRY_AGAIN_M or self._open:
                wet = sump.level_m >= height_m
                self._harm(kind, bilge, now_ms, begins=wet, ends=sump.level_m < height_m - DRY_AGAIN_M)
        if self._rising or self._undried:
            self._mark_what_shows(now_ms)
        if now_ms % LOOK_MS == 0:
            for look in self._hourly:
                look(now_ms)

    def _mark_what_shows(self, now_ms: int) -> None:
        for rising in list(self._rising):
            bilge, sump, at_m = rising
            if sump.level_m >= at_m:
                self._rising.remove(rising)
                self.mark("20 mm risen", bilge, now_ms)
        for space, rh in list(self._undried.items()):
            if self._boat.moisture.rh > rh:
                del self._undried[space]
                self.mark("humid", space, now_ms)

    def _battery_of(self, bank_id: str) -> Callable[[int], None]:
        boat = self._boat
        bank: Bank = boat.banks[bank_id]
        record = boat.record
        feeds = any(b.id == bank_id and (b.feeds_pump or len(record.batteries) == 1) for b in record.batteries)
        pump_lph = sum(b.pump_lph or 0.0 for b in record.bilges) if feeds else 0.0

        still = list(CHARGE_MARKS)

        def look(now_ms: int) -> None:
            share = bank.charged_share
            while still and 100 * share < still[0]:
                self.mark(f"charge under {still.pop(0)} %", bank_id, now_ms)
            self._harm(HarmKind.HALF, bank_id, now_ms, begins=share < HALF, ends=share > HALF_AGAIN)
            wants = share < WANTS_CHARGE
            self._harm(HarmKind.WANTS_CHARGE, bank_id, now_ms, begins=wants, ends=share > WANTS_NONE)
            degc = bank.degc
            if degc < 0 or (HarmKind.BATTERY_FROZEN, bank_id) in self._open:
                frozen = bank.frozen(degc)
                self._harm(HarmKind.BATTERY_FROZEN, bank_id, now_ms, begins=frozen, ends=degc > 0)
            if pump_lph:
                runs = bank.runs_pump(PUMP_H, pump_lph * PUMP_A_PER_LPH)
                self._harm(HarmKind.NO_PUMP, bank_id, now_ms, begins=not runs, ends=runs)

        return look

    def _look_at_mould(self, now_ms: int) -> None:
        mould = self._boat.mould
        if mould is not None:
            space = self._boat.record.spaces[0].id
            index = mould.index
            self._harm(HarmKind.MOULD, space, now_ms, begins=index > MOULD_BEGINS, ends=index < MOULD_AGAIN)

    def _harm(self, kind: HarmKind, subject: str, at_ms: int, *, begins: bool, ends: bool) -> None:
        key = (kind, subject)
        known = self._open.get(key)
        if known is None:
            if begins:
                self._open[key] = harm = Harm(kind, self._boat.record.id, subject, at_ms)
                self._log.harms.append(harm)
        elif ends:
            known.ended_ms = at_ms
            del self._open[key]
