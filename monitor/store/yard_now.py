"""Every vessel as she stands now: made again only where something of hers has changed since it was last asked for."""

import threading
from collections.abc import Collection

from pydantic import TypeAdapter

from monitor.model.alert import Alert
from monitor.model.finding import Finding
from monitor.model.inputs import Suppress
from monitor.model.views import StoredRecord, VesselNow
from monitor.store.newest import NewestReadings
from monitor.store.open_alerts import OpenAlerts
from monitor.store.reader import Reader
from monitor.store.records_kept import KeptRecords
from monitor.store.rows import findings_json

_ABOARD_FIRST = (
    "SELECT vessel, kind, body, max(seq) FROM input INDEXED BY input_by_vessel"
    " WHERE vessel IS NOT NULL AND seq <= ? AND kind IN ('suppress', 'end suppression') GROUP BY vessel"
)
_ABOARD_SINCE = (
    "SELECT vessel, kind, body FROM input"
    " WHERE seq > ? AND seq <= ? AND kind IN ('suppress', 'end suppression') ORDER BY seq"
)
_suppress = TypeAdapter(Suppress)
_NOTHING_KNOWN: frozenset[str] = frozenset()

_Parts = tuple[int, int | None, list[Alert] | None, list[Finding] | None, frozenset[str], Suppress | None]
"""What a vessel's word is made of: her record's seq, when she was heard, alerts, what is not known, which sensors
have spoken, what is done aboard."""


class YardNow:
    """The vessels as they stand, over one journal; any thread may ask."""

    def __init__(self, reader: Reader, records: KeptRecords, newest: NewestReadings) -> None:
        self._reader, self._records, self._newest = reader, records, newest
        self._alerts = OpenAlerts(reader)
        self._lock = threading.Lock()
        self._unknown: dict[str, tuple[int, list[Finding]]] = {}
        self._unknown_seq = 0
        self._aboard: dict[str, Suppress] = {}
        self._aboard_seq: int | None = None
        self._made: dict[str, tuple[_Parts, VesselNow]] = {}

    def vessels(self, ids: Collection[str] | None = None) -> list[VesselNow]:
        """Give all vessels, or those of these ids, by id; one of whom nothing has changed is the same object again."""
        seqs, alerts = self._records.seqs(), self._alerts.by_vessel()
        heard, spoken = self._newest.heard(), self._newest.sensors()
        wanted = seqs if ids is None else [vessel for vessel in seqs if vessel in ids]
        with self._lock:
            self._follow_unknown()
            self._follow_aboard()
            found = []
            for vessel in wanted:
                unknown = self._unknown.get(vessel)
                parts: _Parts = (
                    seqs[vessel],
                    heard.get(vessel),
                    alerts.get(vessel),
                    None if unknown is None else unknown[1],
                    spoken.get(vessel, _NOTHING_KNOWN),
                    self._aboard.get(vessel),
                )
                made = self._made.get(vessel)
                # What has not changed is the same object, so that comparing costs nothing.
                if made is None or made[0] != parts:
                    made = self._made[vessel] = parts, self._vessel(vessel, parts, made)
                found.append(made[1])
            return found

    def _vessel(self, vessel: str, parts: _Parts, before: tuple[_Parts, VesselNow] | None) -> VesselNow:
        seq, heard_ms, alerts, unknown, spoken, aboard = parts
        if before is not None and (before[0][0], before[0][4]) == (seq, spoken):
            stored, unheard = before[1].stored, before[1].unheard
        else:
            stored, unheard = self._record(vessel, spoken)
        return VesselNow(stored, heard_ms, alerts or [], unknown or [], unheard, aboard)

    def _record(self, vessel: str, spoken: frozenset[str]) -> tuple[StoredRecord, tuple[str, ...]]:
        stored = self._records.record(vessel)
        if stored is None:
            raise LookupError(f"the record of {vessel} is gone from the journal")
        return stored, tuple(s.place for s in stored.vessel.sensors if s.id not in spoken)

    def _follow_unknown(self) -> None:
        """Read what rules cannot say, each vessel's parsed once a change."""
        for vessel, seq in self._reader.rows("SELECT vessel, seq FROM not_known WHERE seq >= ?", (self._unknown_seq,)):
            self._unknown_seq = max(self._unknown_seq, seq)
            if self._unknown.get(vessel, (None,))[0] != seq:
                row = self._reader.row("SELECT findings FROM not_known WHERE vessel = ?", (vessel,))
                self._unknown[vessel] = (seq, [] if row is None else findings_json.validate_json(row[0]))

    def _follow_aboard(self) -> None:
        """Read what was last said to be done aboard each vessel and not ended since; it may have run out."""
        row = self._reader.row("SELECT coalesce(max(seq), 0) FROM input")
        last = 0 if row is None else int(row[0])
        if self._aboard_seq is None:
            rows = [row[:3] for row in self._reader.rows(_ABOARD_FIRST, (last,))]
        elif last > self._aboard_seq:
            rows = self._reader.rows(_ABOARD_SINCE, (self._aboard_seq, last))
        else:
            return
        self._aboard_seq = last
        for vessel, kind, body in rows:
            if kind == "suppress":
                self._aboard[vessel] = _suppress.validate_json(body)
            else:
                self._aboard.pop(vessel, None)
