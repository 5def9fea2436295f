"""What the battery rule says of a battery that is overcharged or hot. It is the one word here that must not wait."""

from monitor.model.finding import Figure, Finding, TimeToHarm
from monitor.model.scale import Priority, Sure
from monitor.rules.battery_bank import Bank, Moment, Plan, acid_degc
from monitor.rules.battery_limits import LIMITS
from monitor.rules.battery_over import hotter_k, most_v
from monitor.rules.battery_say import say

_CAUSES = ("charger_stuck", "wrong_setting", "cell_shorted")
_FIRST = ("charger_off_at_supply", "take_somebody", "ventilate", "look_at_case")
_NEVER = ("no_boarding_alone", "no_sparks", "no_leaning_over")
_NOW = TimeToHarm(0.0, None)


def overcharged(bank: Bank, plan: Plan, moment: Moment) -> Finding:
    """Say that its volts have stood above any float for a day."""
    limit_v = most_v(acid_degc(bank), lithium=plan.is_lithium)
    return say(
        bank,
        plan,
        moment,
        kind="overcharge",
        priority=Priority.ALARM,
        figure=Figure(round(bank.volts, 2), round(limit_v / plan.scale, 2), "V"),
        harm=_NOW,
        sure=Sure.LIKELY,
        causes=_CAUSES,
        first=_FIRST,
        never=_NEVER,
        facts={"since_ms": bank.over.since_ms, "most_v": round(limit_v / plan.scale, 1), "lithium": plan.is_lithium},
        off_delay_ms=LIMITS.ms("off_delay_charger"),
    )


def hot(bank: Bank, plan: Plan, moment: Moment) -> Finding:
    """Say that it is hot, by itself or beside the place it stands in."""
    warmth = bank.warmth
    above = hotter_k(bank.over, warmth, moment.now_ms)
    beside = above is not None and above >= LIMITS["hotter"] - LIMITS["hotter_deadband"]
    return say(
        bank,
        plan,
        moment,
        kind="hot",
        priority=Priority.ALARM,
        figure=Figure(round(above, 1), LIMITS["hotter"], "K")
        if above is not None and beside
        else Figure(round(warmth.latest_degc, 1), LIMITS["hot"], "degC"),
        harm=_NOW,
        sure=Sure.LIKELY,
        causes=_CAUSES,
        first=_FIRST,
        never=_NEVER,
        facts={
            "battery_degc": round(warmth.latest_degc, 1),
            "hot_ms": warmth.at_ms,
            "above_k": None if above is None else round(above, 1),
        },
        off_delay_ms=LIMITS.ms("off_delay_charger"),
    )
