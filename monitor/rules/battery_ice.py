"""Whether a battery may be frozen now, and when it could freeze as it goes on and as cold as it will be."""

from monitor.rules.battery_bank import Bank, Moment, Plan
from monitor.rules.battery_limits import LIMITS
from monitor.rules.battery_warmth import acid_ahead
from monitor.rules.rule import DAY_MS
from monitor.science.discharge import days_to_charge
from monitor.science.electrolyte import battery_freezing_point_degc, charge_freezing_at_pct

_ERROR_K = LIMITS["frozen_error"]
_FLAT_FREEZES_DEGC = battery_freezing_point_degc(0.0) + _ERROR_K
_COLDEST_DEGC = -60.0


def least_charge_pct(bank: Bank, plan: Plan) -> float | None:
    """Give the lowest charge that its volts allow, None where they tell nothing."""
    if plan.is_lithium:
        return None
    if bank.under is not None:
        return 0.0
    return None if bank.outlook is None else bank.outlook.low_pct


def may_be_frozen(bank: Bank, plan: Plan) -> bool:
    """Say whether its acid may be frozen: at the lowest charge that fits, in the coldest of the last two days."""
    charge_pct = least_charge_pct(bank, plan)
    if charge_pct is None:
        return False
    coldest = bank.warmth.coldest_degc
    if coldest is None:
        return charge_pct < LIMITS["half"]
    return coldest <= battery_freezing_point_degc(charge_pct) + _ERROR_K


def ice_ahead(bank: Bank, plan: Plan, moment: Moment) -> dict[str, float | bool | None]:
    """Give the facts of its freezing: at what cold it could freeze now, and from when on it could.

    The charge falls as fast as its volts allow. The cold is what is foretold; past that, and where nothing is foretold,
    the coldest of it or of the last week comes again.
    """
    charge_pct = least_charge_pct(bank, plan)
    if charge_pct is None:
        return {"freezes_at_degc": None, "coldest_degc": None, "foretold": False, "freeze_ms": None}
    loss = 0.0 if bank.outlook is None else max(bank.outlook.loss_most_pct_day or 0.0, 0.0)
    path = acid_ahead(bank.warmth, moment.forecast, moment.now_ms)
    coldest = min((t for _, t in path), default=bank.warmth.coldest_lately_degc)
    when: int | None = None
    for at_ms, degc in path:
        left_pct = max(charge_pct - loss * (at_ms - moment.now_ms) / DAY_MS, 0.0)
        if degc <= battery_freezing_point_degc(left_pct) + _ERROR_K:
            when = at_ms
            break
    if when is None and coldest is not None and coldest <= _FLAT_FREEZES_DEGC:
        freezes_below_pct = charge_freezing_at_pct(min(max(coldest - _ERROR_K, _COLDEST_DEGC), 0.0))
        days = days_to_charge(charge_pct, freezes_below_pct, loss)
        if days <= LIMITS["freeze_looked"]:
            when = max(moment.now_ms + round(days * DAY_MS), path[-1][0] if path else moment.now_ms)
    return {
        "freezes_at_degc": round(battery_freezing_point_degc(charge_pct)),
        "coldest_degc": None if coldest is None else round(coldest, 1),
        "foretold": bool(path),
        "freeze_ms": when,
    }
