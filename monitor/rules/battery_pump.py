"""What the bilge pump asks of the battery that feeds it: a day's running, afloat, with nobody aboard."""

from dataclasses import dataclass

from monitor.model.equipment import Battery
from monitor.model.vessel import Vessel
from monitor.rules.battery_limits import LIMITS

_A_PER_LPH = LIMITS["pump_draw"] / 1000.0
_FLOOR_PCT = LIMITS["pump_floor"]


@dataclass(frozen=True, slots=True)
class PumpLoad:
    """A bilge pump as its battery sees it. Volts and amperes are the bank's own.

    Attributes:
        draw_a: what it draws while it runs.
        capacity_ah: of the battery.
    """

    draw_a: float
    capacity_ah: float

    @property
    def day_pct(self) -> float:
        """The charge at which it could run for a day without stopping, and no longer."""
        return _FLOOR_PCT + 100.0 * self.draw_a * LIMITS["pump_for"] / self.capacity_ah

    @property
    def fits(self) -> bool:
        """Whether a battery that is kept full could run it for a day at all."""
        return self.day_pct <= LIMITS["pump_full_most"]

    def runs_h(self, charge_pct: float) -> float:
        """Give how long it could run without stopping at a charge, h."""
        return max(charge_pct - _FLOOR_PCT, 0.0) / 100.0 * self.capacity_ah / self.draw_a


def feeds_pump(battery: Battery, record: Vessel) -> bool:
    """Say whether a battery feeds the bilge pump: as marked, or as the only one aboard where a pump is recorded."""
    if battery.feeds_pump:
        return True
    return len(record.batteries) == 1 and any(b.pump_lph is not None for b in record.bilges)


def pump_load(battery: Battery, record: Vessel) -> PumpLoad | None:
    """Find the pump that a battery feeds while she lies afloat, None where there is none: the largest on record."""
    if not record.berth or not feeds_pump(battery, record):
        return None
    rated = max((b.pump_lph for b in record.bilges if b.pump_lph is not None), default=None)
    draw_12v = LIMITS["pump_draw_unknown"] if rated is None else rated * _A_PER_LPH
    return PumpLoad(draw_12v * 12.0 / battery.nominal_v, battery.capacity_ah)
