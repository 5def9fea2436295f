"""The notice outbox and the open alerts, read from the journal for whoever tells people."""

import logging
from collections.abc import Iterator
from pathlib import Path

from monitor.model.alert import Alert
from monitor.model.notice import Notice
from monitor.model.outbox import Waiting
from monitor.model.vessel import Vessel
from monitor.store.reader import Reader
from monitor.store.view import JournalView

log = logging.getLogger(__name__)

_COLUMNS = "id, channel, address, person, alert, vessel, change, at_ms, reason"
# Of one alert and address only the oldest that is not done has its turn: none overtakes another.
_TURNS = (
    f"SELECT {_COLUMNS}, tries, next_ms, seq, rowid AS row,"
    " row_number() OVER (PARTITION BY alert, address ORDER BY seq, rowid) AS turn"
    " FROM notice WHERE sent_ms IS NULL AND given_up_ms IS NULL AND channel = ?"
)


class JournalOutbox:
    """`Outbox` and `OpenAlerts` over a journal's file, read-only; usable from any thread."""

    def __init__(self, path: Path) -> None:
        self._reader = Reader(path)
        self._view = JournalView(path)

    def close(self) -> None:
        """Close the file."""
        self._reader.close()
        self._view.close()

    def waiting(self, channel: str, now_ms: int, limit: int) -> list[Waiting]:
        """Give the notices of a channel that are due, oldest first, and of one alert and address only the oldest."""
        rows = self._reader.rows(
            f"SELECT {_COLUMNS}, tries FROM ({_TURNS}) WHERE turn = 1 AND next_ms <= ? ORDER BY seq, row LIMIT ?",
            (channel, now_ms, limit),
        )
        found = []
        for *columns, tries in rows:
            notice = Notice(*columns)
            alert, stored = self._view.alert(notice.alert), self._view.record(notice.vessel)
            if alert is None or stored is None:
                log.error("notice %s waits: its alert or its vessel's record is not in the journal", notice.id)
                continue
            found.append(Waiting(notice, alert, stored.vessel, tries))
        return found

    def next_due_ms(self, channel: str) -> int | None:
        """Give when the next notice of a channel is due, None where none waits."""
        row = self._reader.row(f"SELECT min(next_ms) FROM ({_TURNS}) WHERE turn = 1", (channel,))
        return None if row is None or row[0] is None else int(row[0])

    def open_alerts(self) -> Iterator[tuple[Alert, Vessel]]:
        """Give every open alert, each with the valid record of its vessel."""
        for alert in self._view.alerts(open_only=True, limit=1_000_000):
            stored = self._view.record(alert.vessel)
            if stored is not None:
                yield alert, stored.vessel
