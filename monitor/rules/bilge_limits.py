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
    Limit("contradicts_below", 0.5, "of high_m", _OURS, "well under any float switch", "-"),
    Limit("contradicts_fresh", 2.5, "cadences", _OURS, "a level is heard up to two of its intervals late", "-"),
    Limit("alarm_within", 24.0, "h", _OURS, "nobody may come by before tomorrow", "go now"),
    Limit("alarm_kept_to", 36.0, "h", _OURS, "a rate swings: no going back and forth", "-"),
    Limit("pumped", 0.030, "m", "quality's spike limit", "so great a fall is a pump: the rise begins anew", "-"),
    Limit("noise_memory", 48.0, "h", "invented", "follows the weather, outlasts a rise", "-"),
    Limit("unheard_stands", 72.0, "h", _OURS, "time for a visit, weekend included", "find the mark it left"),
    Limit("high_off", 1.0, "h", _OURS, "water laps: no coming and going", "-"),
    Limit("fast_off", 6.0, "h", _OURS, "rain comes in showers", "-"),
    Limit("slow_off", 24.0, "h", _OURS, "a drip slows in the cold of a night", "-"),
)
