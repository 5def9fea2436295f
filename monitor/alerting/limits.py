"""How long anybody may put anything aside."""

from monitor.model.limits import Limit, Limits

_LESS = "name an earlier time, and say it again then"

LIMITS = Limits(
    Limit("shelf_most", 7.0, "d", "common practice, no source", "the next round of the yard looks at it anew", _LESS),
    Limit("shelf_most_alarm", 12.0, "h", "common practice, no source", "a working day, and not the night too", _LESS),
    Limit("water_gone", 1.0, "h", "ours: as long as high water takes to clear", "it comes again: another flood", "-"),
    Limit("suppress_most", 4.0, "h", "common practice, no source", "half a working day: nobody forgets it", _LESS),
)
"""The limits of putting aside."""
