"""The journal as readers see it: the views that `monitor.model.views` names, over one SQLite file."""

from collections.abc import Collection, Iterator
from pathlib import Path

from monitor.model.alert import Alert, AlertEvent
from monitor.model.call import Call
from monitor.model.gate import GateWord
from monitor.model.happened import Happened
from monitor.model.inputs import VisitReport
from monitor.model.photo import Photo
from monitor.model.surroundings import Forecast
from monitor.model.vessel import Vessel
from monitor.model.views import (
    AlertLoad,
    Buckets,
    EventMark,
    Newest,
    NoticeLine,
    Place,
    RejectLine,
    Said,
    StoredRecord,
    VesselNow,
)
from monitor.store import proof_rows, told
from monitor.store.buckets import raw_from_ms, read_buckets
from monitor.store.forecast_read import KeptForecast
from monitor.store.gate_read import read_gate_words
from monitor.store.happened_read import read_happened, read_last_happened, read_last_sent, read_seq_before
from monitor.store.newest import NewestReadings
from monitor.store.photos import read_photo
from monitor.store.places_kept import KeptPlaces, read_first_ms
from monitor.store.reader import Reader
from monitor.store.records_kept import KeptRecords
from monitor.store.rows import ALERT_COLUMNS, EVENT_COLUMNS, alert_from_row, event_from_row
from monitor.store.yard_now import YardNow


class JournalView:
    """Every view over one journal. Any thread may ask; the file must exist and be migrated."""

    def __init__(self, path: Path) -> None:
        self._reader = Reader(path)
        self._newest = NewestReadings(self._reader)
        self._calls: told.KnownCalls = {}
        self._records = KeptRecords(self._reader)
        self._places = KeptPlaces(self._reader)
        self._forecast = KeptForecast(self._reader)
        self._yard = YardNow(self._reader, self._records, self._newest)

    def close(self) -> None:
        """Close the file."""
        self._reader.close()

    def vessels_now(self, ids: Collection[str] | None = None) -> list[VesselNow]:
        """Give all vessels as they stand now, or those of these ids, by id; one that stands as before is the same."""
        return self._yard.vessels(ids)

    def last_seq(self) -> int:
        """Give the seq of the last input committed."""
        row = self._reader.row(
            "SELECT max(coalesce((SELECT max(seq) FROM reading), 0), coalesce((SELECT max(seq) FROM input), 0))"
        )
        return 0 if row is None else int(row[0])

    def record(self, vessel: str) -> StoredRecord | None:
        """Give the valid version of a record, None where there is no such vessel."""
        return self._records.record(vessel)

    def versions(self, vessel: str) -> list[StoredRecord]:
        """Give every version of a record, newest first."""
        rows = self._reader.rows(
            "SELECT document, version, from_ms, actor FROM record WHERE vessel = ? ORDER BY version DESC", (vessel,)
        )
        return [StoredRecord(Vessel.model_validate_json(document), *rest) for document, *rest in rows]

    def first_ms(self, vessel: str) -> int | None:
        """Give since when a vessel has a record, None where she has none."""
        return read_first_ms(self._reader, vessel)

    def places(self) -> frozenset[Place]:
        """Give every place at which any vessel's record ever had her."""
        return self._places.places()

    def gate_words(self, vessel: str) -> list[GateWord]:
        """Give what was said at her launch gate, in every spring, oldest first."""
        return read_gate_words(self._reader, vessel)

    def photo(self, vessel: str, photo: str) -> Photo | None:
        """Give a vessel's photo by its id, None where she has none of it."""
        return read_photo(self._reader, vessel, photo)

    def owned_by(self, email: str) -> frozenset[str]:
        """Give the ids of the vessels whose valid record names an owner of this address, in any case."""
        return self._records.owned_by(email)

    def newest(self, vessel: str) -> dict[str, Newest]:
        """Give the last reading of each of a vessel's sensors, by sensor id."""
        return self._newest.of(vessel)

    def buckets(self, vessel: str, sensor: str, from_ms: int, to_ms: int, at_most: int) -> Buckets:
        """Sum a sensor's readings of a span up into at most so many buckets; its cost follows their number."""
        return read_buckets(self._reader, vessel, sensor, from_ms, to_ms, at_most)

    def said(self, vessel: str, sensor: str, from_ms: int | None, to_ms: int) -> Iterator[Said]:
        """Give all that a sensor said in a span of its stated time, oldest first, never many at a time in memory."""
        return proof_rows.said(self._reader, vessel, sensor, from_ms, to_ms)

    def raw_from_ms(self) -> int:
        """Give the event time after which every raw reading is there; -1 where none was dropped."""
        return raw_from_ms(self._reader)

    def alerts(self, *, open_only: bool, vessel: str | None = None, limit: int = 1_000) -> list[Alert]:
        """Give alerts, newest first: the open ones, or also those that ended."""
        where = " AND ended_ms IS NULL" if open_only else ""
        where += "" if vessel is None else " AND vessel = ?"
        arguments: tuple[object, ...] = (limit,) if vessel is None else (vessel, limit)
        return self._alerts(f"WHERE TRUE{where} ORDER BY opened_ms DESC, id LIMIT ?", arguments)

    def alerts_between(self, vessel: str, from_ms: int, to_ms: int, limit: int = 200) -> list[Alert]:
        """Give a vessel's alerts that were open at any time between, newest first."""
        where = "WHERE vessel = ? AND opened_ms < ? AND coalesce(ended_ms, ?) >= ? ORDER BY opened_ms DESC, id LIMIT ?"
        return self._alerts(where, (vessel, to_ms, to_ms, from_ms, limit))

    def alert(self, alert: str) -> Alert | None:
        """Give an alert by its id."""
        return next(iter(self._alerts("WHERE id = ?", (alert,))), None)

    def events(self, alert: str) -> list[AlertEvent]:
        """Give what happened to an alert, oldest first."""
        rows = self._reader.rows(
            f"SELECT {EVENT_COLUMNS} FROM alert_event WHERE alert = ? ORDER BY seq, place", (alert,)
        )
        return [event_from_row(row) for row in rows]

    def marks(self, alert: str) -> list[EventMark]:
        """Give where each of its events stands in the chain of all, in the order of `events`."""
        return proof_rows.marks(self._reader, alert)

    def notices_of(self, alert: str) -> list[NoticeLine]:
        """Give every notice that told of an alert, oldest first."""
        return proof_rows.notices_of(self._reader, alert)

    def calls(self, *, open_only: bool, limit: int = 1_000) -> list[Call]:
        """Give calls, newest first."""
        return told.read_calls(self._reader, self._calls, open_only=open_only, limit=limit)

    def call(self, call: str) -> Call | None:
        """Give a call by its id."""
        return told.read_call(self._reader, call)

    def notice(self, notice: str) -> NoticeLine | None:
        """Give a notice by its id."""
        return told.read_notice(self._reader, notice)

    def notices(self, call: str) -> list[NoticeLine]:
        """Give the notices of a call, oldest first."""
        return told.read_notices(self._reader, call)

    def undelivered(self, now_ms: int, limit: int = 200) -> list[NoticeLine]:
        """Give what was given up, and what has failed and still waits, newest first; wall time."""
        return told.read_undelivered(self._reader, now_ms, limit)

    def link_used(self, notice: str) -> bool:
        """Say whether the link in a notice has been used."""
        return told.is_link_used(self._reader, notice)

    def load(self, from_ms: int, to_ms: int) -> AlertLoad:
        """Measure the alerts of a span of event time."""
        return told.read_load(self._reader, from_ms, to_ms)

    def visits(self, vessel: str | None = None, limit: int = 200) -> list[VisitReport]:
        """Give visits, newest first: of a vessel, or of all."""
        return told.read_visits(self._reader, vessel, limit)

    def forecast(self) -> Forecast | None:
        """Give the forecast that came last, None where none has."""
        return self._forecast.newest()

    def happened(self, after_seq: int, vessels: Collection[str] | None, limit: int) -> Happened:
        """Give what happened after a seq to these vessels, or to all: of each kind the newest so many."""
        return read_happened(self._reader, after_seq, vessels, limit)

    def seq_before(self, at_ms: int) -> int:
        """Give the seq of the last clock before a time, 0 where there is none."""
        return read_seq_before(self._reader, at_ms)

    def last_happened(self) -> int:
        """Give the seq of the newest of all that `happened` would give."""
        return read_last_happened(self._reader)

    def last_sent(self) -> dict[str, int]:
        """Give when something was last sent by each channel (wall time), by the channel's name."""
        return read_last_sent(self._reader)

    def rejects(self) -> list[RejectLine]:
        """Give what was rejected, newest first."""
        columns = "reason, topic, detail, first_ms, last_ms, count"
        return [RejectLine(*row) for row in self._reader.rows(f"SELECT {columns} FROM reject ORDER BY last_ms DESC")]

    def tally(self) -> dict[str, int]:
        """Give how often something worth counting happened, by name."""
        return dict(self._reader.rows("SELECT name, count FROM tally"))

    def stored(self) -> int:
        """Give how many readings the journal holds."""
        return self._newest.stored()

    def _alerts(self, where: str, arguments: tuple[object, ...]) -> list[Alert]:
        return [
            alert_from_row(row) for row in self._reader.rows(f"SELECT {ALERT_COLUMNS} FROM alert {where}", arguments)
        ]
