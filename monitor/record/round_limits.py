"""How long the round's lists may be, and how much a reading taken by hand may err."""

from monitor.model.limits import Limit, Limits
from monitor.model.visit import Read

_OURS = "common practice, no source"

LIMITS = Limits(
    Limit("boats", 40.0, "boats", "invented", "more than two people walk in a short winter day", "split the round"),
    Limit("checks", 24.0, "checks", "invented", "a longer list is not read in the cold", "see her record for the rest"),
    Limit("readings", 12.0, "readings", "invented", "a longer list is not read in the cold", "read the rest next time"),
    # What the hand's instrument and the hand itself add, as one standard deviation
    Limit("dip", 0.005, "m", _OURS, "the wet edge on a stick, and the boat's trim", "dip twice, where the sensor is"),
    Limit("volts", 0.4, "%", _OURS, "an ordinary multimeter, of the value read", "measure at the battery's own posts"),
    Limit("humidity", 4.0, "%RH", _OURS, "people bring damp in, and instruments drift", "wait ten minutes, then read"),
    Limit(
        "temperature", 1.0, "degC", _OURS, "the hand warms it, and it hangs elsewhere", "wait ten minutes, then read"
    ),
    # Comparing
    Limit("sigmas", 2.0, "", "JCGM 100:2008 (GUM), 6.2 and G.6.6", "coverage factor for about 95 %", "-"),
    Limit("intervals", 3.0, "intervals", "invented", "after three of its own intervals a sensor's word is old", "-"),
)


def hand_error(what: Read, value: float) -> float:
    """Give the standard uncertainty of a reading taken by hand, in its own unit.

    Args:
        what: which kind.
        value: what was read, in the unit of its kind.

    >>> round(hand_error(Read.VOLTS, 12.5), 3), hand_error(Read.DIP, 0.04)
    (0.05, 0.005)
    """
    row = LIMITS.rows[what.value]
    return row.value / 100 * abs(value) if row.unit == "%" else row.value
