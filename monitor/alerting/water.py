"""Water that somebody knew of when they put its alert aside: what else says so, or says so anew, is told all the same.

There is one alert a bilge. One put aside for a float that sticks must silence neither her level nor another flood.
"""

from monitor.alerting.limits import LIMITS
from monitor.model.alert import Alert
from monitor.model.finding import Finding
from monitor.model.scale import AlertState, Sure

Known = dict[str, int | None]
"""What spoke of water when it was put aside, each with the time since which it is silent; None while it speaks."""

_FLOAT = frozenset({"float"})
_LEVEL = frozenset({"level", "level in doubt"})
_IN_DOUBT = frozenset({"level in doubt"})


def witnesses(finding: Finding | None) -> frozenset[str]:
    """Give what says that there is water which is always told; nothing where a finding is over, or none of that kind.

    A float is certain where the level stands at its high mark too.
    """
    if finding is None or not finding.always_told or finding.over:
        return frozenset()
    match finding.kind:
        case "float":
            return _FLOAT | _LEVEL if finding.sure is Sure.CERTAIN else _FLOAT
        case "high":
            return _LEVEL
        case "water or sensor":
            return _IN_DOUBT if finding.facts.get("why") == "level jumped" else _FLOAT
    return frozenset({finding.kind})


def known_of(alert: Alert) -> Known:
    """Give what is known of water to whoever puts an alert aside as it stands."""
    return {} if alert.returned_ms is not None else dict.fromkeys(sorted(witnesses(alert.finding)))


def known_since(alert: Alert) -> Known:
    """Give what was known where nothing was kept of it: had it turned to water since, it would have come back."""
    return known_of(alert) if alert.state.is_aside else {}


def turned_to_water(known: Known, alert: Alert, finding: Finding | None, now_ms: int) -> bool:
    """Say whether something speaks of water now of which whoever put its alert aside did not know.

    Args:
        known: what they knew of; what has fallen silent is noted in it, and what was silent for long is news again.
        alert: the alert.
        finding: what is found now.
        now_ms: event time.
    """
    if alert.state not in {AlertState.SHELVED, AlertState.OUT_OF_SERVICE}:
        return False
    said = witnesses(finding)
    for witness, silent_ms in list(known.items()):
        if silent_ms is not None and (now_ms - silent_ms >= LIMITS.ms("water_gone")):
            del known[witness]
        elif witness in said:
            known[witness] = None
        elif silent_ms is None:
            known[witness] = now_ms
    return not said <= known.keys()
