"""How often a sensor really speaks, learned from its own gaps and kept near what the record says."""

from dataclasses import dataclass

from monitor.rules.rule import Limit, Limits

_OURS = "common practice, no source"

CADENCE = Limits(
    Limit("weight", 0.125, "1", "invented", "a changed interval is learned in about a day of hourly readings", "-"),
    Limit("hole", 3.0, "cadences", _OURS, "one lost message is ordinary, two in a row are not", "-"),
    Limit("least", 0.1, "recorded intervals", "invented", "a burst of readings must not make a sensor look late", "-"),
    Limit("most", 4.0, "recorded intervals", "invented", "a failing sensor must not teach that silence is usual", "-"),
)


@dataclass(slots=True)
class Cadence:
    """When a sensor last spoke and how long its gaps usually are.

    Attributes:
        last_ms: event time of its newest reading, None before the first.
        usual_ms: usual gap; 0 before anything was learned, when the recorded interval stands in.
    """

    last_ms: int | None = None
    usual_ms: float = 0.0


def usual_gap_ms(cadence: Cadence, recorded_ms: float) -> float:
    """Give the usual gap: the learned one, else the recorded one."""
    return cadence.usual_ms or recorded_ms


def hear(cadence: Cadence, at_ms: int, recorded_ms: float, *, learns: bool = True) -> int:
    """Take the time of a reading.

    Args:
        cadence: what is known of the sensor; updated.
        at_ms: event time. A time not past the newest changes nothing.
        recorded_ms: the interval the record states.
        learns: False for a switch: it speaks when it moves, and its recorded interval is its heartbeat.

    Returns:
        The gap before this reading, 0 for the first one.
    """
    last = cadence.last_ms
    if last is None or at_ms <= last:
        cadence.last_ms = at_ms if last is None else last
        return 0
    cadence.last_ms = at_ms
    gap = at_ms - last
    if learns:
        usual = cadence.usual_ms or recorded_ms
        if gap == usual == recorded_ms:
            cadence.usual_ms = usual  # on time, as most are
            return gap
        # A hole counts as the longest ordinary gap: it teaches slowly, and only where it comes again and again.
        usual += (min(gap, _HOLE * usual) - usual) * _WEIGHT
        cadence.usual_ms = min(max(usual, recorded_ms * _LEAST), recorded_ms * _MOST)
    return gap


_WEIGHT, _HOLE, _LEAST, _MOST = (CADENCE[name] for name in ("weight", "hole", "least", "most"))
