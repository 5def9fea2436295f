"""The notice outbox and the open alerts, read from the journal for whoever tells people."""

import json
import logging
from collections.abc import Iterator
from pathlib import Path

from monitor.model.alert import Alert
from monitor.model.call import Call
from monitor.model.notice import Notice
from monitor.model.outbox import Waiting
from monitor.model.vessel import Vessel
from monitor.store.call_rows import NOTICE_COLUMNS, notice_from_row
from monitor.store.reader import Reader
from monitor.store.view import JournalView

log = logging.getLogger(__name__)

# Of one call and address only the oldest that is not done has its turn: none overtakes another. It is due as soon as
# any of them is: what is put off puts off the later ones with it, and one that is new gives it another try at once. A
# digest has no call; of one address' digests the oldest goes first. What is left out has no turn, so that it holds up
# none of the later ones.
_TURNS = (
    f"SELECT {NOTICE_COLUMNS}, tries, seq, rowid AS row, min(next_ms) OVER (PARTITION BY call, address) AS due_ms,"
    " row_number() OVER (PARTITION BY call, address ORDER BY seq, rowid) AS turn"
    " FROM notice INDEXED BY notice_waiting WHERE sent_ms IS NULL AND given_up_ms IS NULL AND channel = ?"
    " AND id NOT IN (SELECT value FROM json_each(?))"
)
# No wait is so long: a wall that has been put back since must not make it one.
_LONGEST_WAIT_MS = 2 * 3_600_000
_DUE = (
    f"SELECT {NOTICE_COLUMNS}, tries FROM ({_TURNS}) WHERE turn = 1 AND due_ms NOT BETWEEN ? + 1 AND ?"
    " ORDER BY seq, row LIMIT ?"
)
_NEXT = f"SELECT min(due_ms) FROM ({_TURNS}) WHERE turn = 1"
_OPENING = "SELECT id FROM notice WHERE call = ? AND channel = ? AND address = ? ORDER BY seq, rowid LIMIT 1"


class JournalOutbox:
    """`Outbox` and `OpenAlerts` over a journal's file, read-only; usable from any thread."""

    def __init__(self, path: Path) -> None:
        self._reader = Reader(path)
        self._view = JournalView(path)
        # Replaced and never changed in place: senders of several channels ask at once.
        self._lost: frozenset[str] = frozenset()

    def close(self) -> None:
        """Close the file."""
        self._reader.close()
        self._view.close()

    def waiting(self, channel: str, now_ms: int, limit: int) -> list[Waiting]:
        """Give the notices of a channel that are due, oldest first, and of one call and address only the oldest.

        One that is about nothing in the journal is logged once and waits for the next start, in nobody's way.
        """
        stands = _AsItStands(self._view)
        while True:
            rows = self._reader.rows(
                _DUE, (channel, json.dumps(list(self._lost)), now_ms, now_ms + _LONGEST_WAIT_MS, limit)
            )
            read = [(notice_from_row(columns), tries) for *columns, tries in rows]
            lost = {notice.id for notice, _ in read if notice.alerts and not stands.alerts(notice)}
            if not lost:
                return [
                    Waiting(notice, stands.call(notice.call), stands.alerts(notice), self._opening(notice), tries)
                    for notice, tries in read
                ]
            for key in sorted(lost):
                log.error("notice %s waits: none of its alerts is in the journal, or their vessels' records", key)
            self._lost |= lost

    def next_due_ms(self, channel: str) -> int | None:
        """Give when the next notice of a channel is due, None where none waits."""
        row = self._reader.row(_NEXT, (channel, json.dumps(list(self._lost))))
        return None if row is None or row[0] is None else int(row[0])

    def disabled(self) -> frozenset[tuple[str, str]]:
        """Give the channels and addresses that are never to be used again."""
        return frozenset((c, a) for c, a in self._reader.rows("SELECT channel, address FROM disabled_address"))

    def open_alerts(self) -> Iterator[tuple[Alert, Vessel]]:
        """Give every open alert, each with the valid record of its vessel; those that were put aside are open too."""
        for alert in self._view.alerts(open_only=True, limit=1_000_000):
            stored = self._view.record(alert.vessel)
            if stored is not None:
                yield alert, stored.vessel

    def _opening(self, notice: Notice) -> str:
        """Give the notice by which this address was first told of the call; a digest is its own."""
        row = self._reader.row(_OPENING, (notice.call, notice.channel, notice.address)) if notice.call else None
        return notice.id if row is None else str(row[0])


class _AsItStands:
    """What notices are about, each thing read once: many notices tell of the same boats."""

    def __init__(self, view: JournalView) -> None:
        self._view = view
        self._alerts: dict[str, tuple[Alert, Vessel] | None] = {}
        self._calls: dict[str, Call | None] = {}

    def call(self, call: str) -> Call | None:
        """Give a call; a digest has none."""
        if call and call not in self._calls:
            self._calls[call] = self._view.call(call)
        return self._calls.get(call)

    def alerts(self, notice: Notice) -> tuple[tuple[Alert, Vessel], ...]:
        """Give the alerts of a notice that can be found, in its order, each with the valid record of its vessel."""
        found = (self._alert(key, notice) for key in notice.alerts)
        return tuple(pair for pair in found if pair is not None)

    def _alert(self, key: str, notice: Notice) -> tuple[Alert, Vessel] | None:
        if key not in self._alerts:
            alert = stored = None
            try:
                alert = self._view.alert(key)
                stored = None if alert is None else self._view.record(alert.vessel)
            except ValueError:  # one row that cannot be read must not keep the other boats' messages
                log.exception("alert %s cannot be read", key)
            self._alerts[key] = None if alert is None or stored is None else (alert, stored.vessel)
            if self._alerts[key] is None:
                log.error("notice %s leaves out alert %s: it, or its vessel's record, is not there", notice.id, key)
        return self._alerts[key]
