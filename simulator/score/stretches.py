"""From what happened to alerts to the stretches for which they stood. Nobody acknowledges in a replay."""

from collections.abc import Iterable, Mapping

from monitor.model.alert import AlertChange, AlertEvent
from monitor.model.scale import Priority
from simulator.score.episodes import Stretch

LEVELS = (Priority.WARNING, Priority.ALARM)
"""A caution asks nobody to come: it catches no harm and is no false alert."""

AFTERMATH = {("frost", "thaw"), ("frost", "froze unheard")}
"""Rule and kind of findings that tell of what is over: they are right, and warn of nothing that is to come."""

_OVER = {AlertChange.RETURNED, AlertChange.LATCHED, AlertChange.ENDED}


def stretches_of(
    events: Iterable[AlertEvent], keys: Mapping[str, tuple[str, str]], ends_ms: int, levels: Iterable[Priority] = LEVELS
) -> list[Stretch]:
    """Give the stretches of each level, in the order in which they ended.

    A stretch of a level is a time for which the alert stood at that priority or a higher one. A returned alert stands
    no more, though it is open until somebody has seen it; one that is reopened begins a new stretch.

    Args:
        events: one vessel's events, in order.
        keys: rule and subject of every alert, by its id.
        ends_ms: end of the winter, ms UTC.
        levels: the priorities that a stretch is asked for.
    """
    levels = tuple(levels)
    since: dict[tuple[str, Priority], int] = {}
    found = []
    for event in events:
        standing = event.change not in _OVER
        for level in levels:
            key = (event.alert, level)
            if standing and event.priority >= level:
                since.setdefault(key, event.at_ms)
            elif key in since:
                found.append(Stretch(*keys[event.alert], level, since.pop(key), event.at_ms))
    found += [Stretch(*keys[alert], level, from_ms, ends_ms) for (alert, level), from_ms in since.items()]
    return found
