"""The battery rule's table of limits. Volts are for 12 V nominal; other banks are scaled to it."""

from monitor.rules.rule import Limit, Limits

_HANDBOOK = "makers' handbooks"
_OURS = "common practice, no source"

LIMITS = Limits(
    # At rest or not
    Limit("no_volts", 1.0, "V", _OURS, "no battery is this flat: the meter sees nothing", "look at isolator and lead"),
    Limit("charging_room", 0.2, "V", _OURS, "this far above full at rest it is on charge, or was just now", "-"),
    Limit("rested_after", 12.0, "h", _HANDBOOK, "6 to 24 h of rest before volts tell the charge", "-"),
    Limit("settled_after", 24.0, "h", _HANDBOOK, "from then on a fall is a load, and no settling", "-"),
    Limit("surface_gone", 36.0, "h", "invented", "the last of the surface charge must not look like a load", "-"),
    Limit("slope_over", 6.0, "h", "invented", "0.02 V of noise leaves 0.004 V/h over six hourly readings", "-"),
    Limit("spacing", 20.0, "min", "invented", "bounds what is kept of a fast sensor", "-"),
    # The charge and where it goes
    Limit("recharge", 69.0, "%", _HANDBOOK, "12.4 V at rest, flooded (battery industry scale)", "recharge it"),
    Limit("half", 50.0, "%", _HANDBOOK, "below half it ages fast, and freezes sooner", "recharge it now"),
    Limit("charge_deadband", 4.0, "%", "invented", "0.03 V, more than a day's noise", "-"),
    Limit("empty", 11.9, "V", "battery industry scale", "0 % at rest; under a light load nearly so", "recharge it now"),
    Limit("empty_over", 3.0, "h", "invented", "a pump's run is shorter", "-"),
    Limit("empty_deadband", 0.1, "V", "invented", "a flat battery's volts creep up when a load goes", "-"),
    Limit("soon", 30.0, "d", _OURS, "the visits are monthly", "plan a recharge"),
    Limit("urgent", 7.0, "d", _OURS, "one working week", "recharge it this week"),
    Limit("days_deadband", 5.0, "d", "invented", "a forecast moves by days from one day to the next", "-"),
    Limit("point_every", 12.0, "h", "invented", "medians: a pump's dips and a meter's noise fall out", "-"),
    Limit("long_window", 21.0, "d", "invented", "finds 0.1 % a day in 0.02 V of noise", "-"),
    Limit("long_least", 10.0, "d", "invented", "before that the slow slope is noise", "-"),
    Limit("short_window", 7.0, "d", "invented", "finds a load of 0.6 % a day in a week", "-"),
    Limit("short_least", 4.0, "d", "invented", "a change of weather is over in that time", "-"),
    Limit("steep_least", 36.0, "h", "invented", "a lamp left on cannot wait four days", "-"),
    Limit("steep", 4.0, "%/day", "invented", "170 mA on 100 Ah: too much for weather to feign", "-"),
    Limit("hidden", 0.25, "%/day", "invented", "10 mA on 100 Ah beyond doubt and budget", "find the load"),
    # The charger
    Limit(
        "float", 13.0, "V", _OURS, "no lead-acid battery rests this high, no charger floats lower", "see to the charger"
    ),
    Limit("float_room", 0.1, "V", "invented", "a charger that floats just above 13 V must not chatter", "-"),
    Limit("float_drop", 0.3, "V", "invented", "more than a float moves in a day's warmth", "-"),
    Limit("float_learns", 24.0, "h", "invented", "follows the seasons and not the hours", "-"),
    Limit("float_most", 13.9, "V", _HANDBOOK, "above it (25 degC) the charger absorbs, it does not float", "-"),
    Limit("off_for", 3.5, "h", "invented", "a night's power cut of two hours is over by then", "-"),
    Limit("never_on_for", 12.0, "h", "invented", "a low bank takes hours to reach float", "see to the charger"),
    # Lithium
    Limit("lithium_low", 12.8, "V", _OURS, "the curve's knee: little is left below it", "recharge it above 0 degC"),
    Limit("lithium_empty", 12.4, "V", _OURS, "charts allow 5 to 30 % here", "recharge it above 0 degC"),
    # Doubt and delay
    Limit("frozen_error", 3.0, "K", _OURS, "error of the electrolyte's freezing point", "never charge it"),
    Limit("assumed", 5.0, "degC", "invented", "a winter's mean, where no thermometer is near", "-"),
    Limit("probe_lag", 3.0, "h", "invented", "the acid lags behind the probe on its case", "-"),
    Limit("outside_lag", 12.0, "h", "invented", "a battery in a closed space lags half a day behind outside air", "-"),
    Limit("stale", 6.0, "h", _OURS, "a battery moves slowly, a charger's trip must still be told", "-"),
    Limit("on_delay", 6.0, "h", "invented", "rested figures come twice a day", "-"),
    Limit("on_delay_load", 12.0, "h", "invented", "the next half-day must say the same", "-"),
    Limit("off_delay_load", 24.0, "h", "invented", "two half-days must agree that it is over", "-"),
    Limit("on_delay_volts", 1.0, "h", "invented", "somebody at the isolator is gone by then", "-"),
    Limit("off_delay", 12.0, "h", "invented", "recharged, and not merely relieved for an hour", "-"),
    Limit("off_delay_charger", 1.0, "h", "invented", "float stands again", "-"),
)
