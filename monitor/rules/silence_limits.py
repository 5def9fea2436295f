"""The silence rule's table of limits."""

from monitor.rules.rule import Limit, Limits

_OURS = "common practice, no source"
_WET = "a wet pipe on the hull follows the air within hours"

LIMITS = Limits(
    Limit("gateway_afloat", 1.0, "h", "DESIGN.md", "a weeping hose fills a bilge in hours", "go and look"),
    Limit("gateway_ashore", 12.0, "h", "DESIGN.md", "seen on the next morning's round", "look on the round"),
    Limit("gateway_frost_coming", 6.0, "h", _OURS, f"time left to go before the night: {_WET}", "go before the frost"),
    Limit("gateway_frost_now", 3.0, "h", _OURS, f"it freezes, and nobody sees her: {_WET}", "go now"),
    Limit("frost_room", 2.0, "K", _OURS, "a day's forecast, or a thermometer at the rail, errs so much", "-"),
    Limit("frost_ahead", 24.0, "h", _OURS, "a day: the next night is in it", "-"),
    Limit("frost_unknown", -5.0, "degC", _OURS, "an ordinary coastal night, where nothing is known of the air", "-"),
    Limit(
        "outside_fresh", 3.0, "h", _OURS, "how old the last word of outside air may be to say that it freezes now", "-"
    ),
    Limit("outside_block", 6.0, "h", "invented", "bounds what is kept of the last day's outside air", "-"),
    Limit("gateway_cadences", 3.0, "cadences", _OURS, "one lost message is ordinary", "-"),
    Limit("gateway_alarm", 24.0, "h", _OURS, "afloat and a whole day unseen: somebody must have been there", "go"),
    Limit(
        "new_boat",
        24.0,
        "h",
        _OURS,
        "a new boat's sensors are switched on one by one, and what a broker kept comes in sensor by sensor: until then "
        "never heard is a caution; a warning where she is afloat or frost is known to come; an alarm a day later",
        "see on her page that each is heard",
    ),
    Limit("sensor_cadences", 6.0, "cadences", _OURS, "a weak radio loses several in a row", "-"),
    Limit("sensor_least", 3.0, "h", _OURS, "one sensor of many: the others still watch", "change its cell"),
    Limit("alive_cadences", 3.0, "cadences", _OURS, "which sensors set the pace of the gateway", "-"),
    Limit("hole", 3.0, "cadences", _OURS, "one lost message is ordinary, two in a row are not", "-"),
    Limit("stuck_after", 3.0, "readings", "invented", "a spike is suspect once; a flat line goes on", "shake it"),
    Limit("failing_at", 5.0, "weight", "invented", "three failed in a row, or half of some ten", "check its wire"),
    Limit("doubtful_at", 8.0, "weight", "invented", "four suspect in a row, or half of some sixteen", "read by hand"),
    Limit("jump", 0.4, "of nominal", _OURS, "half a bank, or two: another bank is measured", "read by hand"),
    Limit("jump_back", 0.2, "of nominal", _OURS, "as far from where it was, it is back", "-"),
    Limit("jump_off", 0.05, "of nominal", _OURS, "to 0 V and back is an isolator", "-"),
    Limit("jump_within", 6.0, "cadences", _OURS, "over a longer gap a bank may have fallen by itself", "-"),
    Limit("jump_stands", 72.0, "h", _OURS, "time for a visit, weekend included", "read by hand"),
    Limit("cell_low", 0.80, "of its best", _OURS, "lithium and alkaline cells have a tenth left there", "change it"),
    Limit("cell_good", 0.85, "of its best", _OURS, "a cell that warms up is no new cell", "-"),
    Limit("cell_least", 0.9, "V", "makers' data sheets", "the end of any single cell", "change it"),
    Limit("cell_readings", 3.0, "readings", _OURS, "a radio that sends pulls its cell down for a moment", "-"),
    Limit("pair_room", 1.0, "K", _OURS, "beside their errors: two ends of one place", "-"),
    Limit("pair_after", 6.0, "h", _OURS, "sun or an open hatch reaches one of them for hours", "read both by hand"),
    Limit("pair_fresh", 3.0, "cadences", _OURS, "only what both say now can be compared", "-"),
    Limit("sensor_off", 1.0, "h", _OURS, "a bad radio comes and goes", "-"),
    Limit("stuck_off", 24.0, "h", _OURS, "one changed digit does not clear a sensor", "-"),
    Limit("gateway_off", 1.0, "h", _OURS, "a bad link comes and goes", "-"),
)
