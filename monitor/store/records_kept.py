"""The valid lay-up records, each parsed once, kept up by what was committed since they were last asked for."""

import threading

from monitor.model.vessel import Vessel
from monitor.model.views import StoredRecord
from monitor.store.reader import Reader, Row

_SINCE = "SELECT vessel, version, from_ms, actor, seq FROM record WHERE seq > ? ORDER BY seq"


class KeptRecords:
    """The newest version of every vessel's record. Versions never change once written: one that is parsed stays so."""

    def __init__(self, reader: Reader) -> None:
        self._reader = reader
        self._lock = threading.Lock()
        self._seq = -1
        self._rows: dict[str, Row] = {}
        self._parsed: dict[str, tuple[int, StoredRecord]] = {}
        self._owners: dict[str, str] = {}
        self._owned: dict[str, set[str]] = {}
        self._owner_unread: set[str] = set()

    def seqs(self) -> dict[str, int]:
        """Give the seq of every vessel's valid record, by id in its order."""
        with self._lock:
            self._catch_up()
            return {vessel: row[-1] for vessel, row in self._rows.items()}

    def record(self, vessel: str) -> StoredRecord | None:
        """Give the valid version of a record, None where there is no such vessel."""
        with self._lock:
            self._catch_up()
            return self._record(vessel) if vessel in self._rows else None

    def owned_by(self, email: str) -> frozenset[str]:
        """Give the ids of the vessels whose record names an owner of this address, in any case."""
        with self._lock:
            self._catch_up()
            while self._owner_unread:
                self._read_owner(next(iter(self._owner_unread)))
            return frozenset(self._owned.get(email.casefold(), ()))

    def _catch_up(self) -> None:
        new = self._reader.rows(_SINCE, (self._seq,))
        if not new:
            return
        known = len(self._rows)
        for row in new:
            self._rows[row[0]] = row
            self._owner_unread.add(row[0])
        self._seq = new[-1][-1]
        if len(self._rows) > known:
            self._rows = dict(sorted(self._rows.items()))

    def _record(self, vessel: str) -> StoredRecord:
        _, version, from_ms, actor, seq = self._rows[vessel]
        known = self._parsed.get(vessel)
        if known is not None and known[0] == seq:
            return known[1]
        found = self._reader.row("SELECT document FROM record WHERE seq = ?", (seq,))
        if found is None:
            raise LookupError(f"version {version} of {vessel}'s record is gone from the journal")
        stored = StoredRecord(Vessel.model_validate_json(found[0]), version, from_ms, actor)
        self._parsed[vessel] = (seq, stored)
        return stored

    def _read_owner(self, vessel: str) -> None:
        owner = self._record(vessel).vessel.owner
        email = "" if owner is None else (owner.email or "").casefold()
        self._owned.get(self._owners.get(vessel, ""), set()).discard(vessel)
        self._owners[vessel] = email
        if email:  # a boat without an address belongs to nobody who could ask
            self._owned.setdefault(email, set()).add(vessel)
        self._owner_unread.discard(vessel)
