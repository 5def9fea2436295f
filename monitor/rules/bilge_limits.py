"""The bilge rule's table of limits."""

from monitor.rules.rising import RISING
from monitor.rules.rule import Limit, Limits

_OURS = "common practice, no source"

LIMITS = Limits(
    *RISING.rows.values(),
    Limit("high_deadband", 0.010, "m", _OURS, "three times the noise: high water that laps is one alarm", "-"),
    Limit("no_jump", 0.030, "m", "quality's spike limit", "nearer to a believed level it cannot be a spike", "-"),
    Limit("silent_after", 3.0, "cadences", _OURS, "one lost message is ordinary", "go and look"),
    Limit("silent_least", 1.0, "h", "DESIGN.md", "the time a boat afloat may be unheard", "go and look"),
    Limit("contradicts_below", 0.5, "of the high mark", _OURS, "well under any float switch", "-"),
    Limit("contradicts_fresh", 2.5, "cadences", _OURS, "a level is heard up to two of its intervals late", "-"),
    Limit("alarm_within", 24.0, "h", _OURS, "nobody may come by before tomorrow", "go now"),
    Limit("alarm_kept_to", 36.0, "h", _OURS, "a rate swings: no going back and forth", "-"),
    Limit("pumped", 0.030, "m", "quality's spike limit", "so great a fall is a pump: the rise begins anew", "-"),
    Limit("alarm_after_thaw", 48.0, "h", _OURS, "what has split does not heal: go sooner", "go now"),
    Limit("thaw_watch", 72.0, "h", _OURS, "frost damage shows at the thaw", "watch her closely"),
    # The pump
    Limit("pump_bin", 6.0, "h", "invented", "a quarter of a day: bounds what is kept", "-"),
    Limit("pump_kept", 16.0, "d", "invented", "two weeks to know what is usual", "-"),
    Limit("pump_late", 2.0, "d", "invented", "a day's rain is over, a leak is not", "-"),
    Limit("pump_before", 3.0, "d", "invented", "less says nothing of what is usual", "-"),
    Limit("pump_noises", 5.0, "sd", "normal law: 2e-4 for a step of two readings", "a bilge that slops afloat", "-"),
    Limit("pump_told", 1.0, "runs a day", _OURS, "a boat that lies still makes next to no water", "find the leak"),
    Limit("pump_often", 4.0, "runs a day", _OURS, "every six hours: more than a drip", "find the leak"),
    Limit("pump_times_more", 2.0, "1", "invented", "twice as often is another leak, or a worse one", "find the leak"),
    Limit("pump_chance", 1e-4, "1", "test of two rates", "75 windows of two days: below 0.01 a winter", "-"),
    Limit("pump_share", 0.5, "of its flow", _OURS, "half of what it can do is used up", "go now"),
    Limit("pump_long", 20.0, "min", _OURS, "46 CFR 62.35-10 asks that long runs be told", "look in the bilge"),
    Limit("pump_stalls", 11.5, "V", _OURS, "below it a pump turns too slowly to lift", "recharge the battery"),
    Limit("pump_charged", 13.0, "V", _OURS, "the charger holds the battery", "-"),
    Limit("pump_trusted", 14.0, "d", _OURS, "for longer nobody counts on a pump and a battery alone", "-"),
    Limit("pump_volts_old", 24.0, "h", _OURS, "what the battery said yesterday is no promise", "-"),
    # What the record and the pattern make of a rise
    Limit("steady_least", 0.25, "of the rise in its later half", "invented", "less: it came in a burst and slows", "-"),
    Limit("steady_most", 0.75, "of the rise in its later half", "invented", "more: it came of late, as rain does", "-"),
    Limit("condensate_most", 8.0, "L/day", _OURS, "no small dehumidifier takes out more", "-"),
    Limit("gland_most", 30.0, "L/day", _OURS, "400 drops a minute: that is a hose", "-"),
    Limit("bung_out_waits", 26.0, "h", "slow_off and high_off", "what was found here has had time to clear", "-"),
    Limit("noise_memory", 48.0, "h", "invented", "follows the weather, outlasts a rise", "-"),
    Limit("unheard_stands", 72.0, "h", _OURS, "time for a visit, weekend included", "find the mark it left"),
    Limit("high_off", 1.0, "h", _OURS, "water laps: no coming and going", "-"),
    Limit("fast_off", 6.0, "h", _OURS, "rain comes in showers", "-"),
    Limit("slow_off", 24.0, "h", _OURS, "a drip slows in the cold of a night", "-"),
)
