"""Water in one bilge: the level by what comes in, evaporates, drains or is pumped, and what its sensors see of it.

Volume follows level by ``litres = a * metres ** n``; a V-shaped sump has n = 2. Slow changes go in one step; where the
water moves fast the step is cut into minutes, so that the float switch changes in its own minute. Water is kept count
of: what has come in by its causes, less what has gone by its ways, is the change of what is there.
"""

from typing import Annotated

from pydantic import Field

from monitor.model.equipment import Document, Positive
from simulator.bilge_handles import Handles
from simulator.float_switch import FloatChange as FloatChange  # noqa: PLC0414 - what a step answers with
from simulator.float_switch import FloatSwitch
from simulator.heat import NotNegative
from simulator.inflow import Inflow
from simulator.openings import bore_m2 as bore_m2  # noqa: PLC0414 - said beside drip_l_s by those who open and drip
from simulator.pump import Pump

MINUTE_S = 60
# A step in which less than this comes and goes is taken whole: it moves an ordinary sump by a few millimetres.
WHOLE_STEP_L = 0.5
# Still air over a bilge takes vapour with about this mass-transfer velocity; common practice, no source. Over 0.3 m2,
# under air of half humidity at 5 degC, it makes about 0.1 litre a day.
EVAPORATING_M_S = 0.0012
DROP_L = 0.05e-3


class BilgePlan(Document):
    """A bilge as it truly is. Heights are metres above the level sensor's zero.

    ``shape_litres`` and ``shape_power`` are a and n of ``litres = a * metres ** n``: 1,500 and 2 hold 15 litres at
    0.10 m. ``waterline_m`` is the water outside, ``waterplane_m2`` the area by which she settles as she fills.
    ``pump_l_h`` is what the pump delivers aboard at nominal volts and 1 m of lift, about half of what is printed on it;
    ``pump_a`` what it draws on nominal volts.
    """

    shape_litres: Positive = 1_500.0
    shape_power: Annotated[float, Field(ge=1, le=3)] = 2.0
    widest_m2: Positive = 3.0
    left_litres: NotNegative = 0.0
    float_m: Positive = 0.08
    float_slack_m: Positive = 0.02
    waterline_m: float = 0.35
    waterplane_m2: Positive = 18.0
    deck_leak_m2: NotNegative = 0.0
    pump_l_h: Positive | None = None
    pump_on_m: Positive = 0.06
    pump_off_m: Positive = 0.02
    pump_a: Positive = 4.0
    pump_v: Positive = 12.0
    pump_lift_m: NotNegative = 1.0


class Sump(Handles):
    """One bilge, stepped through the winter.

    Attributes:
        litres: water in it.
        level_m: its level, as she lies level.
        sensed_level_m: its level where the sensor, the float and the pump's switch are, by trim and heel.
        bung_at_m: height of the drain hole that is open ashore, None while the bung is in.
        evaporated_l: what has evaporated since the start; so ``pumped_l``, ``drained_l`` and ``bailed_l``.
    """

    __slots__ = (
        "_a",
        "_n",
        "_tilt_m",
        "_waterline_m",
        "_waterplane_m2",
        "_widest_m2",
        "bailed_l",
        "bung_at_m",
        "drained_l",
        "evaporated_l",
        "level_m",
        "litres",
        "pumped_l",
        "sensed_level_m",
    )

    def __init__(self, plan: BilgePlan) -> None:
        self._a, self._n, self._widest_m2 = plan.shape_litres, plan.shape_power, plan.widest_m2
        self._waterline_m, self._waterplane_m2 = plan.waterline_m, plan.waterplane_m2
        self._tilt_m = 0.0
        self.litres = plan.left_litres
        self.level_m = self.sensed_level_m = self.level_of(self.litres)
        super().__init__(
            Inflow(plan.deck_leak_m2),
            FloatSwitch(plan.float_m, plan.float_slack_m, self.level_m),
            Pump(plan.pump_l_h, plan.pump_on_m, plan.pump_off_m, plan.pump_a, plan.pump_v, plan.pump_lift_m),
        )
        self.bung_at_m: float | None = None
        self.evaporated_l = self.pumped_l = self.drained_l = self.bailed_l = 0.0

    def level_of(self, litres: float) -> float:
        """Give the level of a volume."""
        return float((litres / self._a) ** (1 / self._n))

    def litres_at(self, level_m: float) -> float:
        """Give the volume up to a level."""
        return float(self._a * level_m**self._n)

    def surface_m2(self) -> float:
        """Give the area of the water's surface, the slope of volume with level."""
        return min(float(self._n * self._a / 1000 * self.level_m ** (self._n - 1)), self._widest_m2)

    def inflow_l_s(self, rain_mm_h: float, waterline_shift_m: float = 0.0) -> float:
        """Give what comes in now by all causes."""
        outside_m = self._waterline_m + self.litres / 1000 / self._waterplane_m2
        return self.inflow.rate_l_s(rain_mm_h, outside_m, waterline_shift_m, self.level_m)

    def tilt(self, offset_m: float) -> None:
        """Trim or heel her, so that the water stands higher by so much (lower, negative) where the sensors are."""
        self._tilt_m = offset_m
        self._sense()

    def _sense(self) -> None:
        # A puddle runs to the low side, but does not stand there deeper than twice itself (invented).
        self.sensed_level_m = max(self.level_m + min(self._tilt_m, self.level_m), 0.0) if self._tilt_m else self.level_m

    def step(
        self,
        dt_s: float,
        rain_mm_h: float,
        drying_kg_m3: float,
        waterline_shift_m: float = 0.0,
        volts: float | None = None,
    ) -> tuple[float, list[FloatChange]]:
        """Go on by a step.

        Args:
            dt_s: length of the step.
            rain_mm_h: rain on deck.
            drying_kg_m3: saturated vapour density at the water's surface less that of the air over it.
            waterline_shift_m: by how much the water outside stands higher than when she floats level.
            volts: what the pump gets, None for its nominal volts.

        Returns:
            The water evaporated, kg, and what the float switch did.
        """
        pump = self.pump
        if pump.ready or pump.ran_s > 0:
            pump.begin(volts)
        if self.litres <= 0 and self._is_quiet() and self.inflow_l_s(rain_mm_h, waterline_shift_m) <= 0:
            return 0.0, []
        evaporating = max(drying_kg_m3, 0.0) * EVAPORATING_M_S
        evaporated = 0.0
        changes: list[FloatChange] = []
        gone_s = 0.0
        while gone_s < dt_s:
            rate = self.inflow_l_s(rain_mm_h, waterline_shift_m)
            pumps = pump.wants(self.sensed_level_m) if pump.ready else False
            left_s = dt_s - gone_s
            piece_s = min(MINUTE_S if pumps or rate * dt_s > WHOLE_STEP_L else left_s, left_s)
            there = self.litres + self.inflow.take(piece_s)
            if evaporating > 0:
                dried = min(evaporating * self.surface_m2() * piece_s, there)
                evaporated += dried
                there -= dried
            if pumps:
                pumped = pump.run(piece_s, there - self.litres_at(self._pumped_to_m()))
                self.pumped_l += pumped
                there -= pumped
            if self.bung_at_m is not None and there > (held := self.litres_at(self.bung_at_m)):
                self.drained_l += there - held
                there = held
            # Not below nothing: taking all of it away may leave a rounding error.
            self.litres = max(there, 0.0)
            self.level_m = self.level_of(self.litres)
            self._sense()
            change = self.float_switch.moves(self.sensed_level_m, gone_s, piece_s)
            if change is not None:
                changes.append(change)
            gone_s += piece_s
        self.evaporated_l += evaporated
        return evaporated, changes

    def _is_quiet(self) -> bool:
        float_switch = self.float_switch
        return float_switch.up is bool(float_switch.fouled)

    def _pumped_to_m(self) -> float:
        # The level in the middle at which the switch, which sees the tilted one, stops the pump.
        off_m = self.pump.off_m
        return max(off_m - self._tilt_m, off_m / 2)

    def empty(self) -> bool:
        """Bail her dry, and say whether that brought the float switch down."""
        self.bailed_l += self.litres
        self.litres = self.level_m = self.sensed_level_m = 0.0
        return self.float_switch.bailed()

    @property
    def left_l(self) -> float:
        """All that has gone out since the start."""
        return self.evaporated_l + self.pumped_l + self.drained_l + self.bailed_l


def drip_l_s(drops_per_min: float) -> float:
    """Give a drip in litres a second: a drop is 0.05 mL.

    >>> round(drip_l_s(20) * 86_400, 2)  # litres a day
    1.44
    """
    return drops_per_min * DROP_L / 60


def litres_a_day_l_s(litres: float) -> float:
    """Give so many litres a day in litres a second: a dehumidifier's hose off makes 1 to 8 a day (common practice)."""
    return litres / 86_400
