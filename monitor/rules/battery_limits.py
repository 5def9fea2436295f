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
    Limit("half", 50.0, "%", _HANDBOOK, "below half it ages fast, and freezes sooner", "recharge it"),
    Limit(
        "act_within", 2.0, "d", _OURS, "under half, and flat or frozen by then: no working day to wait for", "act now"
    ),
    Limit("act_room", 1.0, "d", "invented", "a forecast moves by a day: told until it is clearly over", "-"),
    Limit("charge_deadband", 4.0, "%", "invented", "0.03 V, more than a day's noise", "-"),
    Limit("empty", 11.9, "V", "battery industry scale", "0 % at rest; under a light load nearly so", "recharge it now"),
    Limit("empty_over", 3.0, "h", "invented", "a pump's run is shorter", "-"),
    Limit("empty_deadband", 0.1, "V", "invented", "a flat battery's volts creep up when a load goes", "-"),
    Limit("soon", 30.0, "d", _OURS, "the visits are monthly", "plan a recharge"),
    Limit("urgent", 7.0, "d", _OURS, "one working week", "recharge it this week"),
    Limit("told_ahead", 365.0, "d", "invented", "a date further off than a year is no date", "-"),
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
    Limit("float_most", 13.9, "V", _HANDBOOK, "above it (25 °C) the charger absorbs, it does not float", "-"),
    Limit("off_for", 3.5, "h", "invented", "a night's power cut of two hours is over by then", "-"),
    Limit("never_on_for", 12.0, "h", "invented", "a low bank takes hours to reach float", "see to the charger"),
    Limit("spell_least", 1.0, "h", "invented", "a shorter dip teaches nothing of how the charger works", "-"),
    Limit("spells", 3.0, "1", "invented", "once is chance and twice a mishap: from then on it is its way", "-"),
    Limit("spells_kept", 30.0, "d", "invented", "a way of working that was not seen for a month is no excuse", "-"),
    Limit("spell_longer", 1.25, "1", "invented", "a cold day lengthens a charger's rest, a trip has no end", "-"),
    Limit("spell_most", 72.0, "h", _OURS, "a charger that rests for days is told whatever it did before", "look at it"),
    Limit("spell_deeper", 0.1, "V", "invented", "below where it always came back: this time it did not", "look at it"),
    # Overcharge and heat
    Limit("over_for", 24.0, "h", _HANDBOOK, "absorption is over in hours: it boils dry", "charger off"),
    Limit("over_room", 0.1, "V", "invented", "volts about the limit must not begin the day anew", "-"),
    Limit("lithium_float", 13.9, "V", _OURS, "no lithium charger holds it higher for a day", "charger off"),
    Limit("over_hole", 6.0, "h", "invented", "what was not heard for so long does not count as high", "-"),
    Limit("hotter", 10.0, "K", "makers' handbooks", "charge that turns to heat", "charger off, keep away"),
    Limit("hotter_deadband", 3.0, "K", "invented", "it cools slowly: one alarm", "-"),
    Limit("hot", 50.0, "degC", _HANDBOOK, "no lead-acid battery may be charged so hot", "charger off, keep away"),
    Limit("heat_fresh", 3.0, "h", "invented", "two thermometers are held together only while both are heard", "-"),
    # The pump it feeds
    Limit("pump_draw", 1.5, "A for 1000 L/h", "labels of small electric pumps: 1 to 1.5 A", "the dearer of them", "-"),
    Limit("pump_draw_unknown", 3.0, "A", _OURS, "a pump of 2000 L/h, where none is recorded", "record the pump"),
    Limit("pump_for", 24.0, "h", _OURS, "nobody may come by before tomorrow", "recharge it"),
    Limit("pump_floor", 20.0, "%", _OURS, "a pump stalls before its battery is empty", "-"),
    Limit("pump_full_most", 95.0, "%", "invented", "wanted by no battery that stands for weeks: it is too small", "-"),
    # Lithium
    Limit("lithium_low", 12.8, "V", _OURS, "the curve's knee: little is left below it", "recharge it above 0 °C"),
    Limit("lithium_empty", 12.4, "V", _OURS, "charts allow 5 to 30 % here", "recharge it above 0 °C"),
    # Doubt and delay
    Limit("cold_days", 7.0, "d", "invented", "the last week's cold, where no forecast is heard", "-"),
    Limit("freeze_looked", 120.0, "d", "invented", "a winter: later than that it is launched or frozen", "-"),
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
