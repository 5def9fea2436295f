"""The open alerts, each parsed once a change."""

import threading

from monitor.model.alert import Alert
from monitor.store.reader import Reader
from monitor.store.rows import ALERT_COLUMNS, alert_from_row

_OPEN = "SELECT vessel, id, seq FROM alert WHERE ended_ms IS NULL ORDER BY vessel, opened_ms DESC, id"
_ALL = f"SELECT seq, {ALERT_COLUMNS} FROM alert WHERE ended_ms IS NULL"
_ONE = f"SELECT seq, {ALERT_COLUMNS} FROM alert WHERE id = ?"
FETCHED_SINGLY = 50

_Stand = tuple[str, str, int]
"""A vessel's id, her alert's, and the seq of what changed it last: an alert never changes without one."""


class OpenAlerts:
    """What stands open, by vessel."""

    def __init__(self, reader: Reader) -> None:
        self._reader = reader
        self._lock = threading.Lock()
        self._standing: list[_Stand] = []
        self._alerts: dict[str, tuple[int, Alert]] = {}
        self._by_vessel: dict[str, list[Alert]] = {}

    def by_vessel(self) -> dict[str, list[Alert]]:
        """Give each vessel's open alerts, newest first; where none of hers has changed, the same list again."""
        with self._lock:
            standing = self._reader.rows(_OPEN)
            if standing != self._standing:
                self._follow(standing)
            return self._by_vessel

    def _follow(self, standing: list[_Stand]) -> None:
        changed = [key for _, key, seq in standing if self._alerts.get(key, (None,))[0] != seq]
        if len(changed) > FETCHED_SINGLY:
            rows = self._reader.rows(_ALL)
        else:
            rows = [row for key in changed for row in self._reader.rows(_ONE, (key,))]
        parsed = {row[1]: (row[0], alert_from_row(row[1:])) for row in rows if self._is_news(row[1], row[0])}
        known = self._alerts | parsed
        # One may have ended since it was listed.
        listed = [(vessel, known[key][1]) for vessel, key, _ in standing if key in known and known[key][1].is_open]
        self._alerts = {alert.id: known[alert.id] for _, alert in listed}
        by_vessel: dict[str, list[Alert]] = {}
        for vessel, alert in listed:
            by_vessel.setdefault(vessel, []).append(alert)
        for vessel, before in self._by_vessel.items():
            now = by_vessel.get(vessel, [])
            if len(now) == len(before) and all(a is b for a, b in zip(now, before, strict=True)):
                by_vessel[vessel] = before
        self._by_vessel = by_vessel
        self._standing = standing

    def _is_news(self, key: str, seq: int) -> bool:
        return self._alerts.get(key, (None,))[0] != seq
