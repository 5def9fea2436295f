"""Reads what happened after a seq: alerts' events, visits, and records by which a vessel came or was moved."""

import json
from collections.abc import Collection

from pydantic import TypeAdapter

from monitor.model.happened import Happened, Lay, Move
from monitor.model.inputs import VisitReport
from monitor.store.reader import Reader
from monitor.store.rows import EVENT_COLUMNS, event_from_row

_visit = TypeAdapter(VisitReport)
_MINE = "{vessel} IN (SELECT value FROM json_each(?))"
_EVENTS = f"SELECT seq, {EVENT_COLUMNS} FROM alert_event WHERE seq > ?"
_EVENTS_OF = f"{_EVENTS} AND alert IN (SELECT id FROM alert WHERE {_MINE.format(vessel='vessel')})"
_VISITS = "SELECT seq, body FROM visit WHERE seq > ?"
_LAY = "{r}.document ->> '$.berth', {r}.document ->> '$.plot', {r}.document ->> '$.mode'"
_MOVES = (
    "SELECT r.seq, r.vessel, r.document ->> '$.name', r.from_ms, r.actor, b.vessel IS NULL,"
    f" {_LAY.format(r='r')}, {_LAY.format(r='b')}"
    " FROM record AS r LEFT JOIN record AS b ON b.vessel = r.vessel AND b.version = r.version - 1"
    " WHERE r.seq > ? AND (b.vessel IS NULL OR"
    f" ({_LAY.format(r='r')}) IS NOT ({_LAY.format(r='b')}))"
)
# From the newest back: a day has one clock a minute, and whoever has never looked asks for a day.
_BEFORE = "SELECT seq FROM input WHERE kind = 'clock' AND at_ms < ? ORDER BY seq DESC LIMIT 1"
_NEWEST = (
    "SELECT max(coalesce((SELECT max(seq) FROM alert_event), 0), coalesce((SELECT max(seq) FROM visit), 0),"
    " coalesce((SELECT max(seq) FROM record), 0))"
)


def read_happened(reader: Reader, after_seq: int, vessels: Collection[str] | None, limit: int) -> Happened:
    """Give what happened after a seq to these vessels, or to all: of each kind the newest so many."""
    mine: tuple[object, ...] = () if vessels is None else (json.dumps(sorted(vessels)),)
    asked = (after_seq, *mine, limit + 1)
    of = "" if vessels is None else f" AND {_MINE}"
    events = reader.rows(f"{_EVENTS if vessels is None else _EVENTS_OF} ORDER BY seq DESC, place DESC LIMIT ?", asked)
    visits = reader.rows(f"{_VISITS}{of.format(vessel='vessel')} ORDER BY seq DESC LIMIT ?", asked)
    moves = reader.rows(f"{_MOVES}{of.format(vessel='r.vessel')} ORDER BY r.seq DESC LIMIT ?", asked)
    return Happened(
        tuple((seq, event_from_row(row)) for seq, *row in events[:limit]),
        tuple((seq, _visit.validate_json(body)) for seq, body in visits[:limit]),
        tuple(_move(*row) for row in moves[:limit]),
        is_all=max(len(events), len(visits), len(moves)) <= limit,
    )


def read_last_happened(reader: Reader) -> int:
    """Give the seq of the newest alert event, visit or record; 0 where there is none."""
    row = reader.row(_NEWEST)
    return 0 if row is None else int(row[0])


def read_seq_before(reader: Reader, at_ms: int) -> int:
    """Give the seq of the last clock before a time, 0 where there is none."""
    row = reader.row(_BEFORE, (at_ms,))
    return 0 if row is None else int(row[0])


def read_last_sent(reader: Reader) -> dict[str, int]:
    """Give when something was last sent by each channel (wall time)."""
    return dict(reader.rows("SELECT channel, max(sent_ms) FROM notice WHERE sent_ms IS NOT NULL GROUP BY channel"))


def _move(seq: int, vessel: str, name: str, at_ms: int, actor: str, is_new: int, *lay: str | None) -> Move:
    now, before = lay[:3], lay[3:]
    return Move(seq, vessel, name, at_ms, actor, None if is_new else _lay(*before), _lay(*now))


def _lay(berth: str | None, plot: str | None, mode: str | None) -> Lay:
    return Lay(berth, plot, mode or "")
