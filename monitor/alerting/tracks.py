"""From findings to what stands: delays in time."""

from dataclasses import dataclass, field
from typing import Self

from monitor.alerting.water import Known, known_since
from monitor.model.alert import Alert
from monitor.model.finding import Finding
from monitor.model.scale import AlertState, Priority


@dataclass(slots=True)
class Track:
    """One key's way from finding to alert.

    Attributes:
        finding: the latest finding of the key, None where the rule has nothing to say on it.
        rising: for each priority, since when the finding has had it or a higher one.
        falling: for each priority the alert has, since when the finding has had less.
        alert: the alert of this key that is open, None where there is none.
        standing: the priority in force by the delays, None where the condition is clear.
        shelved_at: the priority at which somebody shelved the alert, None where it is not shelved.
        known_water: what spoke of water that is always told when somebody shelved the alert or took it out of service.
    """

    finding: Finding | None = None
    rising: dict[Priority, int] = field(default_factory=dict)
    falling: dict[Priority, int] = field(default_factory=dict)
    alert: Alert | None = None
    standing: Priority | None = None
    on_delay_ms: int = 0
    off_delay_ms: int = 0
    shelved_at: Priority | None = None
    known_water: Known = field(default_factory=dict)

    @classmethod
    def of(cls, alert: Alert) -> Self:
        """Make the track of an alert that is known only from the journal."""
        standing = None if alert.returned_ms is not None else alert.priority
        rising = {p: alert.opened_ms for p in Priority if standing is not None and p <= standing}
        shelved_at = alert.priority if alert.state is AlertState.SHELVED else None
        known = known_since(alert)
        return cls(alert.finding, rising, alert=alert, standing=standing, shelved_at=shelved_at, known_water=known)


def follow(track: Track, finding: Finding | None, now_ms: int) -> None:
    """Take a key's latest finding (None: nothing to say) into its delays. One that is over counts as nothing to say."""
    graded = 0 if finding is None or finding.over else int(finding.priority)
    track.finding = finding
    if finding is not None:
        track.on_delay_ms, track.off_delay_ms = finding.on_delay_ms, finding.off_delay_ms
    standing = track.standing
    for priority in Priority:
        if graded >= priority:
            track.rising.setdefault(priority, now_ms)
            track.falling.pop(priority, None)
        else:
            track.rising.pop(priority, None)
            if standing is not None and standing >= priority:
                track.falling.setdefault(priority, now_ms)
    risen = [p for p, since in track.rising.items() if now_ms - since >= track.on_delay_ms]
    kept = [
        p
        for p in Priority
        if standing is not None
        and p <= standing
        and (p not in track.falling or now_ms - track.falling[p] < track.off_delay_ms)
    ]
    track.standing = max(risen + kept, default=None)
    if track.standing is None:
        track.falling.clear()


def next_change(track: Track) -> int | None:
    """Give the time at which the delays alone would change what stands, None where nothing is under way."""
    standing = track.standing or 0
    times = [since + track.on_delay_ms for p, since in track.rising.items() if p > standing]
    times += [since + track.off_delay_ms for p, since in track.falling.items() if p <= standing]
    return min(times, default=None)
