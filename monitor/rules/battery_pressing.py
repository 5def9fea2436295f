"""Whether a resting battery asks for somebody now, and how long until harm: its best estimate decides, not its worst.

Volts tell the charge to within some eight per cent, so that a battery which most likely stands over half may stand
under it; and a battery under half ages fast, over weeks. Both ask for a charge within days, and ring nobody out at
night. Somebody must act now where it is under half by the best estimate and will be flat, or could freeze as far as
volts and forecast allow, within days.
"""

from monitor.model.finding import TimeToHarm
from monitor.rules.battery_bank import Bank, Moment, Plan
from monitor.rules.battery_ice import ice_ahead
from monitor.rules.battery_limits import LIMITS
from monitor.rules.battery_outlook import Outlook
from monitor.rules.rule import DAY_MS
from monitor.science.discharge import days_to_charge

_DAY_S = DAY_MS / 1000


def presses(bank: Bank, plan: Plan, outlook: Outlook, moment: Moment, *, held: bool) -> bool:
    """Say whether somebody must act now on a battery at rest.

    Args:
        bank: what is kept of it, with ``outlook`` in it.
        plan: what the record says of it.
        outlook: what its rested volts say.
        moment: when, and what is foretold.
        held: whether that was so before, which is kept until it is clearly over.
    """
    if outlook.best_pct >= LIMITS["half"] + (LIMITS["charge_deadband"] if held else 0.0):
        return False
    within_ms = LIMITS.ms("act_within") + (LIMITS.ms("act_room") if held else 0)
    freezes_ms = ice_ahead(bank, plan, moment)["freeze_ms"]
    if freezes_ms is not None and freezes_ms - moment.now_ms <= within_ms:
        return True
    return days_to_charge(outlook.best_pct, 0.0, outlook.loss_pct_day or 0.0) * DAY_MS <= within_ms


def until_harm(bank: Bank, plan: Plan, moment: Moment) -> TimeToHarm | None:
    """Give how long until harm: until it wants charging, is under half, or could freeze; None where nothing tells.

    It counts from the best estimate of its charge, at the fastest pace that volts allow at the soonest; that it could
    freeze goes by the least charge, since that harm is not put right by a charger.
    """
    outlook = bank.outlook
    if outlook is None:
        return None
    short = _until_short(outlook, plan)
    freezes_ms = ice_ahead(bank, plan, moment)["freeze_ms"]
    if freezes_ms is None:
        return short
    ice_s = max(freezes_ms - moment.now_ms, 0) / 1000
    if short is None:
        return TimeToHarm(ice_s, None)
    return TimeToHarm(min(short.low_s, ice_s), short.high_s)


def _until_short(outlook: Outlook, plan: Plan) -> TimeToHarm | None:
    if outlook.days is None or outlook.loss_most_pct_day is None:
        return None
    for_pump = plan.floor_pct > LIMITS["recharge"]
    if outlook.best_pct > plan.floor_pct or for_pump:
        soonest = days_to_charge(outlook.best_pct, plan.floor_pct, outlook.loss_most_pct_day)
        return TimeToHarm(soonest * _DAY_S, None if outlook.days_high is None else outlook.days_high * _DAY_S)
    if outlook.best_pct > LIMITS["half"]:
        return TimeToHarm(days_to_charge(outlook.best_pct, LIMITS["half"], outlook.loss_most_pct_day) * _DAY_S, None)
    return None
