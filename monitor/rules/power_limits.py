"""The power rule's table of limits. Volts are for 12 V nominal; other banks are scaled to it."""

from monitor.rules.rule import Limit, Limits

_OURS = "common practice, no source"

LIMITS = Limits(
    # Seen by a mains sensor
    Limit("blink", 1.0, "min", _OURS, "breakers that close again by themselves do so in seconds", "-"),
    Limit("back_for", 10.0, "min", "invented", "power that comes and goes is one loss", "-"),
    Limit("mains_stale", 6.0, "h", _OURS, "a switch repeats its word at its interval, or it says nothing", "look"),
    # Planned cuts
    Limit("cut_slack", 10.0, "min", _OURS, "who switches off by hand does not do it to the minute", "-"),
    Limit("back_within", 1.0, "h", _OURS, "from then on a planned cut is a loss", "see why it stayed off"),
    # Told by what it fed
    Limit("together", 6.0, "h", "invented", "what stops for one reason stops within one tide", "-"),
    Limit("charging", 13.2, "V", _OURS, "no charger floats lower, a battery just off one falls under it", "-"),
    Limit("float_fell", 0.3, "V", "invented", "more than a float moves in a day's warmth", "-"),
    Limit("float_learns", 24.0, "h", "invented", "follows the weather and not the hours", "-"),
    Limit("rh_over", 2.0, "%", "invented", "over the day's highest: beyond a humidity sensor's noise", "-"),
    Limit("rh_day", 24.0, "h", "invented", "a humidistat's play shows within a day", "-"),
    Limit("rh_known", 12.0, "h", "invented", "hours of that day that must be known", "-"),
    Limit("warmer", 5.0, "K", "invented", "a heater that keeps her warmer than this is seen to stop", "-"),
    Limit("warmth_left", 0.5, "-", "invented", "half of the warmth gone: no draught takes that much", "-"),
    Limit("warmth_back", 0.75, "-", "invented", "deadband of the same", "-"),
    Limit("inferred_for", 1.0, "h", "invented", "the next readings must say the same", "-"),
    Limit("inferred_back", 3.0, "h", "invented", "after a cut a charger and a dehumidifier take this long", "-"),
    # Frost while the heater is off
    Limit("frost_ahead", 24.0, "h", _OURS, "the coming night", "-"),
    Limit("frost_wet", 1.0, "degC", _OURS, "air from which a pipe left wet may freeze", "drain it, or have power back"),
    Limit("frost_margin", 5.0, "K", _OURS, "room above a tested freezing point", "have power back before the night"),
    Limit("frost_falls", 2.0, "K", "invented", "a night is colder than the reading before it", "-"),
    Limit("frost_deadband", 1.0, "K", "invented", "a forecast moves from hour to hour", "-"),
    Limit("outside_stale", 3.0, "h", _OURS, "air moves within hours", "-"),
)
