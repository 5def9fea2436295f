"""How near a sensor must come to what a hand proves it against, and how new its word must be."""

from monitor.model.limits import Limit, Limits

_OURS = "common practice, no source"

LIMITS = Limits(
    # What is known without another instrument
    Limit("ice_point", 0.0, "degC", "ITS-90: ice and water in balance at one atmosphere", "melting ice", "stir it"),
    Limit("ice_water", 0.5, "degC", _OURS, "a glass that is not stirred is warmer below", "stir, and wait two minutes"),
    # Beyond the sensor's own error
    Limit("dip", 0.005, "m", _OURS, "the wet edge on a stick, and the boat's trim", "dip twice, where the sensor is"),
    Limit("multimeter", 0.4, "%", _OURS, "an ordinary multimeter, of the value read", "measure at the same two posts"),
    Limit("compared", 2.0, "%", _OURS, "a second instrument of the same kind, of the value read", "read both at once"),
    # What has to change
    Limit("in_the_hand", 4.0, "degC", _OURS, "a closed hand warms a probe by more in any winter", "hold it longer"),
    Limit("damp_cloth", 90.0, "%RH", _OURS, "air under a wet cloth is nearly full of water", "wet it, wrap it closely"),
    Limit("damp_rise", 5.0, "%RH", _OURS, "one that sticks high says as much without a cloth", "dry it first"),
    # How new a sensor's word must be
    Limit("intervals", 2.0, "intervals", "invented", "one that was missed, and the next", "wait, or press its button"),
    Limit("minutes", 5.0, "min", "invented", "a walk from the sensor to the phone", "wait, or press its button"),
    Limit("look_back", 60.0, "min", "invented", "what it said before a hand warmed it", "wait for one more reading"),
    Limit("look_back_intervals", 3.0, "intervals", "invented", "a slow sensor has said little in an hour", "wait"),
)
