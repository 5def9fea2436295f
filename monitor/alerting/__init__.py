"""From findings to alerts: delays in time, then the states of ISA-18.2, and what people do.

Pure: a track in, its events out.
"""

from monitor.alerting.commands import act, refusal, refused_end
from monitor.alerting.life import settle, suppress
from monitor.alerting.moves import BY_WATCH, WATCH, Aside, Doer, come_back
from monitor.alerting.tracks import Track, follow, next_change
from monitor.alerting.water import known_since

__all__ = [
    "BY_WATCH",
    "WATCH",
    "Aside",
    "Doer",
    "Track",
    "act",
    "come_back",
    "follow",
    "known_since",
    "next_change",
    "refusal",
    "refused_end",
    "settle",
    "suppress",
]
