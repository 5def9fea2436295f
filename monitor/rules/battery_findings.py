"""The battery rule's findings: each kind's figure, causes, first steps and warnings."""

from dataclasses import replace

from monitor.model.finding import Figure, Finding, TimeToHarm
from monitor.model.reading import Seen
from monitor.model.scale import Priority, Sure
from monitor.rules.battery_bank import Bank, Plan, acid_degc
from monitor.rules.battery_limits import LIMITS
from monitor.rules.battery_outlook import Outlook
from monitor.rules.mains import Mains
from monitor.rules.rule import DAY_MS
from monitor.science.battery import rested_v_from_charge
from monitor.science.electrolyte import battery_freezing_point_degc

RULE = "battery"
_DAY_S = DAY_MS / 1000


def low(bank: Bank, plan: Plan, priority: Priority, mains: Mains, *, lost: bool) -> Finding:
    """Say that its charge is too low, or its volts are."""
    outlook = bank.outlook
    if plan.is_lithium:
        rested, limit_v = False, LIMITS["lithium_low"] / plan.scale
    elif bank.under is not None or outlook is None:
        rested, limit_v = False, LIMITS["empty"] / plan.scale
    else:
        rested = True
        limit_v = rested_v_from_charge(plan.chemistry, LIMITS["recharge"], acid_degc(bank)) / plan.scale
    supply = ("shore_power_lost",) if mains is Mains.GONE else ("charger_tripped",)
    first: tuple[str, ...] = ("recharge_lithium",) if plan.is_lithium else ("recharge", "find_load")
    return _say(
        bank,
        plan,
        kind="low",
        priority=priority,
        figure=Figure(round(bank.volts, 2), round(limit_v, 2), "V"),
        sure=Sure.LIKELY if rested and plan.own_probe else Sure.POSSIBLE,
        causes=(*(supply if lost else ()), *(("hidden_load",) if bank.load or not rested else ()), "age_and_cold"),
        first=first,
        never=("no_charging_cold_lithium",) if plan.is_lithium else ("no_closed_locker",),
        facts={"rested": rested, "lithium": plan.is_lithium},
        on_delay_ms=LIMITS.ms("on_delay" if rested else "on_delay_volts"),
    )


def charger_lost(bank: Bank, plan: Plan, mains: Mains) -> Finding:
    """Say that its charger no longer holds it."""
    floating = bank.floating
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
    return _say(
        bank,
        plan,
        kind="charger lost",
        priority=Priority.WARNING,
        figure=Figure(round(bank.volts, 2), round(LIMITS["float"] / plan.scale, 1), "V"),
        # What is drawn behind a charger is not known, so neither is how long the battery lasts, until it has rested.
        harm=_harm(bank.outlook),
        sure=Sure.LIKELY,
        causes=causes[mains],
        first=first,
        never=("no_closed_locker",),
        facts={
            "float_seen": seen,
            "float_v": None if floating.float_v is None else round(floating.float_v / plan.scale, 1),
            "since_ms": floating.off_since_ms,
            "mains": mains.value,
        },
        off_delay_ms=LIMITS.ms("off_delay_charger"),
    )


def declining(bank: Bank, plan: Plan) -> Finding | None:
    """Say that it wants a charge soon, or that something draws on it; None where neither is so."""
    outlook = bank.outlook
    if outlook is None or (bank.soon is None and not bank.load):
        return None
    days, days_low, harm = outlook.days, outlook.days_low, _harm(outlook)
    facts: dict[str, float | str | bool | None] = {
        "loss_pct_day": None if outlook.loss_pct_day is None else round(outlook.loss_pct_day, 1),
        "days": None if days is None else round(days),
        "days_low": None if days_low is None else round(days_low),
        "days_high": None if outlook.days_high is None else round(outlook.days_high),
        "excess_ma": round(outlook.excess_ma),
        "excess_least_ma": round(outlook.excess_least_ma),
        "budget_ma": round(plan.battery.budget_ma),
    }
    sure = Sure.LIKELY if plan.own_probe else Sure.POSSIBLE
    if bank.load:
        return _say(
            bank,
            plan,
            kind="hidden load",
            priority=Priority.WARNING if bank.soon is not None else Priority.CAUTION,
            figure=Figure(round(outlook.excess_ma), round(plan.battery.budget_ma), "mA"),
            harm=harm,
            sure=sure,
            causes=("hidden_load", "cell_failing"),
            first=("find_load", "recharge"),
            never=("no_closed_locker",),
            facts=facts,
            on_delay_ms=LIMITS.ms("on_delay_load"),
            off_delay_ms=LIMITS.ms("off_delay_load"),
        )
    return _say(
        bank,
        plan,
        kind="decline",
        priority=bank.soon or Priority.CAUTION,
        figure=Figure(None if days is None else round(days), LIMITS["soon"], "d"),
        harm=harm,
        sure=sure,
        causes=("age_and_cold", "hidden_load"),
        first=("recharge", "find_load"),
        never=("no_closed_locker",),
        facts=facts,
        on_delay_ms=LIMITS.ms("on_delay_load"),
        off_delay_ms=LIMITS.ms("off_delay_load"),
    )


def _harm(outlook: Outlook | None) -> TimeToHarm | None:
    if outlook is None or outlook.days is None or outlook.days_low is None:
        return None
    return TimeToHarm(outlook.days_low * _DAY_S, None if outlook.days_high is None else outlook.days_high * _DAY_S)


def no_volts(bank: Bank, plan: Plan) -> Finding:
    """Say that the meter sees no battery."""
    return _say(
        bank,
        plan,
        kind="no volts",
        priority=Priority.CAUTION,
        figure=Figure(round(bank.volts, 2), LIMITS["no_volts"], "V"),
        sure=Sure.LIKELY,
        causes=("isolator_off", "sensor_lead_off"),
        first=("check_isolator",),
        on_delay_ms=LIMITS.ms("on_delay_volts"),
        off_delay_ms=LIMITS.ms("on_delay_volts"),
    )


def cannot_tell(bank: Bank, plan: Plan) -> Finding:
    """Say that the volts of a lithium battery do not tell its charge."""
    return _say(
        bank,
        plan,
        kind="lithium",
        priority=Priority.CAUTION,
        figure=Figure(round(bank.volts, 2), round(LIMITS["lithium_low"] / plan.scale, 1), "V"),
        sure=Sure.NOT_KNOWN,
        causes=("flat_curve",),
        first=("read_battery_monitor",),
    )


def not_known(bank: Bank | None, plan: Plan) -> Finding:
    """Say that no volts are heard, or that none are measured."""
    measured = plan.battery.voltage_sensor is not None
    return _say(
        bank or Bank(),
        plan,
        kind="not known",
        priority=Priority.CAUTION,
        figure=Figure(None, None, "V"),
        sure=Sure.NOT_KNOWN,
        causes=("no_volts_heard" if measured else "not_measured",),
        first=("measure_volts",),
    )


def _say(
    bank: Bank,
    plan: Plan,
    *,
    kind: str,
    priority: Priority,
    figure: Figure,
    sure: Sure,
    causes: tuple[str, ...],
    first: tuple[str, ...],
    never: tuple[str, ...] = (),
    harm: TimeToHarm | None = None,
    facts: dict[str, float | str | bool | None] | None = None,
    on_delay_ms: int = 0,
    off_delay_ms: int | None = None,
) -> Finding:
    outlook, battery = bank.outlook, plan.battery
    finding = Finding(
        rule=RULE,
        subject=battery.id,
        kind=kind,
        priority=priority,
        figure=figure,
        harm=harm,
        sure=sure,
        causes=causes,
        first=first,
        never=never,
        rests_on=()
        if bank.at_ms is None or battery.voltage_sensor is None
        else (Seen(battery.voltage_sensor, bank.at_ms, bank.volts),),
        facts={
            "name": battery.name,
            "volts": None if bank.at_ms is None else round(bank.volts, 2),
            "charge_low_pct": None if outlook is None else round(outlook.low_pct),
            "charge_pct": None if outlook is None else round(outlook.best_pct),
            "charge_high_pct": None if outlook is None else round(outlook.high_pct),
            "maybe_frozen": False,
            **(facts or {}),
        },
        on_delay_ms=on_delay_ms,
        off_delay_ms=LIMITS.ms("off_delay") if off_delay_ms is None else off_delay_ms,
    )
    return _warm_first(finding) if never and _may_be_frozen(bank, plan) else finding


def _may_be_frozen(bank: Bank, plan: Plan) -> bool:
    """Say whether its acid may be frozen: at the lowest charge that fits, in the coldest of the last two days."""
    if plan.is_lithium:
        return False
    if bank.under is not None:
        charge_pct = 0.0
    elif bank.outlook is not None:
        charge_pct = bank.outlook.low_pct
    else:
        return False
    coldest = bank.warmth.coldest_degc
    if coldest is None:
        return charge_pct < LIMITS["half"]
    return coldest <= battery_freezing_point_degc(charge_pct) + LIMITS["frozen_error"]


def _warm_first(finding: Finding) -> Finding:
    # Charging, or anything that starts it, comes after the thaw and is not even named here.
    kept = tuple(code for code in finding.first if code == "find_load")
    never = ("no_charging_frozen", *(code for code in finding.never if code != "no_closed_locker"))
    return replace(finding, first=("warm_battery", *kept), never=never, facts={**finding.facts, "maybe_frozen": True})
