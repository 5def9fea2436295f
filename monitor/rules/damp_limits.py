"""The damp rule's table of limits."""

from monitor.rules.rule import Limit, Limits
from monitor.science.mould import FIRST_GROWTH

_OURS = "common practice, no source"

LIMITS = Limits(
    # The coldest surface
    Limit("wet_hours", 84.0, "h", "invented", "half of a week: what the night wets no longer dries", "air her"),
    Limit("wet_deadband", 24.0, "h", "invented", "a dry day must not end it", "-"),
    Limit("known_hours", 120.0, "h", "invented", "most of the week must have been heard", "-"),
    Limit("week", 7.0, "d", "invented", "longer than one spell of weather", "-"),
    # Mould on it
    Limit(
        "mould_index",
        FIRST_GROWTH,
        "-",
        "Hukka and Viitanen 1999",
        "first growth, under a microscope",
        "clean and dry her",
    ),
    Limit("mould_near", 0.7, "-", "invented", "in a damp winter a week or two before it", "air and dry her"),
    Limit("mould_begun", 0.4, "-", "invented", "under it a wet week looks like a wet winter", "-"),
    Limit("mould_soon", 14.0, "d", "invented", "leaves time for a visit", "air and dry her"),
    Limit("mould_deadband", 0.05, "-", "invented", "three days of its decline", "-"),
    Limit("mould_rate", 7.0, "d", "invented", "longer than one spell of weather", "-"),
    # Heat that dries nothing
    Limit("heat_warmer", 5.0, "K", "invented", "more than a shut boat keeps of the day", "-"),
    Limit("heat_rh", 70.0, "%", "invented", "the humidity looks fair", "-"),
    Limit("heat_undried", 0.9, "-", "invented", "as wet as the coast outside: nothing was taken out", "dry her"),
    Limit("heat_window", 48.0, "h", "invented", "longer than one night", "-"),
    Limit("heat_hours", 24.0, "h", "invented", "half of two days", "dry her, or let the heat out"),
    Limit("heat_deadband", 12.0, "h", "invented", "a dry day must not end it", "-"),
    # The dehumidifier
    Limit("held_over", 4.0, "%", _OURS, "above its held level by more than a humidistat's play", "go and look at it"),
    Limit("held_back", 2.0, "%", _OURS, "held again", "-"),
    Limit("held_room", 10.0, "%", "invented", "humidistats are set up to this far under the level wanted", "-"),
    Limit("held_flat", 3.0, "%", "invented", "a day's upper tenth above its middle: flatter is held", "-"),
    Limit("held_day", 16.0, "h", "invented", "hours of a day that must be heard to learn from it", "-"),
    Limit("over_hours", 12.0, "h", "invented", "no front overcomes a sound machine for so long", "go and look at it"),
    Limit("after_cut", 4.0, "h", "invented", "what gathered while power was off on purpose is dried first", "-"),
    Limit("over_window", 48.0, "h", "invented", "told within two days of its stop", "-"),
    Limit("back_hours", 36.0, "h", "invented", "a dry day alone is no machine running", "-"),
    Limit("pull_down", 48.0, "h", _OURS, "closed up damp, she takes a day or two to dry", "-"),
    Limit("pulled", 0.5, "-", "invented", "under half of what outside air can hold: something dries her", "-"),
    Limit("band_over", 3.0, "%", _OURS, "error of an ordinary humidity sensor", "-"),
    Limit("band_hours", 24.0, "h", "invented", "half of two days", "find the water or the draught"),
    Limit("band_deadband", 12.0, "h", "invented", "a dry day must not end it", "-"),
    Limit("mould_rh", 80.0, "%", "Hukka and Viitanen 1999", "mould can grow from here", "dry her"),
    Limit("compressor_degc", 15.0, "degC", _OURS, "compressor machines fade below it", "use a desiccant machine"),
    # Doubt and delay
    Limit("stale", 3.0, "h", _OURS, "air moves within hours", "-"),
    Limit("on_delay", 1.0, "h", "invented", "the hours are counted already", "-"),
    Limit("off_delay", 12.0, "h", "invented", "dry by day is wet again by night", "-"),
)
