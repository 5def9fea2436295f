"""The battery rule's findings: each kind's figure, causes, first steps and warnings."""

from monitor.model.finding import Figure, Finding
from monitor.model.scale import Priority, Sure
from monitor.rules.battery_bank import Bank, Moment, Plan, acid_degc
from monitor.rules.battery_limits import LIMITS
from monitor.rules.battery_outlook import Outlook
from monitor.rules.battery_pressing import until_harm
from monitor.rules.battery_say import Facts, say
from monitor.rules.mains import Mains
from monitor.rules.rule import DAY_MS
from monitor.science.battery import rested_v_from_charge


def low(bank: Bank, plan: Plan, priority: Priority, moment: Moment, *, lost: bool) -> Finding:
    """Say that its charge is too low, or its volts are."""
    outlook = bank.outlook
    if plan.is_lithium:
        rested, limit_v = False, LIMITS["lithium_low"] / plan.scale
    elif bank.under is not None or outlook is None:
        rested, limit_v = False, LIMITS["empty"] / plan.scale
    else:
        rested = True
        limit_v = rested_v_from_charge(plan.chemistry, LIMITS["recharge"], acid_degc(bank)) / plan.scale
    supply = ("shore_power_lost",) if moment.mains is Mains.GONE else ("charger_tripped",)
    first: tuple[str, ...] = ("recharge_lithium",) if plan.is_lithium else ("recharge", "find_load")
    return say(
        bank,
        plan,
        moment,
        kind="low",
        priority=priority,
        figure=Figure(round(bank.volts, 2), round(limit_v, 2), "V"),
        harm=until_harm(bank, plan, moment),
        sure=Sure.LIKELY if rested and plan.own_probe else Sure.POSSIBLE,
        causes=(*(supply if lost else ()), *(("hidden_load",) if bank.load or not rested else ()), "age_and_cold"),
        first=first,
        never=("no_charging_cold_lithium",) if plan.is_lithium else ("no_closed_locker",),
        facts={"rested": rested, "lithium": plan.is_lithium},
        on_delay_ms=LIMITS.ms("on_delay" if rested else "on_delay_volts"),
    )


def charger_lost(bank: Bank, plan: Plan, moment: Moment) -> Finding:
    """Say that its charger no longer holds it."""
    floating, mains = bank.floating, moment.mains
    seen = floating.float_v is not None
    own = "charger_tripped" if seen else "never_connected"
    causes = {
        Mains.GONE: ("shore_power_lost", "lead_off"),
        Mains.THERE: (own, "lead_off"),
        Mains.NOT_KNOWN: (own, "shore_power_lost", "lead_off"),
    }
    first = (
        ("restore_shore_power", "check_charger") if mains is Mains.GONE else ("check_charger", "restore_shore_power")
    )
    return say(
        bank,
        plan,
        moment,
        kind="charger lost",
        priority=Priority.WARNING,
        figure=Figure(round(bank.volts, 2), round(LIMITS["float"] / plan.scale, 1), "V"),
        # What is drawn behind a charger is not known, so neither is how long the battery lasts, until it has rested.
        harm=until_harm(bank, plan, moment),
        sure=Sure.LIKELY,
        causes=causes[mains],
        first=first,
        never=("no_closed_locker",),
        facts={
            "float_seen": seen,
            "float_v": None if floating.float_v is None else round(floating.float_v / plan.scale, 1),
            "since_ms": floating.off_since_ms,
            "rested_before": len(floating.spells) >= LIMITS["spells"],
            "mains": mains.value,
        },
        off_delay_ms=LIMITS.ms("off_delay_charger"),
    )


def declining(bank: Bank, plan: Plan, moment: Moment) -> Finding | None:
    """Say that it wants a charge soon, or that something draws on it; None where neither is so."""
    outlook = bank.outlook
    if outlook is None or (bank.soon is None and bank.pump is None and not bank.load):
        return None
    sure = Sure.LIKELY if plan.own_probe else Sure.POSSIBLE
    soon = max((p for p in (bank.soon, bank.pump) if p is not None), default=None)
    if bank.load:
        return say(
            bank,
            plan,
            moment,
            kind="hidden load",
            priority=Priority.WARNING if soon is not None else Priority.CAUTION,
            figure=Figure(round(outlook.excess_ma), round(plan.battery.budget_ma), "mA"),
            harm=until_harm(bank, plan, moment),
            sure=sure,
            causes=("hidden_load", "cell_failing"),
            first=("find_load", "recharge"),
            never=("no_closed_locker",),
            facts=_fading(outlook, plan),
            on_delay_ms=LIMITS.ms("on_delay_load"),
            off_delay_ms=LIMITS.ms("off_delay_load"),
        )
    pump, days = plan.pump, outlook.days
    for_pump = pump is not None and plan.floor_pct > LIMITS["recharge"]
    left_h = None if pump is None else round(pump.runs_h(outlook.best_pct))
    return say(
        bank,
        plan,
        moment,
        kind="pump" if for_pump else "decline",
        priority=soon or Priority.CAUTION,
        figure=Figure(left_h, LIMITS["pump_for"], "h")
        if for_pump
        else Figure(None if days is None else round(days), LIMITS["soon"], "d"),
        harm=until_harm(bank, plan, moment),
        sure=sure,
        causes=("age_and_cold", "hidden_load"),
        first=("recharge", "find_load"),
        never=("no_closed_locker",),
        facts=_fading(outlook, plan),
        on_delay_ms=LIMITS.ms("on_delay_load"),
        off_delay_ms=LIMITS.ms("off_delay_load"),
    )


def _fading(outlook: Outlook, plan: Plan) -> Facts:
    days, low, high = outlook.days, outlook.days_low, outlook.days_high
    return {
        "loss_pct_day": None if outlook.loss_pct_day is None else round(outlook.loss_pct_day, 1),
        "days": None if days is None else round(days),
        "days_low": None if low is None else round(low),
        "days_high": None if high is None else round(high),
        "recharge_ms": _in(outlook, days),
        "recharge_low_ms": _in(outlook, low),
        "recharge_high_ms": _in(outlook, high),
        "excess_ma": round(outlook.excess_ma),
        "excess_least_ma": round(outlook.excess_least_ma),
        "budget_ma": round(plan.battery.budget_ma),
    }


def _in(outlook: Outlook, days: float | None) -> int | None:
    return None if days is None or days > LIMITS["told_ahead"] else outlook.at_ms + round(days * DAY_MS)


def no_volts(bank: Bank, plan: Plan, moment: Moment) -> Finding:
    """Say that the meter sees no battery."""
    return say(
        bank,
        plan,
        moment,
        kind="no volts",
        priority=Priority.CAUTION,
        figure=Figure(round(bank.volts, 2), LIMITS["no_volts"], "V"),
        sure=Sure.LIKELY,
        causes=("isolator_off", "sensor_lead_off"),
        first=("check_isolator",),
        on_delay_ms=LIMITS.ms("on_delay_volts"),
        off_delay_ms=LIMITS.ms("on_delay_volts"),
    )


def cannot_tell(bank: Bank, plan: Plan, moment: Moment) -> Finding:
    """Say that the volts of a lithium battery do not tell its charge."""
    return say(
        bank,
        plan,
        moment,
        kind="lithium",
        priority=Priority.CAUTION,
        figure=Figure(round(bank.volts, 2), round(LIMITS["lithium_low"] / plan.scale, 1), "V"),
        sure=Sure.NOT_KNOWN,
        causes=("flat_curve",),
        first=("read_battery_monitor",),
    )


def not_known(bank: Bank | None, plan: Plan, moment: Moment) -> Finding:
    """Say that no volts are heard, or that none are measured."""
    measured = plan.battery.voltage_sensor is not None
    return say(
        bank or Bank(),
        plan,
        moment,
        kind="not known",
        priority=Priority.CAUTION,
        figure=Figure(None, None, "V"),
        sure=Sure.NOT_KNOWN,
        causes=("no_volts_heard" if measured else "not_measured",),
        first=("measure_volts",),
    )
