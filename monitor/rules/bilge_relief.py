"""What the bilge pump makes of the time to harm: it gains time while it keeps up, and while its battery lasts."""

from dataclasses import dataclass
from math import inf

from monitor.model.equipment import Battery
from monitor.model.finding import TimeToHarm
from monitor.model.reading import Seen
from monitor.model.vessel import Vessel
from monitor.rules.battery_pump import PumpLoad, feeds_pump, pump_load
from monitor.rules.bilge_limits import LIMITS
from monitor.rules.compartment import Compartment
from monitor.rules.inflow import Inflow
from monitor.science.battery import charge_from_rested_v

_HOUR_S, _DAY_H = 3_600.0, 24.0
_WINTER_DEGC = 5.0
_MOST_RESTED_V = 13.5
_SEES_NOTHING_V = 1.0


@dataclass(frozen=True, slots=True)
class PumpSupply:
    """The battery that feeds the bilge pump, with what the record says of both."""

    battery: Battery
    load: PumpLoad
    charged: bool

    @classmethod
    def of(cls, record: Vessel) -> "PumpSupply | None":
        """Find it in the record, None where there is none."""
        for battery in record.batteries:
            load = pump_load(battery, record) if feeds_pump(battery, record) else None
            if load is not None:
                return cls(battery, load, charged=battery.charger and record.shore_power.on)
        return None

    def runs_h(self, volts: Seen | None, now_ms: int) -> float | None:
        """Give how long it runs the pump without a stop, infinite on a charger, None where that is not known."""
        if volts is None or now_ms - volts.at_ms > LIMITS.ms("pump_volts_old"):
            return None
        v = volts.value * 12.0 / self.battery.nominal_v
        if v < _SEES_NOTHING_V:
            return None
        if v < LIMITS["pump_stalls"]:
            return 0.0
        if self.charged and v >= LIMITS["pump_charged"]:
            return inf
        return self.load.runs_h(charge_from_rested_v(self.battery.chemistry, min(v, _MOST_RESTED_V), _WINTER_DEGC)[0])


@dataclass(frozen=True, slots=True)
class Relief:
    """What the pump makes of a rise.

    Attributes:
        does: ``none`` on record, ``holds`` it, ``loses`` to it, ``no power``, or ``not known``.
        battery_h: how long the battery lasts at what the pump has to do; None where it is not known or has no end.
        harm: time to harm: at the soonest the pump does not run, at the latest it does all it can.
    """

    does: str
    battery_h: float | None
    harm: TimeToHarm | None


def relief(
    place: Compartment,
    supply: PumpSupply | None,
    volts: Seen | None,
    inflow: Inflow,
    harm: TimeToHarm | None,
    *,
    running: bool,
    now_ms: int,
) -> Relief:
    """Work out what the pump makes of a rise.

    Args:
        place: the bilge.
        supply: the battery that feeds its pump.
        volts: what that battery last said.
        inflow: what comes in.
        harm: time to harm as the level rises, the pump left out.
        running: whether the pump is known to run now, so that the rise is what it does not master.
        now_ms: now.
    """
    if not place.has_pump or running:
        return Relief("loses" if running else "none", None, harm)
    runs_h = None if supply is None else supply.runs_h(volts, now_ms)
    if runs_h == 0.0:
        return Relief("no power", 0.0, harm)
    pump_l, in_l, least_l, most_l = place.pump_l_per_h, inflow.l_per_h, inflow.low_l_per_h, inflow.high_l_per_h
    if pump_l is None or not in_l or most_l is None or least_l is None or harm is None or runs_h is None:
        return Relief("not known", None, harm)
    if pump_l <= most_l:
        slower = harm.high_s is not None and least_l > pump_l
        late_s = (harm.high_s or 0.0) * least_l / (least_l - pump_l) if slower else None
        return Relief("loses", None, TimeToHarm(harm.low_s, late_s))
    lasts_h = None if runs_h == inf else min(runs_h * pump_l / in_l, LIMITS["pump_trusted"] * _DAY_H)
    late_s = None if lasts_h is None or harm.high_s is None else harm.high_s + lasts_h * _HOUR_S
    return Relief("holds", lasts_h, TimeToHarm(harm.low_s, late_s))
