"""A battery bank laid up: charge, losses by temperature, loads, what charges it, and the volts at its terminals.

What its cells are made of stands in ``lead`` and ``lithium``, what feeds it in ``charger``, how far a load pulls its
volts down in ``sag``. Charge is kept count of: what was charged and swapped in, less what was drawn and lost, is the
change of what it holds.

>>> bank = Bank(BankPlan(chemistry=Chemistry.FLOODED, capacity_ah=100, load_ma=80), 5.0)
>>> for _ in range(30 * 24):
...     bank.step(3600, 5.0, mains=False)
>>> round(bank.drawn_ah, 1)  # 0.08 A for 720 hours
57.6
"""

from math import exp, expm1

from monitor.model.equipment import Chemistry as Chemistry  # noqa: PLC0414 - as BankPlan
from simulator.bank_plan import CELLS
from simulator.bank_plan import BankPlan as BankPlan  # noqa: PLC0414 - a bank and its plan go together
from simulator.bank_plan import BatteryPlan as BatteryPlan  # noqa: PLC0414 - as BankPlan
from simulator.charger import taken_ah
from simulator.lithium import Lithium
from simulator.sag import sag_v

MONTH_S = 30 * 86_400.0
# A surface charge fades with this time constant: rested after a day (makers' handbooks say 6 to 24 h).
SURFACE_FADES_S = 5 * 3600.0
# A 12 V bilge pump stops moving water somewhere about this; common practice, no source.
PUMP_NEEDS_V = 10.5


class Bank:
    """One battery bank, stepped through the winter.

    Attributes:
        capacity_ah: what it holds when full.
        charge_ah: charge in it.
        degc: its temperature in the last step.
        terminal_v: volts at its terminals at the end of the last step; 0 where its management has cut it off.
        lowest_v: the lowest within the last step.
        load_a: what draws on it.
        management_a: what its own management draws, cut off or not.
        charger_on: whether its charger works (it also needs mains).
        cut_off: whether its management has cut it off; charging connects it again.
        charged_ah: charge put in by a charger or an alternator since the start.
        drawn_ah: charge that loads have taken from the battery itself since the start.
        lost_ah: charge lost by self-discharge since the start.
        swapped_ah: charge that came with other batteries less what went with the old ones.
    """

    __slots__ = (
        "_cell_count",
        "_cells",
        "_charger_a",
        "_engine_a",
        "_engine_s",
        "_heavy_a",
        "_heavy_s",
        "_nominal_v",
        "_surface_v",
        "capacity_ah",
        "charge_ah",
        "charged_ah",
        "charger_on",
        "cut_off",
        "degc",
        "drawn_ah",
        "load_a",
        "lost_ah",
        "lowest_v",
        "management_a",
        "swapped_ah",
        "terminal_v",
    )

    def __init__(self, plan: BankPlan, start_degc: float, *, mains: bool = False) -> None:
        self._cells = CELLS[plan.chemistry]
        self._nominal_v = plan.nominal_v
        self._cell_count = self._cells.cells(plan.nominal_v)
        self._charger_a = plan.charger_a or 0.0
        self.capacity_ah = plan.capacity_ah
        self.charge_ah = plan.capacity_ah * plan.left_charged
        self.load_a = plan.load_ma / 1000
        self.management_a = plan.management_ma / 1000 if isinstance(self._cells, Lithium) else 0.0
        self.charger_on = plan.charger_a is not None
        self.cut_off = False
        self.degc = start_degc
        self._surface_v = self._engine_a = self._engine_s = self._heavy_a = self._heavy_s = 0.0
        self.charged_ah = self.drawn_ah = self.lost_ah = self.swapped_ah = 0.0
        charging = mains and self.charger_on
        self.terminal_v = self._float_v(start_degc) if charging else self.rested_v(start_degc)
        self.lowest_v = self.terminal_v

    @property
    def charged_share(self) -> float:
        """Charge in it as a share of its capacity, 0 to 1."""
        return self.charge_ah / self.capacity_ah

    @property
    def freezes_degc(self) -> float | None:
        """Where ice begins to form in its acid at the present charge, degC; None where nothing in it freezes."""
        return self._cells.freezes_degc(self.charge_ah / self.capacity_ah)

    def frozen(self, degc: float) -> bool:
        """Say whether there is ice in it at a temperature."""
        freezes_degc = self.freezes_degc if degc < 0 else None
        return freezes_degc is not None and degc < freezes_degc

    def rested_v(self, degc: float) -> float:
        """Give the open-circuit volts at the present charge and a temperature."""
        return self._cell_count * self._cells.rested_cell_v(self.charge_ah / self.capacity_ah, degc)

    def available_ah(self, degc: float) -> float:
        """Give what a load of some hours can have of its charge: in the cold the last of it cannot be had."""
        return max(self.charge_ah - (1 - self._cells.available(degc)) * self.capacity_ah, 0.0)

    def load_test(self, load_a: float, for_s: float) -> None:
        """Put a heavy load on it from now on for a time; also a starter's, before `run_engine`."""
        self._heavy_a, self._heavy_s = load_a, for_s

    def run_engine(self, alternator_a: float, for_s: float = 3600.0) -> None:
        """Run the engine from now on for a time, its alternator giving so much at most."""
        self._engine_a, self._engine_s = alternator_a, for_s

    def swap(self, charged_share: float, capacity_ah: float | None = None) -> None:
        """Put another battery of the same kind in its place.

        Args:
            charged_share: its charge as a share of its capacity, 0 to 1.
            capacity_ah: its capacity; None where it is as large as the old one.
        """
        if not 0 <= charged_share <= 1:
            raise ValueError(f"swap: charged_share {charged_share} is no share from 0 to 1")
        if capacity_ah is not None:
            self.capacity_ah = capacity_ah
        before_ah = self.charge_ah
        self.charge_ah = self.capacity_ah * charged_share
        self.swapped_ah += self.charge_ah - before_ah
        self._surface_v = 0.0
        self.cut_off = False
        self.terminal_v = self.rested_v(self.degc)

    def step(self, dt_s: float, degc: float, mains: bool, used_ah: float = 0.0, now_a: float = 0.0) -> None:
        """Go on by a step.

        Args:
            dt_s: length of the step.
            degc: the battery's temperature.
            mains: whether its charger has shore power.
            used_ah: what ran for part of the step took, such as a bilge pump.
            now_a: what of that is still running at the end of it, and so shows in the volts.
        """
        self.degc = degc
        if self._engine_s <= 0 and self._heavy_s <= 0:
            self._go(dt_s, degc, mains, used_ah, now_a)
            self.lowest_v = self.terminal_v
            return
        lowest_v = float("inf")
        left_s = dt_s
        while left_s > 0:
            piece_s = min(t for t in (left_s, self._engine_s, self._heavy_s) if t > 0)
            left_s -= piece_s
            self._go(piece_s, degc, mains, used_ah * piece_s / dt_s, now_a)
            self._engine_s = max(self._engine_s - piece_s, 0.0)
            self._heavy_s = max(self._heavy_s - piece_s, 0.0)
            lowest_v = min(lowest_v, self.terminal_v)
        self.lowest_v = lowest_v

    def _go(self, dt_s: float, degc: float, mains: bool, used_ah: float, now_a: float) -> None:
        hours = dt_s / 3600
        cells = self._cells
        lost = self.charge_ah * -expm1(-cells.loss_per_month * cells.loss_factor(degc) * dt_s / MONTH_S)
        self.charge_ah -= lost
        self.lost_ah += lost
        load_a = self.load_a + (self._heavy_a if self._heavy_s > 0 else 0.0)
        used_ah += load_a * hours
        if self._engine_s > 0:
            limit_a, hold_v = self._engine_a, self._cell_count * cells.engine_cell_v
        elif mains and self.charger_on:
            limit_a, hold_v = self._charger_a, self._float_v(degc)
        else:
            self._discharge(dt_s, degc, used_ah, load_a + now_a)
            return
        spare_ah = (limit_a - self.management_a) * hours - used_ah
        if spare_ah < 0:
            # More is drawn than it gives: the battery gives the rest, its management's share with it.
            self._discharge(dt_s, degc, max(used_ah - limit_a * hours, 0.0), -spare_ah / hours)
        elif degc < cells.charges_above_degc or self.frozen(degc):
            self.terminal_v = hold_v
        else:
            self._charge(dt_s, degc, hold_v, spare_ah)

    def _charge(self, dt_s: float, degc: float, hold_v: float, spare_ah: float) -> None:
        put_in = taken_ah(self.capacity_ah - self.charge_ah, spare_ah, dt_s, self._cells.fills_s)
        self.charge_ah += put_in
        self.charged_ah += put_in
        self.cut_off = False
        self._surface_v = self._cells.surface_cell_v * self._cell_count
        # What gives all it can cannot hold its volts yet.
        if put_in >= spare_ah:
            raised_v = put_in / dt_s * 3600 * self._cells.ohm_ah / self.capacity_ah * self._nominal_v / 12
            hold_v = min(hold_v, self.rested_v(degc) + self._surface_v + raised_v)
        self.terminal_v = hold_v

    def _discharge(self, dt_s: float, degc: float, used_ah: float, now_a: float) -> None:
        cells = self._cells
        managed = min(self.management_a * dt_s / 3600, self.charge_ah)
        self.charge_ah -= managed
        self.drawn_ah += managed
        self._surface_v *= exp(-dt_s / SURFACE_FADES_S)
        if self.cut_off:
            self.terminal_v = 0.0
            return
        drawn = min(used_ah, max(self.charge_ah - cells.cut_off_charged * self.capacity_ah, 0.0))
        self.charge_ah -= drawn
        self.drawn_ah += drawn
        charged = self.charge_ah / self.capacity_ah
        rested_v = self._cell_count * cells.rested_cell_v(charged, degc)
        short = drawn < used_ah
        if short:
            now_a *= drawn / used_ah
        self.terminal_v = rested_v + self._surface_v - self._sag_v(now_a, charged, degc)
        if cells.cut_off_charged and (short or self.terminal_v <= cells.cut_off_cell_v * self._cell_count):
            self.cut_off = True
            self.terminal_v = 0.0

    def runs_pump(self, hours: float, pump_a: float, duty: float = 1.0) -> bool:
        """Say whether it can run a pump for so long, without being charged, at the last step's temperature.

        Args:
            hours: how long.
            pump_a: what the pump draws while it runs.
            duty: share of the time it runs; its other loads draw on beside it.

        It can while the volts under the pump's load are those a pump needs, 10.5 V of a 12 V bank (common practice).
        """
        charged = self.charged_share - (self.load_a + self.management_a + pump_a * duty) * hours / self.capacity_ah
        least = max(1 - self._cells.available(self.degc), self._cells.cut_off_charged)
        if charged < least or self.cut_off or self.frozen(self.degc):
            return False
        now_a = self.load_a + pump_a
        rested_v = self._cell_count * self._cells.rested_cell_v(charged, self.degc)
        return rested_v - self._sag_v(now_a, charged, self.degc) >= PUMP_NEEDS_V * self._nominal_v / 12

    def pump_hours_left(self, pump_a: float, duty: float = 1.0) -> float:
        """Give for how long it can run a pump, to a minute; infinite where nothing is drawn. See `runs_pump`."""
        drawn_a = self.load_a + self.management_a + pump_a * duty
        if not self.runs_pump(0.0, pump_a, duty):
            return 0.0
        if drawn_a <= 0:
            return float("inf")
        can, cannot = 0.0, self.charge_ah / drawn_a + 1 / 60
        while cannot - can > 1 / 60:
            middle = (can + cannot) / 2
            if self.runs_pump(middle, pump_a, duty):
                can = middle
            else:
                cannot = middle
        return can

    def _float_v(self, degc: float) -> float:
        return self._cell_count * self._cells.float_cell_v(degc)

    def _sag_v(self, load_a: float, charged: float, degc: float) -> float:
        return sag_v(self._cells, load_a / self.capacity_ah, charged, degc) * self._nominal_v / 12
