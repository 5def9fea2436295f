"""How the battery rule makes a finding: what all its kinds have in common, and what ice changes in any of them."""

from dataclasses import replace

from monitor.model.finding import Figure, Finding, TimeToHarm
from monitor.model.reading import Seen
from monitor.model.scale import Priority, Sure
from monitor.rules.battery_bank import Bank, Moment, Plan
from monitor.rules.battery_ice import ice_ahead, may_be_frozen
from monitor.rules.battery_limits import LIMITS

RULE = "battery"

Facts = dict[str, float | str | bool | None]


def say(
    bank: Bank,
    plan: Plan,
    moment: Moment,
    *,
    kind: str,
    priority: Priority,
    figure: Figure,
    sure: Sure,
    causes: tuple[str, ...],
    first: tuple[str, ...],
    never: tuple[str, ...] = (),
    harm: TimeToHarm | None = None,
    facts: Facts | None = None,
    on_delay_ms: int = 0,
    off_delay_ms: int | None = None,
    over: bool = False,
) -> Finding:
    """Make a finding of one battery. Where it may be frozen, charging it is not advised but forbidden."""
    outlook, battery, pump = bank.outlook, plan.battery, plan.pump
    common: Facts = {
        "name": battery.name,
        "volts": None if bank.at_ms is None else round(bank.volts, 2),
        "charge_low_pct": None if outlook is None else round(outlook.low_pct),
        "charge_pct": None if outlook is None else round(outlook.best_pct),
        "charge_high_pct": None if outlook is None else round(outlook.high_pct),
        "maybe_frozen": False,
        "feeds_pump": pump is not None,
        "pump_h": None if pump is None or outlook is None else round(pump.runs_h(outlook.best_pct)),
        "pump_full_h": None if pump is None else round(pump.runs_h(100.0)),
        "pump_too_big": pump is not None and not pump.fits,
    }
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
        facts=common | ice_ahead(bank, plan, moment) | (facts or {}),
        on_delay_ms=on_delay_ms,
        off_delay_ms=LIMITS.ms("off_delay") if off_delay_ms is None else off_delay_ms,
        over=over,
    )
    return _warm_first(finding) if never and may_be_frozen(bank, plan) else finding


_STARTS_NO_CHARGE = frozenset({"find_load", "charger_off_at_supply", "take_somebody", "ventilate"})


def _warm_first(finding: Finding) -> Finding:
    # Charging, or anything that starts it, comes after the thaw and is not even named here.
    kept = tuple(code for code in finding.first if code in _STARTS_NO_CHARGE)
    never = ("no_charging_frozen", *(code for code in finding.never if code != "no_closed_locker"))
    facts = {**finding.facts, "maybe_frozen": True}
    # A case that ice has split leaks acid when it has thawed: somebody has to look at it.
    return replace(finding, first=("warm_battery", *kept), never=never, facts=facts, latches=True)
