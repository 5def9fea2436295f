"""The alerts of one vessel: findings into their delays and their alerts, and consequences under their causes."""

from collections.abc import Callable, Iterator

from monitor.alerting import Aside, Track, follow, next_change, settle
from monitor.model.alert import Alert
from monitor.model.finding import Finding
from monitor.model.scale import Priority, Sure
from monitor.watch_state import Outcome, WatchState


class Alerts:
    """The tracks of one vessel."""

    def __init__(self, state: WatchState, vessel: str, freed: Callable[[set[str]], None]) -> None:
        """Take hold of a vessel's tracks.

        Args:
            state: what is kept of her.
            vessel: her id.
            freed: is told the names of rules whose findings are no longer somebody else's consequences.
        """
        self._state = state
        self._vessel = vessel
        self._freed = freed

    def tracks(self) -> Iterator[Track]:
        """Give every track."""
        for tracks in self._state.tracks.values():
            yield from tracks.values()

    def open_alerts(self) -> list[Alert]:
        """Give the open alerts, in the order their keys were first found."""
        return [track.alert for track in self.tracks() if track.alert is not None]

    @property
    def aside(self) -> Aside | None:
        """What all of the vessel is put aside for now, None where for nothing."""
        suppression = self._state.suppression
        return None if suppression is None else suppression.aside

    def follow(self, rule: str, subject: str, finding: Finding | None, now_ms: int, outcome: Outcome) -> int | None:
        """Take a subject's finding into its delays and its alert; say when the delays next change something."""
        tracks = self._state.tracks.setdefault(rule, {})
        track = tracks.get(subject)
        if finding is not None and finding.sure is Sure.NOT_KNOWN:
            # No data opens no alert of its own (silence says why) and never clears one: its delays stand still.
            return None
        if track is None:
            track = tracks[subject] = Track()
        alert = track.alert
        before = None if alert is None else alert.finding
        covers = _standing_covers(track)
        follow(track, finding, now_ms)
        self._uncover(covers - _standing_covers(track))
        if alert is None and self._is_covered(f"{rule}/{subject}", track.standing):
            return next_change(track)  # a consequence of what is told already
        events = settle(track, self._vessel, rule, subject, now_ms, self.aside)
        alert = track.alert or alert
        if alert is not None and (events or alert.finding != before):
            outcome.alerts[alert.id] = alert
        outcome.events += events
        if track.alert is None and track.standing is None and not track.rising:
            del tracks[subject]
        return next_change(track)

    def _is_covered(self, key: str, standing: Priority | None) -> bool:
        """Say whether a finding is told by another's alert: one that is worse than its cover is not."""
        return standing is not None and any(
            track.standing is not None and track.standing >= standing and key in _standing_covers(track)
            for track in self.tracks()
        )

    def _uncover(self, keys: set[str]) -> None:
        if keys:
            self._freed({key.partition("/")[0] for key in keys})


def _standing_covers(track: Track) -> set[str]:
    """Give the keys that a track's finding takes under it while it stands."""
    return set() if track.standing is None or track.finding is None else set(track.finding.covers)
