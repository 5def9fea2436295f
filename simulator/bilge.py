"""Water in one bilge: what comes in by cause, what evaporates or is pumped, the level, and the float switch.

Volume follows level by ``litres = a * metres ** n``; a V-shaped sump has n = 2. Slow changes go in one step; where the
water moves fast the step is cut into minutes, so that the float switch changes in its own minute.
"""

from dataclasses import dataclass
from math import ceil, pi, sqrt
from typing import Annotated

from pydantic import Field

from monitor.model.equipment import Document, Positive
from simulator.heat import NotNegative

GRAVITY = 9.81
# A sharp-edged opening passes 0.6 of what an ideal one would (textbook value of the discharge coefficient).
DISCHARGE = 0.6
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


@dataclass(frozen=True, slots=True)
class FloatChange:
    """The float switch moved: seconds into the step, and whether it is up now."""

    after_s: float
    up: bool


class Sump:
    """One bilge, stepped through the winter.

    Attributes:
        litres: water in it.
        level_m: its level.
        float_up: whether the float switch is up.
        drip_l_s: what drips in, as through a gland.
        opening_m2: area of an opening below the waterline.
        opening_at_m: its height above the sensor's zero.
        pump_ready: whether the pump has power.
        entered_l: all that has come in since the start.
        left_l: all that has gone out (evaporated, pumped) since the start.
    """

    __slots__ = (
        "_plan",
        "_pumping",
        "drip_l_s",
        "entered_l",
        "float_up",
        "left_l",
        "level_m",
        "litres",
        "opening_at_m",
        "opening_m2",
        "pump_ready",
    )

    def __init__(self, plan: BilgePlan) -> None:
        self._plan = plan
        self.litres = plan.left_litres
        self.level_m = self.level_of(self.litres)
        self.float_up = self.level_m >= plan.float_m
        self.drip_l_s = self.opening_m2 = self.opening_at_m = 0.0
        self.pump_ready = plan.pump_l_h is not None
        self._pumping = False
        self.entered_l = self.left_l = 0.0

    def level_of(self, litres: float) -> float:
        """Give the level of a volume."""
        return float((litres / self._plan.shape_litres) ** (1 / self._plan.shape_power))

    def litres_at(self, level_m: float) -> float:
        """Give the volume up to a level."""
        return float(self._plan.shape_litres * level_m**self._plan.shape_power)

    def surface_m2(self) -> float:
        """Give the area of the water's surface, the slope of volume with level."""
        plan = self._plan
        area = plan.shape_power * plan.shape_litres / 1000 * self.level_m ** (plan.shape_power - 1)
        return min(float(area), plan.widest_m2)

    def inflow_l_s(self, rain_mm_h: float) -> float:
        """Give what comes in now: drip, opening, rain through the deck."""
        return self.drip_l_s + self._through_opening_l_s() + self._plan.deck_leak_m2 * rain_mm_h / 3600

    def _through_opening_l_s(self) -> float:
        # Q = Cd A sqrt(2 g h), h from the water outside down to the opening or the water inside, whichever is higher.
        if self.opening_m2 <= 0:
            return 0.0
        plan = self._plan
        outside_m = plan.waterline_m + self.litres / 1000 / plan.waterplane_m2
        head = outside_m - max(self.opening_at_m, self.level_m)
        return 1000 * DISCHARGE * self.opening_m2 * sqrt(2 * GRAVITY * head) if head > 0 else 0.0

    def step(self, dt_s: float, rain_mm_h: float, drying_kg_m3: float) -> tuple[float, list[FloatChange]]:
        """Go on by a step.

        Args:
            dt_s: length of the step.
            rain_mm_h: rain on deck.
            drying_kg_m3: saturated vapour density at the water's surface less that of the air over it.

        Returns:
            The water evaporated, kg, and what the float switch did.
        """
        if self.litres <= 0 and self.inflow_l_s(rain_mm_h) <= 0:
            return 0.0, []
        plan = self._plan
        evaporating = max(drying_kg_m3, 0.0) * EVAPORATING_M_S
        evaporated = 0.0
        changes: list[FloatChange] = []
        gone_s = 0.0
        while gone_s < dt_s:
            inflow = self.inflow_l_s(rain_mm_h)
            pumps = self._pumps()
            fast = pumps or inflow * dt_s > WHOLE_STEP_L
            piece_s = min(MINUTE_S, dt_s - gone_s) if fast else dt_s - gone_s
            entered = inflow * piece_s
            dried = min(evaporating * self.surface_m2() * piece_s, self.litres + entered)
            pumped = 0.0
            if pumps and plan.pump_l_h is not None:
                over = self.litres + entered - dried - self.litres_at(plan.pump_off_m)
                pumped = min(plan.pump_l_h / 3600 * piece_s, max(over, 0.0))
            before_m = self.level_m
            # Not below nothing: taking all of it away may leave a rounding error.
            self.litres = max(self.litres + entered - dried - pumped, 0.0)
            self.level_m = self.level_of(self.litres)
            self.entered_l += entered
            self.left_l += dried + pumped
            evaporated += dried
            change = self._float(before_m, gone_s, piece_s)
            if change is not None:
                changes.append(change)
            gone_s += piece_s
        return evaporated, changes

    def empty(self) -> bool:
        """Bail her dry, and say whether that brought the float switch down."""
        self.left_l += self.litres
        self.litres = self.level_m = 0.0
        fell, self.float_up = self.float_up, False
        return fell

    def _pumps(self) -> bool:
        if not self.pump_ready:
            return False
        self._pumping = self.level_m > (self._plan.pump_off_m if self._pumping else self._plan.pump_on_m)
        return self._pumping

    def _float(self, before_m: float, gone_s: float, piece_s: float) -> FloatChange | None:
        at_m = self._plan.float_m - (self._plan.float_slack_m if self.float_up else 0.0)
        up = self.level_m >= at_m
        if up == self.float_up:
            return None
        self.float_up = up
        share = (at_m - before_m) / (self.level_m - before_m)
        # A gateway sends a switch at the whole minute after it moved.
        return FloatChange(min(ceil((gone_s + share * piece_s) / MINUTE_S) * MINUTE_S, gone_s + piece_s), up)


def drip_l_s(drops_per_min: float) -> float:
    """Give a drip in litres a second: a drop is 0.05 mL.

    >>> round(drip_l_s(20) * 86_400, 2)  # litres a day
    1.44
    """
    return drops_per_min * DROP_L / 60


def bore_m2(bore_mm: float) -> float:
    """Give the area of a round opening."""
    return pi / 4 * (bore_mm / 1000) ** 2
